// How bad a thing is, in a word; the colour only repeats it.

import { h } from "../dom.js";
import { t } from "../text.js";

const ORDER = ["fail", "caution", "note"];

/** The worst severity of findings, or null. */
export const worst = (findings) =>
  ORDER.find((severity) => findings.some((finding) => finding.severity === severity)) ?? null;

export const bySeverity = (findings) =>
  ORDER.flatMap((severity) => findings.filter((finding) => finding.severity === severity));

/** The word on its own colour. Notes are not marked on the drawing: they would drown the rest. */
export const tag = (severity) =>
  (severity === "fail" || severity === "caution"
    ? h("span", { class: "tag", "data-severity": severity }, t(`severity.${severity}`)) : null);
