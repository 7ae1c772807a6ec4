// The strip under the header, on every screen: what is not sent yet, that the phone is full, that a
// newer version waits. Nothing there, nothing shown.

import { button, h, redraw } from "../dom.js";
import { status, subscribe } from "../outbox.js";
import { t } from "../text.js";
import { keepTyped } from "../typed.js";
import { keepOnPhone, persist } from "../version.js";
import { worksheet } from "../worksheet.js";
import { lineWords, openUnsent } from "./unsent.js";

const strip = h("div", { class: "news", role: "region", "aria-label": t("news.label"), hidden: true });
const said = h("div", { role: "status" });
let use = null;
let full = false;
let promised = false;

strip.append(said);
document.querySelector("header").after(strip);

function draw() {
  const now = status();
  const bars = [unsent(now), room(now), version()].filter(Boolean);
  strip.hidden = bars.length === 0;
  redraw(said, bars);
}

function unsent({ waiting, refused, sending, trouble }) {
  if (!waiting && !refused) return null;
  return h("div", { class: "bar", "data-kind": refused ? "refused" : "waiting" },
    h("p", {},
      refused ? h("b", {}, t("unsent.refused", { n: refused })) : null,
      waiting ? [h("b", {}, t("unsent.waiting", { n: waiting })), " ",
        h("span", {}, t(lineWords({ sending, trouble })))] : null),
    button(t("unsent.show"), openUnsent, { class: "quiet", key: "unsent" }));
}

function room({ written, entries }) {
  if (!written) return h("div", { class: "bar", "data-kind": "full" }, h("p", {}, t("news.unwritten", { n: entries.length })));
  if (!full) return null;
  return h("div", { class: "bar", "data-kind": "full" },
    h("p", {}, t("news.full")),
    button(t("news.later"), () => { full = false; draw(); }, { class: "quiet", key: "full-later" }));
}

function version() {
  if (!use) return null;
  return h("div", { class: "bar", "data-kind": "version" },
    h("p", {}, t("news.version")),
    button(t("news.version.use"), use, { class: "quiet", key: "version-use" }),
    button(t("news.later"), () => { use = null; draw(); }, { class: "quiet", key: "version-later" }));
}

/** What a person made is not to be cleared away by the browser. */
async function promise() {
  if (promised || !(worksheet.layout || status().entries.length)) return;
  promised = true;
  await persist();
}

subscribe(() => { draw(); promise(); });
worksheet.addEventListener("change", promise);
addEventListener("evenboard-full", () => { full = true; draw(); });
keepOnPhone({
  offer: (go) => { use = go; draw(); },
  full: () => { full = true; draw(); },
  before: keepTyped,
});
