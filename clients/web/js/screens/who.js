// Who is at this phone: asked once, before the first thing that the others see.

import { button, h } from "../dom.js";
import { openSheet } from "../parts/sheet.js";
import { shared } from "../together.js";
import { t } from "../text.js";

/** Ask for a name; with `again` also where there is one. */
export function askWho({ again = false } = {}) {
  if (shared.who && !again) return;
  const input = h("input", {
    id: "who", type: "text", maxlength: 60, autocomplete: "nickname", autocapitalize: "words", value: shared.who,
    enterkeyhint: "done", "data-key": "who",
  });
  openSheet(t("who.title"), (close) => h("form", {
    class: "form",
    // Closing it any other way keeps what was typed as well.
    on: { submit: (event) => { event.preventDefault(); close(); } },
  },
    h("p", {}, t("who.words")),
    h("div", { class: "field" }, h("label", { for: "who", class: "label" }, t("who.label")), input),
    h("button", { type: "submit", class: "main-key" }, t("who.keep")),
    button(t("who.skip"), () => { input.value = ""; close(); }, { class: "wide-key", key: "who-skip" })), () => { if (input.value.trim() !== shared.who) shared.call(input.value.trim()); });
}
