/** Output room: draw the readings of one check over the days of a case. */
import { el, svg } from "../../kit/element.js";
import { plainNumber } from "../../measure/sums-parts.js";
import { dateWords } from "./words.js";

const WIDTH = 320;
const HEIGHT = 120;
const EDGE = 26;

/** @type {(values: number[], from: number, to: number) => (value: number) => number} */
function across(values, from, to) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return (value) => (high === low ? (from + to) / 2 : from + ((value - low) / (high - low)) * (to - from));
}

/** @type {(title: string, unit: string, points: Array<{at: string, value: number}>) => HTMLElement} */
export function overTime(title, unit, points) {
  const times = points.map(({ at }) => Date.parse(at));
  const values = points.map(({ value }) => value);
  const x = across(times, EDGE, WIDTH - EDGE);
  const y = across(values, HEIGHT - EDGE, EDGE);
  const places = points.map(({ value }, number) => [Math.round(x(times[number] ?? 0)), Math.round(y(value))]);
  const shown = points.map(({ value }) => `${plainNumber(value)} ${unit}`);
  const words = `${title}: ${points.map(({ at }, number) => `${shown[number]} on ${dateWords(at)}`).join("; ")}`;
  const isNamed = (/** @type {number} */ number) =>
    number === 0 ||
    number === points.length - 1 ||
    values[number] === Math.min(...values) ||
    values[number] === Math.max(...values);
  return el(
    "figure.over-time",
    svg(
      "svg",
      { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": words },
      svg("path", { d: `M${places.map(([left, top]) => `${left} ${top}`).join("L")}` }),
      ...places.map(([left = 0, top = 0]) => svg("circle", { cx: left, cy: top, r: 4 })),
      ...places.map(([left = 0, top = 0], number) =>
        isNamed(number) ? svg("text", { x: left, y: top - 9, "text-anchor": "middle" }, shown[number]) : null,
      ),
    ),
    el("figcaption", title),
  );
}
