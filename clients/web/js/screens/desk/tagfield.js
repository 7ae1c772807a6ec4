// A tag, typed or read from its label by the camera where the browser can read codes. Where it cannot, the
// phone's own camera reads the label and opens the piece, since the code is an address; typing always works.

import { button, h } from "../../dom.js";
import { labelled, say } from "../../parts/field.js";
import { openSheet } from "../../parts/sheet.js";
import { t } from "../../text.js";

const EVERY_MS = 150;

/** The tag that a code says: a label's code is an address that ends in it; any other code is the tag itself. */
export function tagOf(code) {
  const [, tag] = /#\/equipment\/([^/?#]+)$/.exec(code.trim()) ?? [];
  try { return tag ? decodeURIComponent(tag) : code.trim(); } catch { return code.trim(); }
}

async function detector() {
  try {
    if (!navigator.mediaDevices?.getUserMedia || !(await globalThis.BarcodeDetector?.getSupportedFormats())?.includes("qr_code")) return null;
    return new BarcodeDetector({ formats: ["qr_code"] });
  } catch { return null; }
}

/** A field for deskForm: `spec.scanned(tag)` is called once a code was read. */
export function tagField(spec, value) {
  const input = h("input", { type: "text", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", maxlength: 64, value: value ?? "", "data-key": spec.id, enterkeyhint: "go" });
  const heard = h("p", { class: "hint", role: "status" });
  const node = labelled(spec.label, input, { path: `/${spec.name}`, hint: spec.hint });

  function take(code) {
    input.value = tagOf(code);
    say(input, null);
    heard.textContent = t("scan.read", { tag: input.value });
    input.focus();
    spec.scanned?.(input.value);
  }

  async function scan(sees) {
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
    } catch {
      heard.textContent = t("scan.no-camera");
      input.focus();
      return;
    }
    look(sees, stream, take);
  }

  detector().then((sees) => {
    if (sees) node.querySelector(".control").append(button(t("scan.scan"), () => scan(sees), { class: "key-text", key: `${spec.id}:scan`, label: t("scan.label") }));
    else if (matchMedia("(pointer: coarse)").matches) heard.textContent = t("scan.by-phone");
  });
  node.append(heard);
  return { node, control: input, read: () => input.value.trim() || undefined };
}

function look(sees, stream, take) {
  let over = false;
  const video = h("video", { class: "scan-view", playsinline: true, "aria-label": t("scan.view") });
  video.muted = true;
  video.srcObject = stream;
  const dialog = openSheet(t("scan.title"), () => h("div", { class: "form" }, video, h("p", {}, t("scan.words"))), () => {
    over = true;
    stream.getTracks().forEach((track) => track.stop());
  }, "desk.leave");
  (async () => {
    await video.play();
    while (!over) {
      const [code] = await sees.detect(video).catch(() => []);
      if (code?.rawValue) {
        dialog.close();
        take(code.rawValue);
        return;
      }
      await new Promise((resolve) => { setTimeout(resolve, EVERY_MS); });
    }
  })().catch(() => dialog.close());
}

const MOST_PX = 2048;

/** A photo no larger than the service keeps it, so that a thin line carries it; as it is where that fails. */
export async function smaller(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = MOST_PX / Math.max(picture.width, picture.height);
    if (scale >= 1) return file;
    const canvas = h("canvas", { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const made = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.88); });
    return made && made.size < file.size ? made : file;
  } catch { return file; }
}
