// A sheet that comes up over the screen for one job and goes away again.

import { button, freshId, h } from "../dom.js";
import { t } from "../text.js";

/**
 * Open a sheet. `fill(close)` returns what is in it. Escape, the backdrop and "Done" close it; the
 * keyboard goes back to where it was, or to the element drawn anew under the same `data-key`. `shut`
 * is the key of another word for "Done", where closing decides nothing.
 */
export function openSheet(title, fill, onClosed = () => {}, shut = "done") {
  const opener = document.activeElement;
  const key = opener?.dataset?.key;
  const id = freshId("sheet");
  const dialog = h("dialog", { class: "sheet", "aria-labelledby": id });
  const close = () => dialog.close();
  dialog.append(
    h("header", { class: "sheet-head" },
      h("h2", { id, tabindex: "-1" }, title),
      button(t(shut), close, { class: "quiet", key: "sheet-close" })),
    h("div", { class: "sheet-body" }, fill(close)));
  dialog.addEventListener("click", (event) => { if (event.target === dialog) close(); });
  dialog.addEventListener("close", () => {
    dialog.remove();
    onClosed();
    const back = opener?.isConnected ? opener
      : key && document.querySelector(`[data-key="${CSS.escape(key)}"]`);
    (back || document.querySelector("h1"))?.focus({ preventScroll: true });
  });
  document.body.append(dialog);
  dialog.showModal();
  // The heading first, so that a reader says what this is, and no keyboard jumps up unasked.
  dialog.querySelector("h2").focus();
  return dialog;
}
