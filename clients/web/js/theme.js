// Night and day. Night is dim and warm for eyes used to the dark, day is black on white for the sun.

const KEY = "evenboard-theme";

/** What was chosen, else what the phone is set to. */
export function theme() {
  let kept = null;
  try { kept = localStorage.getItem(KEY); } catch { /* a private window */ }
  return kept === "night" || kept === "day" ? kept
    : matchMedia("(prefers-color-scheme: light)").matches ? "day" : "night";
}

export function setTheme(name) {
  document.documentElement.dataset.theme = name;
  // The phone's own bars take the page's ground, read from the one place that says it.
  document.querySelector('meta[name="theme-color"]').content =
    getComputedStyle(document.documentElement).getPropertyValue("--ground").trim();
}

export function keepTheme(name) {
  try { localStorage.setItem(KEY, name); } catch { /* then only until the page closes */ }
  setTheme(name);
}
