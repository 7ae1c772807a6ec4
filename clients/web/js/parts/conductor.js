// A conductor's colour as the region's code has it: always beside its letter, never alone.

import { h } from "../dom.js";
import { t } from "../text.js";

/** The colour code shown for a region: the one asked for, else the one in force, else none. */
export function colourCode(region, wanted) {
  const codes = region?.colours ?? [];
  return codes.find((c) => c.code === wanted) ?? codes.find((c) => c.in_force) ?? codes[0] ?? null;
}

/** The colour's name for a conductor, or null where the code has none. */
export const colourOf = (code, conductor) => code?.colours?.[conductor] ?? null;

/** A dab of the conductor's colour, outlined so that black shows on black. For eyes only. */
export const dab = (colour) =>
  h("span", { class: "dab", "data-colour": slug(colour), "aria-hidden": "true" });

/** The line's letter, its dab, and the colour in words. */
export function conductor(code, line, own = line) {
  const colour = colourOf(code, line);
  return h("span", { class: "conductor" },
    dab(colour),
    h("b", {}, own),
    colour ? h("span", { class: "colour-name" }, t(`colour.${slug(colour)}`, {}, colour)) : null);
}

export const slug = (colour) => (colour ?? "none").toLowerCase().replace(/[^a-z]+/g, "-");
