// The service's own words: in English whatever the reader speaks, marked so that a screen reader says
// them as that.

import { h } from "../dom.js";
import { ofService } from "../language.js";
import { t } from "../text.js";

/** An element that holds words of the service. */
export const quoted = (tag, properties, ...words) => h(tag, { ...properties, lang: ofService() }, ...words);

/** One line that says so, where there are such words; nothing where the reader speaks English. */
export const englishNote = (some = true) => (some && ofService() ? h("p", { class: "aside english" }, t("service.english")) : null);
