// Figures into words. Nothing here computes: it rounds for the eye and names the unit.

import { locale } from "./language.js";
import { t } from "./text.js";

const formatters = new Map();

function number(value, digits) {
  if (!formatters.has(digits)) {
    formatters.set(digits, new Intl.NumberFormat(locale(), {
      minimumFractionDigits: digits, maximumFractionDigits: digits,
    }));
  }
  return formatters.get(digits).format(value);
}

const known = (value) => typeof value === "number" && Number.isFinite(value);

/** A figure with so many decimals, a dash when the service gave none. */
export const figure = (value, digits = 0) => (known(value) ? number(value, digits) : t("none"));

/** Amps as a clamp meter shows them: tenths, below one amp hundredths. */
export const amps = (value) => figure(value, known(value) && Math.abs(value) < 1 && value !== 0 ? 2 : 1);

/** As many decimals as the figure has, four at most: for figures a person typed or a plate says. */
export function plain(value) {
  return known(value) ? new Intl.NumberFormat(locale(), { maximumFractionDigits: 4 }).format(value) : t("none");
}

const separators = () => {
  const parts = new Intl.NumberFormat(locale(), { useGrouping: true }).formatToParts(12_345.6);
  const of = (type) => parts.find((part) => part.type === type)?.value;
  return { point: of("decimal"), group: of("group") };
};

/** A figure as one would type it into a field: the reader's decimal mark, thousands together. */
export const forField = (value) => (value === undefined || value === null ? "" : String(value).replace(".", separators().point));

export const percent = (value) => figure(value, known(value) && Math.abs(value) < 10 ? 1 : 0);

/** "220–240 V", or "230 V" where both ends are one. */
export const range = ([low, high]) => (low === high ? plain(low) : `${plain(low)}–${plain(high)}`);

/** How long ago, coarse enough not to flicker. */
export function age(then, now = Date.now()) {
  const seconds = Math.max(0, Math.round((now - then) / 1000));
  if (seconds < 5) return t("age.now");
  if (seconds < 60) return t("age.seconds", { n: seconds - (seconds % 5) });
  if (seconds < 3600) return t("age.minutes", { n: Math.floor(seconds / 60) });
  if (seconds < 86_400) return t("age.hours", { n: Math.floor(seconds / 3600) });
  return t("age.days", { n: Math.floor(seconds / 86_400) });
}

// Days as they are written where the phone is at home, as long as that is in the client's language.
const dayForm = new Intl.DateTimeFormat(locale(), { day: "numeric", month: "short", year: "numeric" });
const momentForm = new Intl.DateTimeFormat(locale(), {
  day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit", hour12: false,
});

/** A day as the service writes it, "2026-11-25", in words; a dash for none. */
export const dayWords = (iso) => (iso ? dayForm.format(new Date(`${iso}T12:00`)) : t("none"));

/** A moment as the service writes it, in words and by the phone's own clock zone. */
export const momentWords = (iso) => (iso ? momentForm.format(new Date(iso)) : t("none"));

/** Today here, as the service writes a day. */
export function todayHere() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}

/**
 * What a person typed into a number field: a number, null for nothing, NaN for no number. Comma and
 * point both stand for the decimal mark, except where the reader may mean thousands by it ("1.200" in
 * German, "1,200" in English): that could be a thousand times too much, so it is not taken.
 */
export function typedNumber(text) {
  let tidy = text.trim().replace(/[\s’']+/g, "");
  if (tidy === "") return null;
  const { group } = separators();
  const [first, second] = [...tidy].filter((sign) => sign === "." || sign === ",");
  // "1.234,5" can be read in one way only.
  if (first === group && second && second !== first && /^[+-]?[1-9]\d{0,2}[.,]\d{3}[.,]\d+$/.test(tidy)) tidy = tidy.replace(first, "");
  else if (first === group && /^[+-]?[1-9]\d{0,2}([.,]\d{3})+$/.test(tidy)) return NaN;
  tidy = tidy.replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(tidy) ? Number(tidy) : NaN;
}

/** An outlet as one would call it: "L3 top" for "l3-top", as the service's findings do. */
export function outletName(id) {
  const [, line, rest] = /^l([123])[-_ ]?(.*)$/i.exec(id) ?? [];
  return line ? `L${line} ${rest.replace(/[-_]/g, " ")}`.trim() : id;
}
