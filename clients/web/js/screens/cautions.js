// What this does not do: always within reach, and beside every result.

import { h } from "../dom.js";
import { quoted } from "../parts/service.js";
import { ofService } from "../language.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** The service's own words where there are any; in another language the reader's own come first. */
const notice = (answer, properties) => [
  answer?.notice && !ofService() ? null : h("p", properties, t("cautions.short")),
  answer?.notice ? quoted("p", ofService() ? { class: "aside" } : properties, answer.notice) : null,
];

/** The caution that stands under results: the service's own words where there are any. */
export const caution = (answer) => h("aside", { class: "caution", "aria-label": t("cautions.title") },
  notice(answer, {}),
  h("a", { href: "#/cautions", class: "key-text" }, t("cautions.read")));

export async function cautionsScreen() {
  const points = ["competent", "codes", "plates", "model", "measure", "cables", "neutral", "trip"];
  return {
    title: t("cautions.title"),
    node: h("div", { class: "screen narrow" },
      h("h1", { tabindex: "-1" }, t("cautions.title")),
      notice(worksheet.answer, { class: "lead" }),
      h("ul", { class: "points" }, points.map((point) => h("li", {}, h("b", {}, t(`cautions.${point}`)), " ", t(`cautions.${point}.words`))))),
    close: () => {},
  };
}
