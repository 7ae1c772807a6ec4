// The door of the desk's pages: whoever has no key is asked for it, then comes what was asked for.

import { button, h, redraw } from "../../dom.js";
import { holdKey, deskKey, forgetKey } from "../../key.js";
import { deskForm, problemNote } from "../../parts/desk-form.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { whoIs } from "../../desk.js";
import "../../words-desk.js";

const SCREENS = {
  desk: async () => (await import("./orders.js")).ordersScreen(),
  order: async (ref) => (await import("./order.js")).orderScreen(ref),
  equipment: async (tag) => (tag ? (await import("./piece.js")).pieceScreen(tag) : (await import("./equipment.js")).equipmentScreen()),
  stock: async () => (await import("./stock.js")).stockScreen(),
};
const ANEW = () => dispatchEvent(new Event("redraw"));

/** The style of these pages comes with them. */
function dressed() {
  if (document.querySelector('link[href$="desk.css"]')) return null;
  return new Promise((resolve) => {
    const sheet = h("link", { rel: "stylesheet", href: new URL("../../../desk.css", import.meta.url).href, on: { load: resolve, error: resolve } });
    document.head.append(sheet);
  });
}

/** `{title, node, close}` of a page of the desk, or of its door. */
export async function deskScreen({ name, argument }) {
  await dressed();
  if (!await deskKey()) return signIn();
  try {
    const screen = await SCREENS[name](argument);
    screen.node.prepend(deskNav(name));
    return screen;
  } catch (error) {
    if (error.status === 401) { await forgetKey(); return signIn({ over: true }); }
    if (error.status === 403) return signIn({ other: error.detail });
    if (error.kind !== "refused" || error.status !== 404) throw error;
    return { title: t("desk.none.title"), close: () => {}, node: h("div", { class: "screen desk narrow" }, deskNav(name),
      h("h1", { tabindex: "-1" }, t("desk.none.title")),
      problemNote("p", { class: "trouble", role: "alert" }, error),
      name === "equipment" ? h("a", { class: "key-text", href: "#/equipment" }, t("desk.none.equipment")) : null) };
  }
}

function deskNav(name) {
  const current = (id) => (id === name || (id === "desk" && name === "order") ? "page" : null);
  return h("div", { class: "desk-nav", role: "navigation", "aria-label": t("desk.nav") },
    ["desk", "equipment", "stock"].map((id) => h("a", { href: `#/${id}`, "aria-current": current(id), "data-key": `desk:${id}` }, t(`desk.nav.${id}`))),
    button(t("desk.sign-out"), async () => { await forgetKey(); location.hash === "#/desk" ? ANEW() : location.hash = "#/desk"; },
      { class: "quiet", key: "sign-out" }));
}

function signIn({ over = false, other = "" } = {}) {
  const secret = (field) => {
    const control = h("input", { type: "password", autocomplete: "off", "data-secret": true, maxlength: 200, autocapitalize: "off", spellcheck: "false" });
    return { control, read: () => control.value.trim() || undefined };
  };
  const say = (words) => { throw Object.assign(new Error(words), { kind: "refused", own: true, errors: [{ pointer: "/key", detail: words }], reasons: [] }); };
  const form = deskForm({
    id: "sign-in", words: "desk.sign-in",
    fields: [
      { name: "key", label: t("share.key"), kind: secret, needed: true, hint: t("desk.key.hint") },
      { name: "keep", label: t("share.key.keep"), kind: "tick" },
    ],
    async send({ key, keep }) {
      // A code or a copied line may bring more than the key itself.
      const found = /ev[bl]_[\w-]+/.exec(key)?.[0] ?? key;
      if (found.startsWith("evl_")) say(t("desk.key.link"));
      let who;
      try {
        // What no header can carry is no key.
        if (!/^[\x21-\x7e]+$/.test(found)) say(t("desk.key.wrong"));
        who = await whoIs(found);
      } catch (error) {
        if (error.status === 401) say(t("desk.key.wrong"));
        throw error;
      }
      if (who.role !== "desk") say(t("desk.key.link"));
      await holdKey(found, { kept: keep });
      ANEW();
    },
  });
  return { title: t("desk.title"), close: () => {}, node: h("div", { class: "screen desk narrow" },
    h("h1", { tabindex: "-1" }, t("desk.title")),
    over ? h("p", { class: "trouble", role: "alert" }, t("desk.key.over")) : null,
    other ? quoted("p", { class: "trouble", role: "alert" }, other) : null,
    h("p", {}, t("desk.words")),
    form,
    h("p", { class: "hint" }, t("desk.key.where"))) };
}

/** A page's frame: its heading and what stands under it. */
export const frame = (title, ...children) =>
  h("div", { class: "screen desk" }, h("h1", { tabindex: "-1" }, title), children);

/** Run something for a page and show what went wrong in its place, with a way to try again. */
export async function attempt(host, work) {
  try {
    await work();
  } catch (error) {
    if (error.name === "AbortError") return;
    redraw(host, problemNote("p", { class: "trouble", role: "alert" }, error),
      error.status === 401 ? button(t("desk.sign-in"), async () => { await forgetKey(); ANEW(); }, { class: "key-text" })
        : button(t("trouble.again"), () => attempt(host, work), { class: "key-text", key: "again" }));
  }
}
