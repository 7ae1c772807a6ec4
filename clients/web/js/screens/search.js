// Finding a lamp as one types: the field, the filters and the list. Used by the lamp list and by
// the sheet that fills an outlet.

import * as api from "../api.js";
import { findKept } from "../catalogue.js";
import { big, button, freshId, h, redraw, tell } from "../dom.js";
import { age, amps, forField, plain, range, typedNumber } from "../format.js";
import { quoted } from "../parts/service.js";
import { families, t } from "../text.js";

const SETTLE_MS = 180;
/** After so long without an answer the phone's own list is shown, until there is one. */
const SLOW_MS = 1000;
const PAGE = 30;

/** Everything. */
export const NO_QUERY = { q: "", family: "", size_class: "", max_current_a: null };

/** What was last asked for; kept while the page is open, so that coming back finds it again. */
const memory = { ...NO_QUERY };

/**
 * A search. `region` is the region's profile; `pick(fixture)` returns the href a row leads to, or
 * null when the row is a button that emits "pick" with the fixture.
 */
export function lampSearch({ region, voltage, href = null, query = memory }) {
  let timer = null;
  let flight = null;
  let shown = [];
  let cursor = null;

  const list = h("ul", { class: "lamps" });
  const status = h("p", { class: "search-status", role: "status" });
  const more = button(t("search.more"), () => ask(cursor), { class: "wide-key", hidden: true });
  const node = h("div", { class: "search" }, form(), status, list, more);

  function form() {
    const id = freshId("q");
    const fits = h("input", {
      id: `${id}-fits`, type: "text", inputmode: "decimal", class: "figure", autocomplete: "off",
      "data-key": "fits", value: forField(query.max_current_a),
      on: { input: () => {
        const number = typedNumber(fits.value);
        fits.setAttribute("aria-invalid", String(Number.isNaN(number)));
        if (!Number.isNaN(number)) change({ max_current_a: number });
      } },
    });
    const choice = (name, label, options) => h("label", { class: "filter" },
      h("span", { class: "label" }, label),
      h("select", {
        "data-key": name, value: query[name], on: { change: ({ target }) => change({ [name]: target.value }, 0) },
      },
        h("option", { value: "" }, t("search.any")),
        options.map(([value, words]) => h("option", { value }, words))));
    const submit = (event) => { event.preventDefault(); change({}, 0); };
    return h("form", { class: "search-form", role: "search", on: { submit } },
      h("label", { for: id, class: "label" }, t("search.label")),
      h("input", {
        id, type: "search", class: "search-field", autocomplete: "off", autocapitalize: "off", spellcheck: "false",
        enterkeyhint: "search", placeholder: t("search.example"), value: query.q, "data-key": "q",
        on: { input: (e) => change({ q: e.target.value }) },
      }),
      h("div", { class: "filters" },
        choice("family", t("search.family"), Object.entries(families)),
        choice("size_class", t("search.size"), ["large", "medium", "small"].map((s) => [s, t(`size.${s}`)])),
        h("label", { class: "filter", for: `${id}-fits` },
          h("span", { class: "label" }, t("search.fits")),
          h("span", { class: "control" }, fits, h("span", { class: "unit" }, "A")))));
  }

  function change(news, wait = SETTLE_MS) {
    Object.assign(query, news);
    node.setAttribute("aria-busy", "true");
    clearTimeout(timer);
    timer = setTimeout(() => ask(null), wait);
  }

  async function ask(from) {
    flight?.abort();
    const mine = (flight = new AbortController());
    node.setAttribute("aria-busy", "true");
    const slow = from ? null : setTimeout(() => showKept(mine), SLOW_MS);
    try {
      const page = await api.fixtures({
        ...query, region: region?.id, voltage_v: voltage, limit: PAGE, cursor: from,
      }, mine.signal);
      shown = from ? [...shown, ...page.items] : page.items;
      cursor = page.next_cursor;
      redraw(list, shown.map(row));
      status.textContent = shown.length ? "" : nothing();
      status.className = "search-status";
      more.hidden = !cursor;
    } catch (error) {
      if (error.name === "AbortError") return;
      if (error.kind !== "refused" && !from && await showKept(mine)) return;
      // The list that was there stays: an old list is better than none in a basement.
      status.textContent = error.kind === "refused"
        ? error.errors[0]?.detail || error.detail || error.title : t(`trouble.${error.kind}`);
      status.className = "search-status trouble";
    } finally {
      clearTimeout(slow);
    }
    node.removeAttribute("aria-busy");
  }

  /** The phone's own list, for where the service cannot be asked; false where there is none. */
  async function showKept(mine) {
    const found = await findKept(query, voltage);
    if (!found || mine !== flight || mine.signal.aborted) return Boolean(found);
    shown = found.items.slice(0, PAGE * 2);
    cursor = null;
    more.hidden = true;
    redraw(list, shown.map(row));
    status.textContent = t(shown.length ? "search.kept" : "search.kept.nothing", { age: age(found.at) });
    status.className = "search-status";
    node.removeAttribute("aria-busy");
    return true;
  }

  const nothing = () => (query.family || query.size_class || query.max_current_a !== null
    ? t("search.nothing.filtered") : t("search.nothing"));

  function row(fixture) {
    const inside = [
      quoted("span", { class: "lamp-name" }, fixture.name),
      h("span", { class: "lamp-amps" },
        h("span", { class: "big figure" }, big(amps(fixture.at_voltage?.current_a), "A"))),
      h("span", { class: "lamp-more" }, summary(fixture)),
      h("span", { class: "lamp-others" }, others(fixture)),
    ];
    const key = `lamp:${fixture.slug}`;
    return h("li", {}, href
      ? h("a", { class: "lamp", href: href(fixture), "data-key": key }, inside)
      : button(inside, () => tell(node, "pick", fixture), { class: "lamp", key }));
  }

  ask(null);
  return { node, close: () => { clearTimeout(timer); flight?.abort(); } };
}

/** Watts, power factor and whose word it is, in one line. */
export function summary(fixture) {
  return [
    t("watts", { n: plain(fixture.power_w) }),
    t("search.pf", { n: plain(fixture.power_factor) }),
    t(`basis.${fixture.basis?.kind ?? "estimate"}`),
  ].join(" · ");
}

/** The only voltage a lamp is made for, or null where it works in both halves of the world. */
export const only = (fixture) => {
  const made = fixture.input_ranges_v;
  const both = made.some(([low]) => low <= 130) && made.some(([, high]) => high >= 200);
  return both ? null : made.map(range).join(t("or"));
};

/** The same lamp at the other usual voltages; a lamp for one voltage only says so. */
export function others(fixture) {
  const single = only(fixture);
  if (single) return t("search.only", { ranges: single });
  return fixture.also_at.filter(({ voltage_v: v }) => v !== fixture.at_voltage?.voltage_v)
    .map(({ voltage_v: v, current_a: a }) => t("search.at", { v: plain(v), n: amps(a) })).join(" · ");
}
