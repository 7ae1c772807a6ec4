// Photos of a piece: taken with the phone's camera, sent at once, and those that did not go through kept.

import * as desk from "../../desk.js";
import { button, freshId, h, redraw } from "../../dom.js";
import { momentWords } from "../../format.js";
import { problemNote } from "../../parts/desk-form.js";
import { openSheet } from "../../parts/sheet.js";
import { t } from "../../text.js";
import { smaller } from "./tagfield.js";

/** A field for deskForm that gives the ids of the photos taken; `tag` is the piece's. */
export const photoField = (tag) => (spec) => {
  const id = freshId("photos");
  const shots = [];
  const row = h("ul", { class: "shots" });
  const choose = h("input", { type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment", multiple: true, "data-key": spec.id, "aria-describedby": id, on: { change: () => {
    for (const file of choose.files) take(file);
    choose.value = "";
  } } });

  function take(file) {
    const shot = { file, key: desk.freshKey(), url: URL.createObjectURL(file), id: null, trouble: null, sending: null };
    shots.push(shot);
    send(shot);
  }

  function send(shot) {
    shot.trouble = null;
    shot.sending = (async () => {
      try {
        shot.small ??= await smaller(shot.file);
        shot.id = (await desk.addPhoto(tag, shot.small, shot.key)).id;
      } catch (error) { shot.trouble = problemNote("span", { class: "fault" }, error); }
      shot.sending = null;
      draw();
    })();
    draw();
  }

  const drop = (shot) => { URL.revokeObjectURL(shot.url); shots.splice(shots.indexOf(shot), 1); draw(); };

  function draw() {
    redraw(row, shots.map((shot, n) => h("li", { "aria-busy": shot.sending ? "true" : null },
      h("img", { src: shot.url, alt: t("photo.taken", { n: n + 1 }) }),
      shot.trouble ?? h("span", { class: "aside" }, t(shot.id ? "photo.kept" : "photo.sending")),
      shot.trouble ? button(t("trouble.again"), () => send(shot), { class: "key-text", key: `shot:${n}` }) : null,
      shot.sending ? null : button(t("photo.drop"), () => drop(shot), { class: "quiet", key: `drop:${n}`, label: t("photo.drop.n", { n: n + 1 }) }))));
  }

  const node = h("div", { class: "field", "data-path": "/photos" },
    h("span", { class: "label", id: `${id}-label` }, spec.label),
    h("label", { class: "file" }, h("span", {}, t("photo.take")), choose),
    row, h("p", { class: "fault", id, hidden: true }));
  return {
    node, control: node,
    // One that is still under way, or did not go through, is not left out in silence.
    read() {
      if (shots.some((shot) => !shot.id)) return undefined;
      return shots.length ? shots.map((shot) => shot.id) : undefined;
    },
    settled: async () => { await Promise.all(shots.map((shot) => shot.sending)); return shots.every((shot) => shot.id); },
  };
};

/** Photos as small pictures that open large; `signal` ends what they hold. */
export function photoRow(tag, photos, signal) {
  const row = h("ul", { class: "shots" });
  for (const [n, each] of photos.entries()) {
    const words = t("photo.of", { tag, n: n + 1, when: each.at ? momentWords(each.at) : "" });
    const image = h("img", { alt: words });
    const show = () => openSheet(t("photo.title", { tag }), () => h("figure", { class: "photo" }, h("img", { src: image.src, alt: words }),
      each.by ? h("figcaption", {}, t("report.by", { name: each.by, when: momentWords(each.at) })) : null));
    row.append(h("li", {}, button([image], show, { class: "shot", label: words })));
    desk.photo(tag, each.id).then((picture) => {
      if (signal.aborted) return;
      const url = URL.createObjectURL(picture);
      signal.addEventListener("abort", () => URL.revokeObjectURL(url));
      image.src = url;
    }, () => { image.closest("li").replaceChildren(h("p", { class: "aside" }, t("photo.away"))); });
  }
  return row;
}
