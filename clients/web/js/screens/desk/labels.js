// Labels with QR codes for chosen pieces, as a PDF sheet.

import * as desk from "../../desk.js";
import { h, redraw } from "../../dom.js";
import { deskForm } from "../../parts/desk-form.js";
import { openSheet } from "../../parts/sheet.js";
import { likelyRegion } from "../../reference.js";
import { t } from "../../text.js";

/** Ask for the paper and make the sheet. */
export function labelsSheet(tags) {
  let url = null;
  const made = h("div", { role: "status" });
  openSheet(t("labels.title"), () => h("div", { class: "form" },
    h("p", {}, t("labels.for", { n: tags.length, tags: tags.slice(0, 8).join(", ") + (tags.length > 8 ? " …" : "") })),
    deskForm({
      id: "labels", words: "labels.sheet", values: { paper: likelyRegion() === "us" ? "letter" : "a4" },
      fields: [
        { name: "paper", label: t("report.paper"), kind: "choice", options: [["a4", t("labels.a4")], ["letter", t("labels.letter")]] },
        { name: "skip", label: t("labels.skip"), kind: "number", hint: t("labels.skip.hint") },
      ],
      async send(body) {
        const sheet = await desk.labels({ tags, ...body });
        if (url) URL.revokeObjectURL(url);
        url = URL.createObjectURL(sheet);
        redraw(made, h("a", { class: "main-key", href: url, download: "labels.pdf", "data-key": "labels:save" }, t("labels.save")));
        made.querySelector("a").focus();
      },
    }), made), () => { if (url) URL.revokeObjectURL(url); });
}
