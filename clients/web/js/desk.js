// What the rental desk asks of the service, with its key. It knows no page, as api.js knows none.

import { ask } from "./api.js";
import { deskKey } from "./key.js";

/** Typesetting a report of a large board, or a photo over a thin line, takes longer than a look. */
const LONG_MS = 90_000;
export const PDF = "application/pdf";
const CSV = "text/csv";

/** A path of parts that may hold anything, slashes too. */
const at = (...parts) => parts.map(encodeURIComponent).join("/");
const asked = async (path, options = {}) => ask(path, { secret: await deskKey(), ...options });
const data = async (path, options) => (await asked(path, options)).data;
const post = (path, body, key, options) => data(path, { method: "POST", body, key, ...options });

/** A key that makes a second try of the same known. */
export const freshKey = () => [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");

/** Who a key is: `{role, name}`. */
export const whoIs = (key) => data("whoami", { secret: key });

// Orders. Those that are changed are read with their `etag`.
export const orders = (query, signal) => data("orders", { query, signal });
export const order = (ref) => asked(at("orders", ref));
export const putOrder = (ref, body, ifMatch) => asked(at("orders", ref), { method: "PUT", body, ifMatch });
export const reports = (ref, query) => data(`${at("orders", ref)}/reports`, { query: { limit: 100, ...query } });
export const issue = (ref, body, key) => post(`${at("orders", ref)}/reports`, body, key, { patience: LONG_MS });
export const layouts = (ref) => data("layouts", { query: { order_ref: ref, limit: 100 } });
export const saveLayout = (body, key) => post("layouts", body, key);
export const crewLinks = (ref) => data(`${at("orders", ref)}/links`);
export const makeCrewLink = (ref, body, key) => post(`${at("orders", ref)}/links`, body, key);
export const endLink = (id) => data(at("links", id), { method: "DELETE" });

// Equipment.
export const pieces = (query, signal) => data("equipment", { query, signal });
export const duePieces = (query) => data("equipment-due", { query });
export const unevenPieces = (query) => data("equipment-uneven", { query });
export const piece = (tag) => asked(at("equipment", tag));
export const addPiece = (body, key) => post("equipment", body, key);
export const putPiece = (tag, body, ifMatch) => asked(at("equipment", tag), { method: "PUT", body, ifMatch });
export const retirePiece = (tag, ifMatch) => asked(at("equipment", tag), { method: "DELETE", ifMatch });
export const history = (tag) => data(`${at("equipment", tag)}/history`);

/** Let something happen to a piece: `what` is "check-outs", "inspections", "tests" and so on. */
export const happen = (tag, what, body, key, ifMatch) => post(`${at("equipment", tag)}/${what}`, body, key, { ifMatch });

export const photos = (tag) => data(`${at("equipment", tag)}/photos`);
export const addPhoto = (tag, file, key) =>
  post(`${at("equipment", tag)}/photos`, undefined, key, { file, type: file.type, patience: LONG_MS });
export const photo = (tag, id) => data(`${at("equipment", tag)}/photos/${encodeURIComponent(id)}`, { form: "image/jpeg" });

// Lists and labels.
export const labels = (body) => post("equipment-labels", body, null, { form: PDF, patience: LONG_MS });
export const exported = (query = {}) => data("equipment", { query, form: CSV, patience: LONG_MS });
/** Try a CSV file (`dry`), or take it in. */
export const imported = (text, { dry, key } = {}) =>
  post("equipment-imports", undefined, key, { query: { dry_run: dry ? "1" : null }, file: text, type: CSV, patience: LONG_MS });
