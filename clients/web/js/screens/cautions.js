// What this does not do: always within reach, and beside every result.

import { h } from "../dom.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** The caution that stands under results: the service's own words where there are any. */
export const caution = (answer) => h("aside", { class: "caution", "aria-label": t("cautions.title") },
  h("p", {}, answer?.notice ?? t("cautions.short")),
  h("a", { href: "#/cautions", class: "key-text" }, t("cautions.read")));

export async function cautionsScreen() {
  const points = ["competent", "codes", "plates", "model", "measure", "cables", "neutral", "trip"];
  return {
    title: t("cautions.title"),
    node: h("div", { class: "screen narrow" },
      h("h1", { tabindex: "-1" }, t("cautions.title")),
      h("p", { class: "lead" }, worksheet.answer?.notice ?? t("cautions.short")),
      h("ul", { class: "points" }, points.map((point) => h("li", {}, h("b", {}, t(`cautions.${point}`)), " ", t(`cautions.${point}.words`))))),
    close: () => {},
  };
}
