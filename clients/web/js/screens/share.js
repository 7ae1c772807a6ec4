// One board for many phones: share it with the desk's key, pass its link on by QR code, leave it.

import * as api from "../api.js";
import { button, h, redraw } from "../dom.js";
import { deskKey, forgetKey, holdKey } from "../key.js";
import { tickField } from "../parts/field.js";
import { isKey, shared } from "../together.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { boardList } from "./join.js";
import { askWho } from "./who.js";

const freshKey = () => [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");

/** Work on a board by a link of its own: the desk's key stays out of what is passed on. */
export async function workOn(id, may, key) {
  const made = await api.makeLink(id, { may, name: t(`share.new.name.${may}`) }, key, freshKey());
  const { link } = await shared.look(made.token);
  await shared.open(link, id);
}

/** The section of the hand-over screen; `copy(words, key)` copies and says so. `{node, close}`. */
export function shareSection({ copy, tell }) {
  const node = h("section", { class: "share" });
  const fault = h("p", { class: "fault", role: "alert", hidden: true });
  const listening = new AbortController();
  const { signal } = listening;
  let key = "";
  let typed = "";
  let code = null;
  let codeOf = null;
  let boards = null;
  let busy = false;
  let kept = false;
  // A second try of what may have been done already carries the same key.
  let attempt = freshKey();

  const trouble = (error) => {
    const words = error.kind === "refused" ? error.errors?.map((each) => each.detail).join(" ") || error.detail || error.title
      : t(`trouble.${error.kind ?? "broken"}`);
    fault.hidden = false;
    fault.textContent = words;
  };

  async function work(deed) {
    if (busy) return;
    busy = true;
    fault.hidden = true;
    draw();
    try {
      await deed();
    } catch (error) { trouble(error); }
    busy = false;
    if (!signal.aborted) draw();
  }

  const share = () => work(async () => {
    const { layout } = worksheet;
    const setup = layout.setups?.some((s) => s.id === worksheet.view.burning) ? worksheet.view.burning : null;
    const body = { body: layout, ...(setup ? { burning: setup } : {}), ...(shared.who ? { by: shared.who } : {}) };
    const saved = await api.saveLayout(body, key, attempt);
    attempt = freshKey();
    await open(saved.id, "plug");
    askWho();
  });

  const open = (id, may) => workOn(id, may, key);

  const list = () => work(async () => { boards = await api.savedLayouts(key); });

  function address() {
    const url = new URL("./", location.href);
    url.hash = `/open/${shared.link.secret}`;
    return url.href;
  }

  async function drawCode() {
    const { secret, role } = shared.link;
    // A key is never put on a box.
    if (codeOf === secret || role === "desk") return;
    codeOf = secret;
    try {
      const picture = await api.linkCode(secret);
      code = URL.createObjectURL(new Blob([picture], { type: "image/svg+xml" }));
      draw();
    } catch { codeOf = null; }
  }

  async function send() {
    try {
      await navigator.share({ title: shared.board.name, url: address() });
    } catch (error) {
      if (error.name !== "AbortError") tell("share.failed");
    }
  }

  const text = { class: "key-text" };

  const together = () => [
    h("h2", {}, t("share.on")),
    h("p", {}, h("b", {}, shared.board.name), " ", h("span", { class: "aside" }, t(`share.role.${shared.link.role}`))),
    shared.link.role === "desk" ? null : [
      code ? h("img", { class: "qr", src: code, alt: t("share.scan.label"), width: 260, height: 260 }) : null,
      h("p", {}, t("share.scan")),
      h("p", { class: "hint" }, t("share.scan.caution")),
      h("div", { class: "keys" },
        navigator.share ? button(t("share.send"), send, { class: "main-key", key: "send-link" }) : null,
        button(t("share.url"), () => copy(address(), "share.url.done"), { ...text, key: "copy-link" })),
    ],
    h("p", {}, shared.who ? t("share.who", { name: shared.who }) : t("share.who.none")),
    h("div", { class: "keys" },
      button(t("share.who.change"), () => askWho({ again: true }), { ...text, key: "who" }),
      button(t("share.leave"), () => { shared.leave(); location.hash = "#/board"; }, { ...text, key: "leave" })),
    h("p", { class: "hint" }, t("share.leave.words")),
  ];

  function keyField() {
    const input = h("input", {
      id: "desk-key", type: "password", autocomplete: "off", value: typed, "data-key": "desk-key",
      "aria-describedby": "desk-key-hint", on: { input: () => { typed = input.value; } },
    });
    const take = (event) => {
      event.preventDefault();
      const given = typed.trim();
      const right = isKey(given);
      fault.hidden = right;
      fault.textContent = right ? "" : t("share.key.wrong");
      if (!right) { input.focus(); return; }
      key = given;
      typed = "";
      holdKey(key, { kept });
      draw();
    };
    return h("form", { class: "form", on: { submit: take } },
      h("div", { class: "field" },
        h("label", { for: "desk-key", class: "label" }, t("share.key")), input,
        h("p", { class: "hint", id: "desk-key-hint" }, t("share.key.hint"))),
      tickField(t("share.key.keep"), { checked: kept, key: "desk-key-keep", change: (on) => { kept = on; } }),
      h("button", { type: "submit", class: "wide-key", "data-key": "take-key" }, t("share.key.take")));
  }

  const alone = () => {
    const ready = isKey(key);
    return [
      h("h2", {}, t("share.title")),
      worksheet.layout ? h("p", {}, t("share.alone")) : null,
      ready ? null : [h("p", { class: "aside" }, t("share.key.words")), keyField()],
      ready ? h("div", { class: "keys" },
        worksheet.layout?.boards.length
          ? button(t(busy ? "share.making" : "share.make"), share, { class: "main-key", key: "make", "aria-busy": String(busy) }) : null,
        button(t("share.list"), list, { ...text, key: "list" }),
        button(t("share.forget"), () => { key = ""; boards = null; forgetKey(); draw(); }, { ...text, key: "forget" })) : null,
      boards ? boards.length ? boardList(boards, (id) => work(async () => {
        await open(id, "plug");
        location.hash = "#/board";
        askWho();
      })) : h("p", {}, t("share.boards.none")) : null,
    ];
  };

  function draw() {
    redraw(node, shared.on ? together() : alone(), fault,
      h("div", { class: "keys" }, h("a", { href: "#/desk", class: "key-text" }, t("desk.open"))));
    if (shared.on) drawCode();
  }

  shared.addEventListener("change", draw, { signal });
  signal.addEventListener("abort", () => { if (code) URL.revokeObjectURL(code); });
  draw();
  deskKey().then((held) => { key = held; if (!signal.aborted) draw(); });
  return { node, close: () => listening.abort() };
}
