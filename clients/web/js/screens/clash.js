// Two people changed the same: a person chooses, and nothing is lost until then.

import { deedsWords, eventWords, placeWords } from "../deeds.js";
import { button, h } from "../dom.js";
import { age } from "../format.js";
import { label, load } from "../layout.js";
import { openSheet } from "../parts/sheet.js";
import { shared } from "../together.js";
import { ofService } from "../language.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** Open the choice over a change that the service refused. `look` shows the board first. */
export function openClash(entry, { look = () => { location.hash = "#/board"; } } = {}) {
  const { problem, body } = entry;
  const conflicts = problem?.conflicts ?? [];
  const theirs = conflicts.map((each) => each.theirs).find(Boolean);
  const known = { ...worksheet.layout, loads: [...worksheet.layout.loads, ...(entry.about?.loads ?? [])] };
  const title = conflicts.length ? t("clash.title") : t("clash.refused");
  openSheet(title, (close) => {
    const choose = (mine) => () => { close(); shared.decide(entry.id, mine); };
    return h("div", { class: "form" },
      h("p", {}, conflicts.length
        ? t(theirs ? "clash.words" : "clash.words.nobody", { name: theirs?.by })
        : problem?.kind === "old" ? t("clash.old") : h("span", { class: "trouble", lang: ofService() }, said(problem))),
      h("dl", { class: "facts" },
        h("dt", {}, t("clash.yours")), h("dd", {}, deedsWords(body.changes, known, 6)),
        theirs ? [
          h("dt", {}, t("clash.theirs", { name: theirs.by, age: age(Date.parse(theirs.done_at)) })),
          h("dd", {}, theirWords(theirs, known)),
        ] : null,
        conflicts.length ? [
          h("dt", {}, t("clash.now")),
          conflicts.map((each) => h("dd", {}, nowWords(each, known))),
        ] : null),
      button(t(conflicts.length ? "clash.keep" : "clash.refused.keep"), choose(false), { class: "wide-key", key: "clash-keep" }),
      button([t(conflicts.length ? "clash.mine" : "clash.refused.again")], choose(true), { class: "wide-key", key: "clash-mine" }),
      conflicts.length ? h("p", { class: "hint" }, t("clash.mine.words")) : null,
      button(t("clash.look"), () => { close(); look(entry); }, { class: "wide-key", key: "clash-look" }));
  }, () => {}, "later");
}

const said = (problem) =>
  problem?.errors?.map((each) => each.detail).join(" ") || problem?.detail || t(`trouble.${problem?.kind ?? "broken"}`);

function theirWords({ version, words }, layout) {
  const event = shared.events.find((each) => each.version === version);
  return event ? eventWords(event, layout) : words.join(" ");
}

/** What is there now, in the reader's words where it is a place; else as the service says it. */
function nowWords({ yours, now, detail }, layout) {
  const l = yours?.load ? load(layout, yours.load) : null;
  if (l && ["plug", "move", "unplug", "swap"].includes(yours.op)) {
    const other = now?.load ? load(layout, now.load) : null;
    if (now?.load) return `${placeWords(yours.to, layout)}: ${other ? label(other) : now.load}`;
    if (now === null || now?.outlet) return `${label(l)}: ${placeWords(now, layout)}`;
  }
  return detail;
}
