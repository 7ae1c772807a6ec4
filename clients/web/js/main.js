// The door: header, tabs, and which screen is shown.

import { button, h, redraw } from "./dom.js";
import { isSecret, shared } from "./together.js";
import { keepLanguage, language, next } from "./language.js";
import { t } from "./text.js";
import { keepTheme, setTheme, theme } from "./theme.js";
import { keepTyped, putBack } from "./typed.js";
import { worksheet } from "./worksheet.js";

setTheme(theme());
document.documentElement.lang = language;

const main = document.querySelector("main");
let close = () => {};
let turn = 0;

function route() {
  const [, name = "", argument = ""] = location.hash.split("/");
  return { name: name || "lamps", argument: decodeURIComponent(argument) };
}

// The lamp list must be there at once on a thin line; the other screens come when asked for, or
// when there is nothing else to fetch.
const SCREENS = {
  lamps: async ({ argument }) => (argument
    ? (await import("./screens/lamp.js")).lampScreen({ slug: argument })
    : (await import("./screens/lamps.js")).lampsScreen()),
  board: async () => (await import("./screens/board.js")).boardScreen(),
  plan: async ({ argument }) => (await import("./screens/plan.js")).planScreen({ wish: argument }),
  meter: async () => (await import("./screens/meter.js")).meterScreen(),
  start: async () => (await import("./screens/start.js")).startScreen(),
  log: async () => (await import("./screens/log.js")).logScreen(),
  join: async () => (await import("./screens/join.js")).joinScreen(),
  "hand-over": async () => (await import("./screens/handover.js")).handoverScreen(),
  cautions: async () => (await import("./screens/cautions.js")).cautionsScreen(),
};

const OF_THE_BOARD = new Set(["plan", "meter", "start", "log"]);
// A label's code leads to `#/equipment/<tag>`. These come when asked for only: a crew needs none of them.
const OF_THE_DESK = new Set(["desk", "order", "equipment", "stock"]);
for (const name of OF_THE_DESK) {
  SCREENS[name] = async (at) => (await import("./screens/desk/door.js")).deskScreen(at);
}

function fetchTheRest() {
  performance.mark?.("rest");
  for (const name of ["lamp", "lamps", "board", "plan", "meter", "start", "log", "handover", "cautions"]) {
    // Without an answer now, opening the screen asks again.
    import(`./screens/${name}.js`).catch(() => {});
  }
  // It sends what an earlier visit could not, and keeps the client on the phone.
  import("./screens/news.js").catch(() => {});
  // The whole lamp list, for where there is no line.
  import("./catalogue.js").then((catalogue) => catalogue.refreshCatalogue()).catch(() => {});
}

async function show({ first = false } = {}) {
  const mine = ++turn;
  const at = route();
  if (at.name === "open" && isSecret(at.argument)) {
    // Out of the address at once, and out of the history: it opens the board to whoever has it.
    await (await import("./screens/join.js")).bring(at.argument);
    history.replaceState(null, "", "#/join");
    return show({ first });
  }
  if (at.name === "open") {
    const { openLink } = await import("./screens/handover.js");
    const opened = await openLink(at.argument);
    worksheet.badLink = !opened;
    // The link's data leaves the address: a reload must not bring the old layout back.
    history.replaceState(null, "", opened ? "#/board" : "#/hand-over");
    return show({ first });
  }
  frame(at.name);
  main.setAttribute("aria-busy", "true");
  let screen;
  try {
    screen = await (SCREENS[at.name] ?? SCREENS.lamps)(at);
  } catch (error) {
    screen = trouble(error);
  }
  if (mine !== turn) { screen.close(); return undefined; }
  close();
  close = screen.close;
  document.title = `${screen.title} – ${t("name")}`;
  main.removeAttribute("aria-busy");
  redraw(main, screen.node);
  if (!first) {
    scrollTo(0, 0);
    main.querySelector("h1")?.focus({ preventScroll: true });
  }
  return undefined;
}

function trouble(error) {
  // A screen's own file that did not come is a TypeError of the browser's.
  const kind = error.kind ?? (/import|module/i.test(error.message) ? "offline" : "broken");
  const words = kind === "refused" ? error.detail || error.title : t(`trouble.${kind}`);
  return {
    title: t("trouble.title"), close: () => {},
    node: h("div", { class: "screen narrow" },
      h("h1", { tabindex: "-1" }, t("trouble.title")),
      h("p", { class: "trouble", role: "alert" }, words),
      h("button", { type: "button", class: "main-key", on: { click: () => show() } }, t("trouble.again"))),
  };
}

/** Say all of it in another language; what was half typed stays. */
function speak(tag) {
  keepLanguage(tag);
  keepTyped();
  location.reload();
}

// The address stays what it is: it says which screen this is.
function skip(event) {
  event.preventDefault();
  main.focus();
}

function frame(screen) {
  const { tag, name } = next();
  const other = document.documentElement.dataset.theme === "night" ? "day" : "night";
  // What is done with a board is of the board and has no tab of its own; the desk is behind "hand over".
  const current = (id) => (id === screen || (id === "board" && OF_THE_BOARD.has(screen))
    || (id === "hand-over" && OF_THE_DESK.has(screen)) ? "page" : null);
  redraw(document.querySelector("header"),
    h("a", { class: "skip", href: "#", on: { click: skip } }, t("skip")),
    h("a", { class: "home", href: "#/lamps", "aria-label": t("home") },
      h("span", { class: "home-bars", "aria-hidden": "true" }, h("i"), h("i"), h("i")), t("name")),
    h("a", { class: "quiet", href: "#/cautions", "aria-current": current("cautions") }, t("cautions.title")),
    button(tag.toUpperCase(), () => speak(tag),
      { class: "quiet language", key: "language", label: `${tag.toUpperCase()}: ${name}`, lang: tag }),
    button(t(other === "day" ? "theme.day" : "theme.night"), () => { keepTheme(other); frame(screen); },
      { class: "quiet", key: "theme" }));
  redraw(document.querySelector("nav"), ["lamps", "board", "hand-over"].map((id) =>
    h("a", { href: `#/${id}`, "aria-current": current(id), "data-key": `tab:${id}` }, t(`tab.${id}`))));
  undoKey();
}

/** Two changed the same: ask at once, unless a sheet is open; then the board's bar says so. */
async function choose(entry) {
  if (document.querySelector("dialog[open]")) return;
  const { openClash } = await import("./screens/clash.js");
  openClash(entry);
}

// Undo stands beside the tabs, wherever the crew is, as long as there is a step to take back.
const undo = document.querySelector(".undo");
// On the desk's pages there is nothing of a board to take back.
const undoKey = () => { undo.hidden = !worksheet.canUndo || OF_THE_DESK.has(route().name); };
undo.textContent = t("undo");
undo.addEventListener("click", () => worksheet.undo());

document.querySelector("nav").setAttribute("aria-label", t("tabs"));
addEventListener("hashchange", () => show());
addEventListener("redraw", () => show({ first: true }));
await worksheet.wake();
worksheet.addEventListener("change", undoKey);
shared.addEventListener("change", undoKey);
shared.addEventListener("refused", ({ detail }) => choose(detail));
await shared.wake();
await show({ first: true });
putBack();
(globalThis.requestIdleCallback ?? setTimeout)(fetchTheRest);
