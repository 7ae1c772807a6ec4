// What was done and not sent: a sheet with each thing, how old it is, and for what the service
// refused the ways on from there.

import { secondsSince } from "../clock.js";
import { button, h, redraw } from "../dom.js";
import { age } from "../format.js";
import { discard, flush, retry, subscribe } from "../outbox.js";
import { openSheet } from "../parts/sheet.js";
import { ofService } from "../language.js";
import { t } from "../text.js";
import { openClash } from "./clash.js";

/** How long ago something was done, in words. */
const doneAge = (entry) => age(Date.now() - secondsSince(entry.done) * 1000);

/** What it is: the person's own words for it, else its kind. */
const nameOf = (entry) => entry.words || t(`unsent.kind.${entry.kind}`, {}, t("unsent.kind"));

/** Open the sheet. It follows what happens while it is open. */
export function openUnsent() {
  const list = h("div", { class: "unsent" });
  const end = subscribe((now) => draw(list, now));
  openSheet(t("unsent.title"), () => list, end);
}

function draw(list, { entries, waiting, sending, trouble }) {
  redraw(list,
    entries.length ? null : h("p", {}, t("unsent.none")),
    waiting ? h("p", { role: "status" }, t(lineWords({ sending, trouble }))) : null,
    waiting ? button(t("unsent.now"), () => flush(), { class: "key-text", key: "unsent-now" }) : null,
    h("ol", { class: "unsent-list" }, entries.map((entry) => h("li", { "data-state": entry.state },
      h("p", { class: "unsent-what" }, nameOf(entry)),
      h("p", { class: "aside" }, t("unsent.done", { age: doneAge(entry) })),
      entry.state === "refused" ? refusal(entry) : null))));
}

/** Why it waits. */
export function lineWords({ sending, trouble }) {
  if (trouble?.kind === "offline") return "unsent.no-line";
  if (trouble) return "unsent.broken";
  return sending ? "unsent.sending" : "unsent.no-line";
}

function refusal(entry) {
  const { problem } = entry;
  const said = problem.kind === "old" ? [t("unsent.old")]
    : problem.status === 401 || problem.status === 403 ? [t("unsent.link")]
      : problem.errors.length ? problem.errors.map((each) => each.detail)
        : [problem.detail || problem.title];
  const own = problem.kind === "old" || problem.status === 401 || problem.status === 403;
  const others = problem.conflicts.flatMap(({ theirs }) =>
    (theirs ? [`${t("unsent.by", { by: theirs.by, age: age(Date.parse(theirs.at)) })}: ${theirs.words.join(" ")}`] : []));
  return [
    [...new Set(said)].map((words) => h("p", { class: "fault", lang: own ? null : ofService() }, words)),
    [...new Set(others)].map((words) => h("p", {}, words)),
    h("div", { class: "keys" },
      problem.conflicts.length ? button(t("unsent.choose"), () => {
        document.querySelector("dialog[open]")?.close();
        openClash(entry);
      }, { class: "main-key", key: `choose:${entry.id}` }) : null,
      button(t("unsent.again"), () => retry(entry.id), { class: "key-text", key: `again:${entry.id}` }),
      button(t("unsent.give-up"), () => discard(entry.id), { class: "key-text", key: `give-up:${entry.id}` })),
  ];
}
