// What the service found, the worst first, each with what to do and a way to its place.

import { h, redraw, tell } from "../dom.js";
import { figure, outletName } from "../format.js";
import { t } from "../text.js";
import { bySeverity } from "./severity.js";

/** A finding's place in words: board, phase, outlet, lamp, set-up, as far as it has them. */
export function placeWords(where, named = (id) => id) {
  const said = { outlet: outletName, load: named };
  const part = (name) => (where?.[name] ? t(`where.${name}`, { name: (said[name] ?? String)(where[name]) }) : null);
  return ["board", "phase", "outlet", "load", "setup"].map(part).filter(Boolean).join(" · ");
}

const against = ({ value, limit, unit }) => {
  if (typeof value !== "number") return null;
  const digits = Math.abs(value) < 10 ? 2 : 1;
  return typeof limit === "number"
    ? t("finding.against", { value: figure(value, digits), limit: figure(limit, Math.abs(limit) < 10 ? 2 : 1), unit })
    : t("finding.value", { value: figure(value, digits), unit });
};

/** Emits "finding" with the finding when its place is asked for, "mend" when its remedy is taken. */
class Findings extends HTMLElement {
  /**
   * `findings` as answered; `first` shows only the first thing to do; `mendable(finding)` says
   * whether a remedy can be entered, `named(id)` what a load is called.
   */
  show({ findings, first = false, mendable = () => false, named }) {
    Object.assign(this, { mendable, named });
    this.classList.add("findings");
    const sorted = bySeverity(findings);
    const shown = first ? sorted.filter((f) => f.severity !== "note").slice(0, 1) : sorted;
    this.hidden = !shown.length;
    redraw(this, h("ol", {}, shown.map((finding, index) => this.#card(finding, `${first ? "first" : "finding"}:${index}`, first))));
  }

  #card(finding, key, first) {
    const place = placeWords(finding.where, this.named);
    return h("li", { class: "finding", "data-severity": finding.severity },
      h("p", { class: "finding-head" },
        h("span", { class: "tag", "data-severity": finding.severity }, t(`severity.${finding.severity}`)),
        place ? h("span", { class: "place" }, place) : null),
      h("p", { class: "message" }, finding.message),
      finding.remedy ? h("p", { class: "remedy" }, h("b", {}, t("finding.do")), " ", finding.remedy) : null,
      first ? null : h("p", { class: "aside" },
        [against(finding), finding.basis ? t("finding.basis", { basis: finding.basis }) : null].filter(Boolean).join(" · ")),
      h("div", { class: "finding-keys" },
        h("button", {
          type: "button", class: "show", "data-key": key,
          "aria-label": t("finding.show", { place: place || t("where.supply") }),
          on: { click: () => tell(this, "finding", finding) },
        }, t("finding.show.short")),
        this.mendable(finding) ? h("button", {
          type: "button", class: "key-text mend", "data-key": `${key}:mend`, "aria-label": t("finding.mend.for", { remedy: finding.remedy }),
          on: { click: () => tell(this, "mend", finding) },
        }, t("finding.mend")) : null));
  }
}

customElements.define("eb-findings", Findings);
