// On a shared board: how old what is shown is, who did what last, and what needs a choice.

import { eventWords } from "../deeds.js";
import { button, h, redraw } from "../dom.js";
import { age } from "../format.js";
import { shared } from "../together.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { openClash } from "./clash.js";

/** `{node, close}`: drawn anew by itself. */
export function sharedBar() {
  const node = h("section", { class: "shared-bar", "aria-label": t("bar.live") });
  const heard = h("span", { class: "age" });
  const deed = h("p", { class: "deed", role: "status" });
  const listening = new AbortController();
  const { signal } = listening;
  let barred = false;

  function clock() {
    heard.textContent = shared.heardAt ? t("bar.heard", { age: age(shared.heardAt) }) : "";
  }

  function draw() {
    node.hidden = !shared.on;
    if (!shared.on) return;
    clock();
    const { refused, state, events } = shared;
    const [last] = events;
    const own = shared.waiting.at(-1);
    const words = own ? t("bar.deed.waiting", { words: own.words })
      : last ? t("bar.deed", {
        name: shared.mine.has(last.version) ? t("log.me") : last.by, words: eventWords(last, worksheet.layout),
      }) : "";
    if (deed.textContent !== words) deed.textContent = words;
    node.dataset.state = state;
    redraw(node,
      h("p", { class: "bar-head" },
        h("b", {}, t(`bar.${state === "live" || state === "ended" ? state : "away"}`)), " ",
        state === "ended" ? null : heard),
      state === "ended" ? button(t("bar.copy"), () => shared.leave(), { class: "key-text", key: "copy" }) : deed,
      barred ? h("p", { class: "fault", role: "alert" }, t("bar.barred")) : null,
      barred && state !== "ended" ? button(t("bar.copy"), () => shared.leave(), { class: "key-text", key: "copy" }) : null,
      refused.length ? button(t("bar.decide", { n: refused.length }), () => openClash(shared.refused[0]),
        { class: "main-key", key: "decide" }) : null);
  }

  shared.addEventListener("change", draw, { signal });
  shared.addEventListener("pulse", clock, { signal });
  worksheet.addEventListener("barred", () => {
    barred = true;
    // What a sheet shows as changed was not: the word on it stands behind it.
    document.querySelector("dialog[open]")?.close();
    draw();
  }, { signal });
  const timer = setInterval(clock, 5000);
  signal.addEventListener("abort", () => clearInterval(timer));
  draw();
  return { node, close: () => listening.abort() };
}
