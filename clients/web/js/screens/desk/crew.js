// The crew's links of an order: made, shown as a code to scan, ended.

import { linkCode } from "../../api.js";
import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { dayWords } from "../../format.js";
import { deskForm, problemNote } from "../../parts/desk-form.js";
import { t } from "../../text.js";
import { attempt } from "./door.js";

/** `{node, load}` */
export function crewSection(ref, signal) {
  const host = h("div", { class: "desk-list" });
  const made = h("div", { class: "made" });
  const urls = [];
  signal.addEventListener("abort", () => urls.forEach((url) => URL.revokeObjectURL(url)));

  const over = (link) => (link.revoked_at ? t("crew.ended") : Date.parse(link.expires_at) < Date.now() ? t("crew.over") : null);

  async function load() {
    await attempt(host, async () => {
      const { items } = await desk.crewLinks(ref);
      redraw(host, items.length ? h("ul", { class: "desk-rows" }, items.map((link) => h("li", { class: "desk-row" },
        h("span", {}, h("b", {}, link.name), " ", h("span", { class: "aside" }, over(link) ?? t("crew.until", { day: dayWords(link.expires_at.slice(0, 10)) }))),
        over(link) ? null : button(t("crew.end"), () => end(link), { class: "key-text", key: `end:${link.id}`, label: t("crew.end.of", { name: link.name }) }))))
        : h("p", { class: "aside" }, t("crew.none")));
    });
  }

  const end = (link) => attempt(host, async () => { await desk.endLink(link.id); await load(); });

  async function show(link) {
    redraw(made, h("div", { class: "crew-card" },
      h("p", {}, h("b", {}, t("crew.made", { name: link.name }))),
      h("p", { class: "hint" }, t("crew.once")),
      h("p", { class: "address" }, link.url),
      h("div", { class: "keys" }, button(t("crew.copy"), () => copy(link.url), { class: "key-text", key: "crew:copy" }))));
    try {
      const url = URL.createObjectURL(new Blob([await linkCode(link.token)], { type: "image/svg+xml" }));
      urls.push(url);
      made.querySelector(".address").before(h("img", { class: "qr", src: url, alt: t("crew.code", { ref }), width: 260, height: 260 }));
    } catch (error) { made.firstChild.append(problemNote("p", { class: "fault" }, error)); }
  }

  async function copy(words) {
    const address = made.querySelector(".address");
    try {
      await navigator.clipboard.writeText(words);
      address.after(h("p", { class: "said", role: "status" }, t("crew.copied")));
    } catch {
      // Without a secure context the words are marked, to be copied by hand.
      getSelection().selectAllChildren(address);
    }
  }

  const form = deskForm({
    id: "crew", words: "crew.make", values: { name: t("crew.name.usual") },
    fields: [{ name: "name", label: t("crew.name"), needed: true, most: 100, hint: t("crew.hint") }],
    async send(body, key) {
      const link = await desk.makeCrewLink(ref, body, key);
      await show(link);
      await load();
    },
  });
  return { node: h("section", {}, h("h2", {}, t("crew.title")), host, made, form), load };
}
