// Which board and supply would do for the lamps at hand: from the last that is too small upward.

import * as api from "../api.js";
import { button, h, redraw } from "../dom.js";
import { amps, plain } from "../format.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";

const OWN = ["name", "region", "ambient_c", "loads", "setups", "limits"];

/** The lamps of a layout, without what they hang on. */
const listOf = (layout) => ({
  ...Object.fromEntries(OWN.filter((name) => layout[name] !== undefined).map((name) => [name, layout[name]])),
  ...(layout.supply?.system ? { system: layout.supply.system } : {}),
});

/** A question and, once asked, its answer. `take(layout)` puts the lamps on a board. */
export function boardsThatDo({ layout, take }) {
  const told = h("div", { class: "form", role: "status" });
  const ask = button(t("plan.boards"), async () => {
    redraw(told, h("p", { class: "said" }, t("plan.boards.asking")));
    try {
      redraw(told, answer(await api.boardsThatDo(listOf(layout())), layout(), take));
    } catch {
      redraw(told, h("p", { class: "trouble" }, t("plan.boards.failed")));
    }
  }, { class: "wide-key", key: "boards" });
  return h("section", { class: "boards-that-do" }, ask, told);
}

function answer({ choices, spare_pct: spare }, layout, take) {
  return [
    h("p", { class: "aside" }, t("plan.boards.words", { n: spare })),
    choices.some((each) => each.carries) ? null : h("p", {}, t("plan.boards.none")),
    h("ul", { class: "points" }, choices.map((each) => h("li", {},
      h("b", {}, `${t("plan.boards.supply", { n: plain(each.supply.rating_a) })} · `, quoted("span", {}, counted(each.names))),
      h("p", {}, each.carries
        ? [t("plan.boards.carries", { worst: amps(each.worst_phase_a), left: amps(each.headroom_a) }),
          t("plan.boards.outlets", { n: each.outlets })].join(" · ")
        : [t("plan.boards.small"), " ", quoted("span", {}, each.why[0])]),
      each.carries ? button(t("plan.boards.take"), () => take({ ...each.layout, name: layout.name }),
        { class: "wide-key", key: `board:${each.supply.rating_a}` }) : null))),
  ];
}

/** Names of boards, those that come twice said once with their number. */
function counted(names) {
  const count = new Map();
  for (const name of names) count.set(name, (count.get(name) ?? 0) + 1);
  return [...count].map(([name, n]) => (n > 1 ? `${n} × ${name}` : name)).join(" + ");
}
