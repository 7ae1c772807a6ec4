// Invented boards to look at, a good one and a bad one, where the service offers them.

import { demoLayouts } from "../api.js";
import { button, h } from "../dom.js";
import { asLayout } from "../layout.js";
import { englishNote, quoted } from "../parts/service.js";
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
      ...[englishNote()].filter(Boolean),
      ...sound.map(({ title, story, layout }) => button(
        [quoted("b", {}, title), story ? quoted("span", { class: "aside" }, story) : null], () => {
          worksheet.open(asLayout(layout));
          location.hash = "#/board";
          scrollTo(0, 0);
        }, { class: "item tall" })));
    section.hidden = false;
  }, () => { /* none offered, or no service: the rest of the page does without */ });
  return section;
}
