// A number with a large minus and plus, for gloves. It can be typed over as well.

import { button, freshId, h } from "../dom.js";
import { forField, plain, typedNumber } from "../format.js";
import { t } from "../text.js";

class Stepper extends HTMLElement {
  /** Draw once; `change` gets each new number, which `low` and `high` bound. */
  show({ label, value, change, low = 1, high = 99, step = 1, unit = "", path = null }) {
    const id = freshId("step");
    const field = h("input", {
      id, class: "figure", type: "text", inputmode: "decimal", autocomplete: "off", value: forField(value),
      "data-path": path, "data-key": `${label}-field`, on: { change: () => this.#typed(field.value) },
    });
    Object.assign(this, { field, low, high, value, change });
    const key = (by, name, sign) => button(sign, () => this.#set(Math.round((this.value + by) * 1000) / 1000),
      { class: "key", key: `${label}-${name}`, label: t(name, { label, n: plain(step) }) });
    this.classList.add("stepper");
    this.replaceChildren(
      h("label", { for: id, class: "label" }, label),
      h("span", { class: "stepper-keys" },
        key(-step, "stepper.less", "−"),
        h("span", { class: "stepper-field" }, field, unit ? h("span", { class: "unit" }, unit) : null),
        key(step, "stepper.more", "+")),
      h("p", { class: "fault", id: `${id}-fault`, hidden: true }));
    return this;
  }

  #typed(text) {
    const number = typedNumber(text);
    const sound = number !== null && !Number.isNaN(number);
    const fault = this.querySelector(".fault");
    fault.hidden = sound;
    fault.textContent = sound ? "" : t("fault.number");
    this.field.toggleAttribute("data-unread", !sound);
    this.field.setAttribute("aria-invalid", String(!sound));
    if (sound) this.#set(number);
  }

  #set(number) {
    this.value = Math.min(this.high, Math.max(this.low, number));
    this.field.value = forField(this.value);
    this.field.removeAttribute("aria-invalid");
    this.field.removeAttribute("data-unread");
    this.querySelector(".fault").hidden = true;
    this.change(this.value);
  }
}

customElements.define("eb-stepper", Stepper);
export const stepper = (options) => document.createElement("eb-stepper").show(options);
