// Pass a board on: share, copy, save, open from a file or from text, and what lay on the table before.

import { button, h, redraw } from "../dom.js";
import { age } from "../format.js";
import { asLayout } from "../layout.js";
import { packed, unpacked } from "../link.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { caution } from "./cautions.js";
import { demoList } from "./demos.js";
import { shareSection } from "./share.js";

export async function handoverScreen() {
  const node = h("div", { class: "screen narrow" });
  const said = h("p", { class: "said", role: "status" });
  const pasted = h("textarea", {
    id: "pasted", rows: "4", spellcheck: "false", autocapitalize: "off", "data-key": "pasted",
    "aria-describedby": "pasted-fault",
  });
  const fault = h("p", { class: "fault", id: "pasted-fault", hidden: true });
  const tell = (key, values) => { said.textContent = t(key, values); };

  const text = () => JSON.stringify(worksheet.layout, null, 2);
  const fileName = () =>
    `${(worksheet.layout.name || "board").toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-")}.json`;

  async function share() {
    const file = new File([text()], fileName(), { type: "application/json" });
    const title = worksheet.layout.name || t("board.unnamed");
    try {
      if (navigator.canShare?.({ files: [file] })) await navigator.share({ title, files: [file] });
      else await navigator.share({ title, url: await packed(worksheet.layout) });
    } catch (error) {
      if (error.name !== "AbortError") tell("share.failed");
    }
  }

  // navigator.clipboard needs a secure context, which a phone on the set's own network may not have.
  async function copy(words, done) {
    try {
      await navigator.clipboard.writeText(words);
      tell(done);
    } catch {
      const field = h("textarea", { readonly: true, class: "heard" });
      field.value = words;
      document.body.append(field);
      field.select();
      const worked = document.execCommand("copy");
      field.remove();
      tell(worked ? done : "share.failed");
    }
  }

  function save() {
    const url = URL.createObjectURL(new Blob([text()], { type: "application/json" }));
    h("a", { href: url, download: fileName() }).click();
    setTimeout(() => URL.revokeObjectURL(url), 10_000);
    tell("share.saved", { name: fileName() });
  }

  function take(words) {
    let document = null;
    try {
      document = JSON.parse(words);
    } catch { /* said below */ }
    const layout = document && asLayout(document);
    fault.hidden = Boolean(layout);
    fault.textContent = layout ? "" : t(document ? "open.shape" : "open.json");
    pasted.setAttribute("aria-invalid", String(!layout));
    if (layout) open(layout);
    else pasted.focus();
  }

  function open(layout) {
    worksheet.open(layout);
    location.hash = "#/board";
  }

  const key = { class: "key-text" };
  const name = (layout) => layout.name || t("board.unnamed");

  const pass = () => h("section", {},
    h("h2", {}, t("pass.title", { name: name(worksheet.layout) })),
    h("p", { class: "aside" }, t("pass.words")),
    h("div", { class: "keys" },
      navigator.share ? button(t("share.share"), share, { class: "main-key" }) : null,
      button(t("share.link"), async () => copy(await packed(worksheet.layout), "share.link.done"), key),
      button(t("share.copy"), () => copy(text(), "share.copy.done"), key),
      button(t("share.save"), save, key)),
    worksheet.answer && worksheet.fresh ? caution(worksheet.answer) : null);

  const receive = () => h("section", {},
    h("h2", {}, t("open.title")),
    h("label", { class: "file" }, h("span", {}, t("open.file")), h("input", {
      type: "file", accept: ".json,application/json", "data-key": "file",
      on: { change: async ({ target }) => {
        const [chosen] = target.files;
        if (chosen) { pasted.value = await chosen.text(); take(pasted.value); }
        target.value = "";
      } },
    })),
    h("div", { class: "field" }, h("label", { for: "pasted", class: "label" }, t("open.paste")), pasted, fault),
    button(t("open.open"), () => take(pasted.value), key));

  const shelf = () => h("section", {},
    h("h2", {}, t("shelf.title")),
    worksheet.shelf.map(({ layout, at }) => button([
      h("b", {}, name(layout)),
      h("span", { class: "aside" }, ` · ${t("shelf.words", { n: layout.loads.length, age: age(at) })}`),
    ], () => open(layout), { class: "item" })));

  const together = shareSection({ copy, tell });
  redraw(node,
    h("h1", { tabindex: "-1" }, t("handover.title")),
    said,
    together.node,
    worksheet.layout ? pass() : null,
    receive(),
    worksheet.shelf.length ? shelf() : null,
    worksheet.layout ? h("section", {}, h("h2", {}, t("fresh.title")), button(t("fresh.start"), () => open(null), key)) : null,
    demoList());
  if (worksheet.badLink) tell("open.link");
  worksheet.badLink = false;
  return { title: t("handover.title"), node, close: () => together.close() };
}

/** Open the layout that a link carries; says whether there was one. */
export async function openLink(data) {
  const layout = asLayout(await unpacked(data).catch(() => null));
  if (layout) worksheet.open(layout);
  return Boolean(layout);
}
