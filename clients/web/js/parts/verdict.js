// Whether it holds, in words that can be read across a truck, and how old the answer is.

import { button, h, redraw, tell } from "../dom.js";
import { age } from "../format.js";
import { quoted } from "./service.js";
import { t } from "../text.js";

/** Emits "check" when the crew asks again. */
class Verdict extends HTMLElement {
  #clock = null;
  #told = () => "";

  connectedCallback() {
    this.#clock = setInterval(() => {
      const age = this.querySelector(".age");
      if (age) age.textContent = this.#told();
    }, 5000);
  }

  disconnectedCallback() {
    clearInterval(this.#clock);
  }

  /** `answer` or null, `answeredAt`, `state`, `problem`, `fresh`, how many `loose` lamps are left out, and over how many `setups` it is. */
  show({ answer, answeredAt, state, problem, fresh, loose, setups = 0 }) {
    this.classList.add("verdict");
    this.dataset.verdict = answer && fresh ? answer.verdict : "unknown";
    const old = answer && !fresh;
    this.#told = () => (state === "working" ? t("verdict.working")
      : answer ? t(old ? "verdict.age.old" : "verdict.age", { age: age(answeredAt) }) : "");
    redraw(this,
      h("p", { class: "verdict-word" }, this.#word(answer, fresh, state)),
      answer && fresh ? h("p", {}, counts(answer.findings)) : null,
      answer && fresh && setups > 1 ? h("p", { class: "aside" }, t("verdict.all")) : null,
      old && state !== "working" ? h("p", {}, t("verdict.was", { word: t(`verdict.${answer.verdict}`) })) : null,
      problem ? this.#trouble(problem) : null,
      loose ? h("p", {}, t("verdict.loose", { n: loose })) : null,
      h("div", { class: "verdict-foot" },
        h("p", { class: "age" }, this.#told()),
        button(t("verdict.check"), () => tell(this, "check"), { class: "quiet", key: "check" })));
  }

  #word(answer, fresh, state) {
    if (answer && fresh) return t(`verdict.${answer.verdict}`);
    return t(state === "working" ? "verdict.unknown.working" : "verdict.unknown");
  }

  #trouble(problem) {
    const what = problem.kind === "refused" && problem.errors.length
      ? t("trouble.refused", { n: problem.errors.length })
      : problem.kind === "refused" ? problem.detail || problem.title || t("trouble.broken")
        : t(`trouble.${problem.kind}`);
    const own = problem.kind !== "refused" || problem.errors.length || !(problem.detail || problem.title);
    return own ? h("p", { class: "trouble" }, what) : quoted("p", { class: "trouble" }, what);
  }
}

function counts(findings) {
  const said = ["fail", "caution", "note"]
    .map((severity) => [severity, findings.filter((f) => f.severity === severity).length])
    .filter(([, n]) => n)
    .map(([severity, n]) => t(`verdict.count.${severity}`, { n }));
  return said.length ? said.join(" · ") : t("verdict.count.none");
}

/** One sentence for a screen reader when an answer comes. */
export const spoken = (answer) => `${t(`verdict.${answer.verdict}`)}. ${counts(answer.findings)}.`;

customElements.define("eb-verdict", Verdict);
