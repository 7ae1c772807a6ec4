// Opening a shared board: by the secret of a link or of the desk, which stood behind the # of the
// address and is taken out of it at once.

import { button, h, redraw } from "../dom.js";
import { age } from "../format.js";
import { keep, recall } from "../memory.js";
import { shared } from "../together.js";
import { t } from "../text.js";
import { askWho } from "./who.js";

/** Remember a secret that was opened, so that a lost line does not lose it. */
export const bring = (secret) => keep("joining", secret);

/** The screen while a link is opened, and where it opens several boards. */
export async function joinScreen() {
  const node = h("div", { class: "screen narrow" });
  let gone = false;
  const title = t("join.title");
  const say = (...what) => redraw(node, h("h1", { tabindex: "-1" }, title), what);

  async function into(link, id) {
    await shared.open(link, id);
    keep("joining", null);
    if (gone) return;
    location.hash = "#/board";
    if (shared.mayChange) askWho();
  }

  async function begin() {
    const secret = await recall("joining");
    if (!secret) {
      location.hash = "#/hand-over";
      return;
    }
    say(h("p", { role: "status" }, t("join.opening")));
    try {
      const { link, layouts } = await shared.look(secret);
      if (gone) return;
      if (link.layoutId) await into(link, link.layoutId);
      else say(layouts.length ? boardList(layouts, (id) => attempt(() => into(link, id))) : h("p", {}, t("join.none")));
    } catch (error) { failed(error); }
  }

  async function attempt(work) {
    try { await work(); } catch (error) { failed(error); }
  }

  function failed(error) {
    if (gone) return;
    const ended = error.kind === "refused" && error.status !== 429;
    if (ended) keep("joining", null);
    const words = ended ? t("join.ended") : error.kind === "offline" ? t("join.away") : t("trouble.broken");
    say(h("p", { class: "trouble", role: "alert" }, words),
      ended ? null : button(t("trouble.again"), begin, { class: "main-key", key: "again" }));
  }

  begin();
  return { title, node, close: () => { gone = true; } };
}

/** Boards to choose from, the latest first. */
export const boardList = (layouts, choose) => h("section", {},
  h("h2", {}, t("join.choose")),
  layouts.map((each) => button([
    h("b", {}, each.name), each.order_ref ? h("span", { class: "aside" }, each.order_ref) : null,
    h("span", { class: "aside" }, t("join.version", { age: age(Date.parse(each.updated_at)), name: each.updated_by })),
  ], () => choose(each.id), { class: "item tall", key: `board:${each.id}` })));
