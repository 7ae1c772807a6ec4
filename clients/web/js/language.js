// Which language the reader has: chosen by hand, else the phone's, else English.

const KEY = "evenboard-language";

/** Each language by its own name. */
export const languages = { en: "English", de: "Deutsch" };

const base = (tag) => tag.toLowerCase().split("-")[0];
const ofPhone = [...(globalThis.navigator?.languages ?? [])];

function wanted() {
  let kept = null;
  try { kept = localStorage.getItem(KEY); } catch { /* a private window */ }
  return Object.hasOwn(languages, kept ?? "") ? kept
    : ofPhone.map(base).find((tag) => Object.hasOwn(languages, tag)) ?? "en";
}

/** The language spoken here. */
export let language = wanted();

/** The same as it is written where the phone is at home: figures and days differ between countries. */
export const locale = () => ofPhone.find((tag) => base(tag) === language) ?? language;

/** What an element that holds the service's own words says of their language; null where that goes without saying. */
export const ofService = () => (language === "en" ? null : "en");

/** The language after this one, and its own name, for a key that goes round. */
export function next() {
  const all = Object.keys(languages);
  const tag = all[(all.indexOf(language) + 1) % all.length];
  return { tag, name: languages[tag] };
}

/** Speak another language from the next page on. */
export function keepLanguage(tag) {
  try { localStorage.setItem(KEY, tag); } catch { /* then the phone's own decides */ }
}

/**
 * The catalogue of the language, from the file that `files` has for it; null for English. Without a
 * line for the first time there are no such words yet: English is spoken until the next page.
 */
export async function translated(files) {
  try {
    return (await files[language]?.())?.words ?? null;
  } catch {
    language = "en";
    return null;
  }
}
