// What the service found, the worst first, each with what to do and a way to its place.

import { button, h, redraw, tell } from "../dom.js";
import { figure, outletName } from "../format.js";
import { englishNote, quoted } from "./service.js";
import { t } from "../text.js";
import { bySeverity } from "./severity.js";

/** A finding's place in words: board, phase, outlet, lamp, set-up, as far as it has them. */
export function placeWords(where, named = (id) => id) {
  const said = { outlet: outletName, load: named };
  const part = (name) =>
    (where?.[name] ? t(`where.${name}`, { name: (said[name] ?? String)(where[name]) }) : null);
  return ["board", "phase", "outlet", "load", "setup"].map(part).filter(Boolean).join(" · ");
}

const rounded = (value) => figure(value, Math.abs(value) < 10 ? 2 : 1);

function against({ value, limit, unit }) {
  if (typeof value !== "number") return null;
  return typeof limit === "number" ? t("finding.against", { value: rounded(value), limit: rounded(limit), unit })
    : t("finding.value", { value: rounded(value), unit });
}

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
    const key = first ? "first" : "finding";
    redraw(this, englishNote(shown.length), h("ol", {}, shown.map((finding, index) => this.#card(finding, `${key}:${index}`, first))));
  }

  #card(finding, key, first) {
    const { severity, where, message, remedy, basis } = finding;
    const place = placeWords(where, this.named);
    const grounds = first ? [] : [against(finding), basis ? [t("finding.basis"), " ", quoted("span", {}, basis)] : null].filter(Boolean);
    return h("li", { class: "finding", "data-severity": severity },
      h("p", { class: "finding-head" },
        h("span", { class: "tag", "data-severity": severity }, t(`severity.${severity}`)),
        place ? h("span", { class: "place" }, place) : null),
      quoted("p", { class: "message" }, message),
      remedy ? h("p", { class: "remedy" }, h("b", {}, t("finding.do")), " ", quoted("span", {}, remedy)) : null,
      grounds.length ? h("p", { class: "aside" }, grounds.map((each, index) => [index ? " · " : "", each])) : null,
      h("div", { class: "finding-keys" },
        button(t("finding.show.short"), () => tell(this, "finding", finding),
          { class: "show", key, label: t("finding.show", { place: place || t("where.supply") }) }),
        this.mendable(finding) ? button(t("finding.mend"), () => tell(this, "mend", finding),
          { class: "key-text mend", key: `${key}:mend`, label: t("finding.mend.for", { remedy }) }) : null));
  }
}

customElements.define("eb-findings", Findings);
