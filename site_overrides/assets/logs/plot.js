/**
 * Output room: draw the volts of a log over time, with the stretches found shaded and named.
 *
 * One picture of one range; it keeps no state. Names that do not fit are counted, never laid
 * over each other.
 *
 * @import { Bucket, Range, Series } from "./plot-range.js"
 */
import { svg } from "../checker/output/element.js";
import { hatchPath } from "../checker/output/reading-scale.js";
import { clock } from "../checker/output/voltlog-words.js";
import { buckets, roundStep, voltsShown } from "./plot-range.js";

/** @typedef {{kind: string, start: number, end: number}} Stretch */
/** @typedef {{series: Series, stretches: Stretch[], gap: number}} PlotData gap: seconds without a row that break the line */
/** @typedef {{left: number, top: number, width: number, height: number}} Box */
/** @typedef {{x: (time: number) => number, y: (volts: number) => number}} Across */

export const STRETCH_NAMES = /** @type {Record<string, string>} */ ({
  rest: "Rest", charging: "Charging", crank: "Start",
});
const DENSITY = /** @type {Record<string, number>} */ ({ rest: 0, charging: 2, crank: 4 });
const HEIGHT = 280;
const LANES = 2;
const LANE_HEIGHT = 17;
const LETTER = 6.7; // width of a letter at 12 px, a little generous
const LEAST_BAND = 3;
const VOLT_STEPS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5];
const TIME_STEPS = [
  1, 2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400, 172_800, 604_800,
];

/** @param {number} value */
function round(value) {
  return Math.round(value * 100) / 100;
}

/**
 * Write the line of the volts; a gap in time breaks it.
 * @param {Bucket[]} columns
 * @param {Across} across
 * @param {number} gap
 * @returns {string}
 */
function linePath(columns, { x, y }, gap) {
  let path = "";
  let former = -Infinity;
  for (const { from, to, low, high } of columns) {
    const at = round(x((from + to) / 2));
    path += `${from - former > gap ? "M" : "L"}${at} ${round(y(high))}L${at} ${round(y(low) + 0.01)}`;
    former = to;
  }
  return path;
}

/**
 * Shade one stretch; a short one still is as wide as a line.
 * @param {Stretch} stretch
 * @param {Across} across
 * @param {Box} box
 * @returns {SVGElement[]}
 */
function shade({ kind, start, end }, { x }, box) {
  const [from, to] = [x(start), x(end)];
  const width = Math.max(to - from, LEAST_BAND);
  const left = to - from < LEAST_BAND ? (from + to - LEAST_BAND) / 2 : from;
  const area = { x: round(left), y: 0, width: round(width), height: box.height };
  const shown = { left: Math.max(left, 0), top: 0, width: 0, height: box.height };
  shown.width = Math.min(left + width, box.width) - shown.left;
  const hatch = hatchPath(shown, DENSITY[kind] ?? 0);
  return [
    svg("rect", { class: `plot__area plot__area--${kind}`, ...area }),
    svg("path", { class: "plot__hatch", d: hatch }),
  ];
}

/**
 * Place the names above the picture, in lanes; the longest stretches first.
 * @param {Stretch[]} stretches
 * @param {Across} across
 * @param {Box} box
 * @returns {{nodes: SVGElement[], left: number}} left: how many did not fit
 */
function nameStretches(stretches, { x }, box) {
  /** @type {Array<Array<[number, number]>>} */
  const lanes = Array.from({ length: LANES }, () => []);
  const nodes = [];
  let left = 0;
  for (const { kind, start, end } of [...stretches].sort((a, b) => b.end - b.start - (a.end - a.start))) {
    const name = STRETCH_NAMES[kind] ?? kind;
    const half = (name.length * LETTER) / 2 + 3;
    const middle = (Math.max(x(start), 0) + Math.min(x(end), box.width)) / 2;
    const at = Math.min(Math.max(middle, half), box.width - half);
    const lane = lanes.findIndex((taken) => taken.every(([from, to]) => at + half <= from || at - half >= to));
    if (lane < 0) {
      left += 1;
      continue;
    }
    lanes[lane]?.push([at - half, at + half]);
    const foot = box.top - 6 - (LANES - 1 - lane) * LANE_HEIGHT;
    nodes.push(svg("text", { class: "plot__name", x: round(box.left + at), y: foot, "text-anchor": "middle" }, name));
    nodes.push(svg("path", { class: "plot__leader", d: `M${round(box.left + middle)} ${foot + 3}V${box.top}` }));
  }
  return { nodes, left };
}

