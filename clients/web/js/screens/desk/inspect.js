// Looking a piece over, on its return or at any time: what was found, a photo of it, a note.

import * as desk from "../../desk.js";
import { deskForm } from "../../parts/desk-form.js";
import { t } from "../../text.js";
import { photoField } from "./photofield.js";
import { FOUND } from "./pieces.js";

/** The form; `returned` says it has come home, `send` may stand in for how it is sent. */
export function inspectForm(piece, { returned = false, done, leave = null, send = null }) {
  let shots = null;
  const deliver = send ?? ((body, key) => desk.happen(piece.tag, "inspections", body, key));
  return deskForm({
    id: "inspect", words: returned ? "inspect.return" : "inspect.enter", leave,
    fields: [
      { name: "found", label: t("inspect.found"), kind: "ticks", alone: "fine", needed: true, missing: "inspect.found.missing",
        options: [["fine", t("found.fine")], ...FOUND.map((code) => [code, t(`found.${code}`)])] },
      { name: "photos", label: t("inspect.photos"), kind: (spec) => { shots = photoField(piece.tag)(spec); return shots; } },
      { name: "note", label: t("desk.note"), kind: "note" },
    ],
    async send(body, key) {
      if (!await shots.settled()) {
        const detail = t("photo.unsent");
        throw Object.assign(new Error(detail), { kind: "refused", own: true, reasons: [], errors: [{ pointer: "/photos", detail }] });
      }
      const photos = shots.read();
      done(await deliver({ ...body, ...(photos ? { photos } : {}), ...(returned ? { returned: true } : {}) }, key));
    },
  });
}
