// Who did what on a shared board, the latest first; each deed can be taken back.

import { eventWords } from "../deeds.js";
import { button, h, redraw } from "../dom.js";
import { age } from "../format.js";
import { shared } from "../together.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { openClash } from "./clash.js";

export async function logScreen() {
  const node = h("div", { class: "screen narrow" });
  const says = h("p", { class: "said", role: "status" });
  const list = h("div", {});
  const listening = new AbortController();
  const { signal } = listening;

  function row(event) {
    const words = eventWords(event, worksheet.layout);
    const mine = shared.mine.has(event.version);
    return h("li", { class: "deed-row", "data-key": `deed:${event.version}` },
      h("p", { class: "deed-who" }, h("b", {}, event.by), mine ? ` (${t("log.me")})` : "", " ",
        h("span", { class: "aside" }, age(Date.parse(event.done_at)))),
      h("p", {}, words),
      mine && event.undo.length && shared.mayChange ? button(t("log.undo"), () => {
        shared.undoEvent(event);
        says.textContent = t("log.done", { words });
      }, { class: "key-text", key: `undo:${event.version}`, label: t("log.undo.for", { words }) }) : null);
  }

  function waiting(entry) {
    return h("li", { class: "deed-row" },
      h("p", { class: "deed-who" }, h("b", {}, shared.who || t("log.me")), " ", h("span", { class: "waiting" }, t("log.waiting"))),
      h("p", {}, entry.words));
  }

  function draw() {
    if (!shared.on) {
      redraw(list, h("p", {}, t("log.alone")), h("a", { class: "main-key", href: "#/hand-over" }, t("meter.share")));
      return;
    }
    const { refused, events } = shared;
    redraw(list,
      refused.map((entry) => button([h("b", {}, t("bar.decide", { n: 1 })), ` ${entry.words}`],
        () => openClash(entry), { class: "item", key: `clash:${entry.id}` })),
      h("ol", { class: "deeds" }, shared.waiting.toReversed().map(waiting), events.map(row)),
      events.length || refused.length ? null : h("p", { class: "aside" }, t("log.none")));
  }

  shared.addEventListener("change", draw, { signal });
  const clock = setInterval(draw, 15_000);
  signal.addEventListener("abort", () => clearInterval(clock));
  redraw(node,
    h("p", { class: "back" }, h("a", { href: "#/board" }, t("log.back"))),
    h("h1", { tabindex: "-1" }, t("log.title")), says, list);
  draw();
  return { title: t("log.title"), node, close: () => listening.abort() };
}
