// Switching the set-up that burns: looked at before, so that nothing breaks by surprise.

import * as api from "../api.js";
import { burn, burning } from "../burning.js";
import { button, h } from "../dom.js";
import { amps, percent } from "../format.js";
import { label, load, onlySetup } from "../layout.js";
import { placeWords } from "../parts/findings.js";
import { bySeverity, tag } from "../parts/severity.js";
import { openSheet } from "../parts/sheet.js";
import { shared } from "../together.js";
import { englishNote, quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** So many of what is wrong are told before the keys; the board has them all. */
const MOST = 3;

/** What burns, and a key to switch to the set-up that is shown. */
export function burnPanel(layout, seen, drawn) {
  if (!layout.setups?.length) return null;
  const now = burning();
  const verdict = now ? verdictOf(layout, now, drawn) : null;
  const may = !shared.on || shared.mayChange;
  return h("div", { class: "burn" },
    h("p", { class: "burn-now", "data-verdict": verdict },
      now ? t(verdict ? `burn.is.${verdict}` : "burn.is", { name: now }) : t("burn.none")),
    may && seen && seen !== now
      ? button(t("burn.switch", { name: seen }), (event) => consider(seen, event.currentTarget), { class: "wide-key", key: "burn" })
      : null);
}

const looked = { at: null, of: null, verdict: null, flight: null };

/**
 * Whether what burns holds by itself, as far as the service has said so of this layout; it is asked
 * once the layout as a whole is answered, and `drawn` called when it says so.
 */
function verdictOf(layout, id, drawn) {
  const body = onlySetup(layout, id);
  const at = JSON.stringify(body);
  if (worksheet.fresh && looked.at !== at) {
    looked.flight?.abort();
    const flight = new AbortController();
    Object.assign(looked, { at, flight });
    api.balance(body, flight.signal).then(({ verdict }) => {
      Object.assign(looked, { of: at, verdict });
      drawn();
    }, () => { if (looked.at === at) looked.at = null; });
  }
  return looked.of === at ? looked.verdict : null;
}

/** Look at a set-up by itself and switch to it: at once where it holds, else after a word. */
async function consider(id, key) {
  const { layout } = worksheet;
  key.textContent = t("burn.checking", { name: id });
  key.setAttribute("aria-busy", "true");
  let found = null;
  try {
    found = await api.balance(onlySetup(layout, id));
  } catch { /* told below */ }
  key.removeAttribute("aria-busy");
  key.textContent = t("burn.switch", { name: id });
  const bad = found ? bySeverity(found.findings).filter((f) => f.severity !== "note") : null;
  if (bad && !bad.length) burn(id);
  else ask(id, layout, bad);
}

function ask(id, layout, bad) {
  const now = burning();
  const fails = bad?.filter((f) => f.severity === "fail").length ?? 0;
  openSheet(t("burn.title", { name: id }), (close) => h("div", { class: "form" },
    h("p", { class: fails ? "trouble" : "" }, !bad ? t("burn.unknown", { name: id })
      : fails ? t("burn.fail", { name: id }) : t("burn.caution", { name: id, n: bad.length })),
    englishNote(bad?.length),
    bad ? h("ol", { class: "warnings" }, bad.slice(0, MOST).map((f) => warning(f, layout))) : lastKnown(id),
    bad?.length > MOST ? h("p", { class: "aside" }, t("burn.more", { n: bad.length - MOST })) : null,
    button(t(bad && !fails ? "burn.switch" : "burn.anyway", { name: id }), () => { burn(id); close(); },
      { class: bad && !fails ? "main-key" : "grave", key: "burn-anyway" }),
    button(now ? t("burn.leave", { name: now }) : t("burn.leave.none"), close, { class: "wide-key", key: "burn-leave" })),
  () => {}, "later");
}

function warning({ severity, where, message, remedy }, layout) {
  const named = (id) => (load(layout, id) ? label(load(layout, id)) : id);
  const place = placeWords({ ...where, setup: null }, named);
  return h("li", { class: "finding", "data-severity": severity },
    h("p", { class: "finding-head" }, tag(severity), place ? h("span", { class: "place" }, place) : null),
    quoted("p", { class: "message" }, message),
    remedy ? h("p", { class: "remedy" }, h("b", {}, t("finding.do")), " ", quoted("span", {}, remedy)) : null);
}

/** Without a line: what the last answer said of that set-up's phases, where one is over. */
function lastKnown(id) {
  const told = worksheet.answer?.setups?.find((each) => each.id === id);
  const over = told?.phases.filter((p) => p.loading_pct > 100) ?? [];
  return h("ul", { class: "points" }, over.map((p) => h("li", {},
    t("burn.over", { phase: p.phase, n: amps(p.current_a), pct: percent(p.loading_pct) }))));
}
