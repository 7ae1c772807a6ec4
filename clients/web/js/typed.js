// What is half typed when the page is loaded anew: it is put back where it was.

const KEY = "evenboard-typed";
const FIELDS = "input[data-key], textarea[data-key], select[data-key]";

const value = (field) => (field.type === "checkbox" || field.type === "radio" ? field.checked : field.value);

/** Remember every field of the screen, for the next page in this tab. */
export function keepTyped() {
  const fields = [...document.querySelectorAll(FIELDS)].map((field) => [field.dataset.key, value(field)]);
  try {
    sessionStorage.setItem(KEY, JSON.stringify({ hash: location.hash, fields, focus: document.activeElement?.dataset?.key }));
  } catch { /* a full phone: the layout itself is kept elsewhere */ }
}

/** Put it back, on the screen it was typed on. The fields speak up as if typed in just now. */
export function putBack() {
  let kept = null;
  try {
    kept = JSON.parse(sessionStorage.getItem(KEY));
    sessionStorage.removeItem(KEY);
  } catch { /* nothing kept */ }
  if (!kept || kept.hash !== location.hash) return;
  for (const [key, was] of kept.fields) {
    const field = find(key);
    if (!field || value(field) === was) continue;
    if (typeof was === "boolean") field.checked = was;
    else field.value = was;
    for (const type of ["input", "change"]) field.dispatchEvent(new Event(type, { bubbles: true }));
  }
  if (kept.focus) find(kept.focus)?.focus({ preventScroll: true });
}

const find = (key) => document.querySelector(`[data-key="${CSS.escape(key)}"]`);
