// A small chart of readings for one conductor: marks for what was measured, a line for what was
// expected. Told apart by shape; in words for a reader, who has a table as well.

import { h, svg } from "../dom.js";
import { amps } from "../format.js";
import { t } from "../text.js";

const WIDTH = 300;
const HEIGHT = 64;
const EDGE = 8;

/** `points`: [{measured, expected}], the oldest first; figures may be null. */
export function chart(conductor, points) {
  const figures = points.flatMap((p) => [p.measured, p.expected]).filter((n) => typeof n === "number");
  const measured = points.map((p) => p.measured).filter((n) => typeof n === "number");
  if (!measured.length) return null;
  const top = Math.max(1, ...figures);
  const x = (index) => (points.length < 2 ? WIDTH / 2 : EDGE + (index * (WIDTH - 2 * EDGE)) / (points.length - 1));
  const y = (value) => HEIGHT - EDGE - (value / top) * (HEIGHT - 2 * EDGE);
  const path = (name) => points.map((p, index) => [index, p[name]]).filter(([, value]) => typeof value === "number")
    .map(([index, value], n) => `${n ? "L" : "M"}${x(index).toFixed(1)} ${y(value).toFixed(1)}`).join(" ");
  const label = t("meter.chart", {
    conductor, low: amps(Math.min(...measured)), high: amps(Math.max(...measured)), last: amps(measured.at(-1)),
  });
  return h("figure", { class: "chart" },
    h("figcaption", {}, h("b", {}, conductor), h("span", { class: "figure" }, t("amps", { n: amps(measured.at(-1)) })),
      h("span", { class: "aside figure", "aria-hidden": "true" }, t("meter.chart.scale", { n: amps(top) }))),
    svg("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": label, preserveAspectRatio: "none" },
      svg("line", { class: "chart-ground", x1: 0, x2: WIDTH, y1: y(0), y2: y(0) }),
      svg("line", { class: "chart-ground", x1: 0, x2: WIDTH, y1: y(top), y2: y(top) }),
      svg("path", { class: "chart-expected", d: path("expected") }),
      svg("path", { class: "chart-way", d: path("measured") }),
      points.map((p, index) => (typeof p.measured === "number"
        ? svg("rect", { class: "chart-mark", x: x(index) - 4, y: y(p.measured) - 4, width: 8, height: 8 }) : null))));
}
