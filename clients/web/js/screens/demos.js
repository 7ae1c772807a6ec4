// Invented boards to look at, a good one and a bad one, where the service offers them.

import { demoLayouts } from "../api.js";
import { h } from "../dom.js";
import { asLayout } from "../layout.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** A section with the demo boards; it stays empty where there are none. */
export function demoList() {
  const section = h("section", { class: "demos", hidden: true });
  demoLayouts().then((items) => {
    const sound = items.filter((item) => asLayout(item.layout));
    if (!sound.length) return;
    section.append(
      h("h2", {}, t("demos.title")),
      h("p", { class: "aside" }, t("demos.words")),
      ...sound.map((item) => h("button", { type: "button", class: "item tall", on: { click: () => {
        worksheet.open(asLayout(item.layout));
        location.hash = "#/board";
        scrollTo(0, 0);
      } } }, h("b", {}, item.title), item.story ? h("span", { class: "aside" }, item.story) : null)));
    section.hidden = false;
  }, () => { /* none offered, or no service: the rest of the page does without */ });
  return section;
}