/**
 * @param {Range} range
 * @param {{low: number, high: number}} volts
 * @param {Across} across
 * @param {Box} box
 * @returns {SVGElement[]}
 */
function ticks(range, volts, { x, y }, box) {
  const nodes = [];
  const step = roundStep(volts.high - volts.low, 6, VOLT_STEPS);
  const decimals = step < 0.1 ? 2 : step < 1 ? 1 : 0;
  for (let i = Math.ceil(volts.low / step - 1e-9); i * step <= volts.high; i += 1) {
    const at = round(box.top + y(i * step));
    nodes.push(svg("path", { class: "plot__grid", d: `M${box.left} ${at}h${box.width}` }));
    nodes.push(svg("text", { x: box.left - 5, y: at + 4, "text-anchor": "end" }, (i * step).toFixed(decimals)));
  }
  const every = roundStep(range.to - range.from, Math.max(2, Math.floor(box.width / 80)), TIME_STEPS);
  for (let i = Math.ceil(range.from / every - 1e-9); i * every <= range.to; i += 1) {
    const at = x(i * every);
    const anchor = at < 24 ? "start" : at > box.width - 24 ? "end" : "middle";
    const foot = box.top + box.height;
    nodes.push(svg("path", { class: "plot__tick", d: `M${round(box.left + at)} ${foot}v5` }));
    nodes.push(svg("text", { x: round(box.left + at), y: foot + 18, "text-anchor": anchor }, clock(i * every)));
  }
  nodes.push(svg("text", { x: 2, y: box.top - 6 }, "V"));
  return nodes;
}

/**
 * Draw a range of a log.
 * @param {PlotData} data
 * @param {Range} range
 * @param {number} width in pixels
 * @returns {{$picture: SVGSVGElement, columns: Bucket[], unnamed: number}}
 */
export function drawPlot({ series, stretches, gap }, range, width) {
  const box = { left: 40, top: 16 + LANES * LANE_HEIGHT, width: Math.max(width - 48, 100), height: 0 };
  box.height = HEIGHT - box.top - 26;
  const columns = buckets(series, range, { columns: Math.round(box.width), withNeighbours: true });
  const volts = voltsShown(columns);
  const span = range.to - range.from || 1;
  const across = {
    x: (/** @type {number} */ time) => ((time - range.from) / span) * box.width,
    y: (/** @type {number} */ level) => ((volts.high - level) / (volts.high - volts.low)) * box.height,
  };
  const inView = stretches.filter(({ start, end }) => end >= range.from && start <= range.to);
  const names = nameStretches(inView, across, box);
  const frame = { x: box.left, y: box.top, width: box.width, height: box.height };
  const kinds = inView.map(({ kind }) => (STRETCH_NAMES[kind] ?? kind).toLowerCase());
  const shaded = kinds.length === 0 ? "Nothing is shaded." : `Shaded: ${kinds.slice(0, 12).join(", ")}.`;
  const label = `Volts from ${clock(range.from)} to ${clock(range.to)}, between ${volts.low.toFixed(2)} and ${volts.high.toFixed(2)} V. ${shaded}`;
  const $picture = svg(
    "svg",
    { class: "plot__picture", viewBox: `0 0 ${box.left + box.width + 8} ${HEIGHT}`, role: "img", "aria-label": label },
    ticks(range, volts, across, box),
    svg(
      "svg",
      { ...frame, viewBox: `0 0 ${box.width} ${box.height}` },
      inView.flatMap((stretch) => shade(stretch, across, box)),
      svg("path", { class: "plot__line", d: linePath(columns, across, gap) }),
    ),
    svg("rect", { class: "plot__frame", ...frame }),
    names.nodes,
  );
  return { $picture, columns, unnamed: names.left };
}
