// Two desks changed the same: what each did, field by field, and a person chooses. Nothing is lost until then.

import { button, freshId, h } from "../../dom.js";
import { age } from "../../format.js";
import { tellProblem } from "../../parts/desk-form.js";
import { t } from "../../text.js";

/**
 * The choice over a thing that was changed elsewhere. `base` is what was read first, `mine` what was typed
 * here, `theirs` what is there now, each a plain object over `names`. `save(values)` keeps the choice,
 * `leave()` takes theirs as it is, `back()` goes on typing.
 */
export function clashBox({ title, by, at, names, label, shown, base, mine, theirs, save, leave, back }) {
  const differing = names.filter((name) => mine[name] !== theirs[name]);
  // Where only one of the two changed a field, theirs or mine is plain; both is for the person to say.
  const chosen = Object.fromEntries(names.map((name) => [name, mine[name] !== base[name] ? mine[name] : theirs[name]]));
  const both = differing.filter((name) => mine[name] !== base[name] && theirs[name] !== base[name]);
  const fault = h("p", { class: "fault", role: "alert", hidden: true });

  const way = (name, whose, value) => {
    const id = freshId("way");
    return h("label", { class: "tick", for: id },
      h("input", { type: "radio", id, name: `clash-${name}`, checked: chosen[name] === value, "data-key": `clash:${name}:${whose}`,
        on: { change: () => { chosen[name] = value; } } }),
      h("span", {}, h("b", {}, whose === "mine" ? t("clash.yours.now") : t("clash.theirs.now", { name: by })), " ", shown(name, value)));
  };

  async function keep(event) {
    event.preventDefault();
    fault.hidden = true;
    try {
      await save(chosen);
    } catch (error) {
      tellProblem(fault, error);
    }
  }

  return h("form", { class: "form clash", on: { submit: keep } },
    h("h2", { tabindex: "-1" }, title),
    h("p", {}, t("clash.by", { name: by, age: age(Date.parse(at)) }), " ",
      t(differing.length === 0 ? "clash.same" : both.length ? "clash.choose" : "clash.apart")),
    differing.map((name) => h("fieldset", { class: "clash-field" },
      h("legend", { class: "label" }, label(name)),
      way(name, "theirs", theirs[name]), way(name, "mine", mine[name]))),
    fault,
    h("div", { class: "keys" },
      differing.length ? h("button", { type: "submit", class: "main-key", "data-key": "clash:save" }, t("clash.save")) : null,
      button(t("clash.leave"), leave, { class: "key-text", key: "clash:leave" }),
      differing.length ? button(t("clash.back"), back, { class: "key-text", key: "clash:back" }) : null));
}
