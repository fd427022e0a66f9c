/**
 * Output room: draw one quantity of a log over time, with the stretches found shaded and named.
 *
 * One picture of one range; it keeps no state. Names that do not fit are counted, never laid
 * over each other.
 *
 * @import { Bucket, Range, Series } from "./plot-range.js"
 */
import { svg } from "../../kit/element.js";
import { hatchPath, round } from "../../kit/hatch.js";
import { clock } from "../../logs/voltlog-words.js";
import { buckets, levelsShown, roundStep } from "./plot-range.js";

/** @typedef {{kind: string, start: number, end: number}} Stretch */
/**
 * What is drawn: its name, unit and round steps, and the names and hatching of its stretches.
 * @typedef {object} Quantity
 * @property {string} name
 * @property {string} unit
 * @property {number} decimals of a figure said in words
 * @property {number[]} steps
 * @property {number} least
 * @property {[number, number]} empty
 * @property {Record<string, string>} names
 * @property {Record<string, number>} density
 */
/** @typedef {{series: Series, stretches: Stretch[], gap: number, quantity?: Quantity}} PlotData gap: seconds without a row that break the line; volts unless a quantity is named */
/** @typedef {{left: number, top: number, width: number, height: number}} Box */
/** @typedef {{x: (time: number) => number, y: (level: number) => number}} Across */

export const STRETCH_NAMES = /** @type {Record<string, string>} */ ({
  rest: "Rest",
  charging: "Charging",
  crank: "Start",
});
const HEIGHT = 280;
const LANES = 2;
const LANE_HEIGHT = 17;
const LETTER = 6.7; // width of a letter at 12 px, a little generous
const LEAST_BAND = 3;
const MOST_NAMED = 12;
const TIME_STEPS = [
  1, 2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400, 172_800, 604_800,
];

/** @type {Quantity} */
export const VOLTS = {
  name: "Volts",
  unit: "V",
  decimals: 2,
  steps: [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5],
  least: 0.2,
  empty: [11, 15],
  names: STRETCH_NAMES,
  density: { rest: 0, charging: 2, crank: 4 },
};

/** Write the line; a gap in time breaks it. @type {(columns: Bucket[], across: Across, gap: number) => string} */
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
 * @type {(stretch: Stretch, across: Across, look: {box: Box, density: Record<string, number>}) => SVGElement[]}
 */
function shade({ kind, start, end }, { x }, { box, density }) {
  const [from, to] = [x(start), x(end)];
  const width = Math.max(to - from, LEAST_BAND);
  const left = to - from < LEAST_BAND ? (from + to - LEAST_BAND) / 2 : from;
  const area = { x: round(left), y: 0, width: round(width), height: box.height };
  const shown = { left: Math.max(left, 0), top: 0, width: 0, height: box.height };
  shown.width = Math.min(left + width, box.width) - shown.left;
  const hatch = hatchPath(shown, density[kind] ?? 0);
  return [svg("rect", { class: `plot__area plot__area--${kind}`, ...area }), svg("path.plot__hatch", { d: hatch })];
}

/**
 * Place the names above the picture, in lanes; the longest stretches first.
 * @type {(stretches: Stretch[], across: Across, look: {box: Box, names: Record<string, string>}) =>
 *   {nodes: SVGElement[], left: number}}
 * @returns left: how many did not fit
 */
function nameStretches(stretches, { x }, { box, names }) {
  /** @type {Array<Array<[number, number]>>} */
  const lanes = Array.from({ length: LANES }, () => []);
  const nodes = [];
  let left = 0;
  for (const { kind, start, end } of [...stretches].sort((a, b) => b.end - b.start - (a.end - a.start))) {
    const name = names[kind] ?? kind;
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
    nodes.push(svg("text.plot__name", { x: round(box.left + at), y: foot, "text-anchor": "middle" }, name));
    nodes.push(svg("path.plot__leader", { d: `M${round(box.left + middle)} ${foot + 3}V${box.top}` }));
  }
  return { nodes, left };
}

/**
 * @type {(range: Range, shown: {low: number, high: number}, across: Across, look: {box: Box, quantity: Quantity}) =>
 *   SVGElement[]}
 */
function ticks(range, shown, { x, y }, { box, quantity }) {
  const nodes = [];
  const step = roundStep(shown.high - shown.low, 6, quantity.steps);
  const decimals = step < 0.1 ? 2 : step < 1 ? 1 : 0;
  for (let i = Math.ceil(shown.low / step - 1e-9); i * step <= shown.high; i += 1) {
    const at = round(box.top + y(i * step));
    nodes.push(svg("path.plot__grid", { d: `M${box.left} ${at}h${box.width}` }));
    nodes.push(svg("text", { x: box.left - 5, y: at + 4, "text-anchor": "end" }, (i * step).toFixed(decimals)));
  }
  const every = roundStep(range.to - range.from, Math.max(2, Math.floor(box.width / 80)), TIME_STEPS);
  for (let i = Math.ceil(range.from / every - 1e-9); i * every <= range.to; i += 1) {
    const at = x(i * every);
    const anchor = at < 24 ? "start" : at > box.width - 24 ? "end" : "middle";
    const foot = box.top + box.height;
    nodes.push(svg("path.plot__tick", { d: `M${round(box.left + at)} ${foot}v5` }));
    nodes.push(svg("text", { x: round(box.left + at), y: foot + 18, "text-anchor": anchor }, clock(i * every)));
  }
  nodes.push(svg("text", { x: 2, y: box.top - 6 }, quantity.unit));
  return nodes;
}

/** Name what is shaded, in order; of many stretches, how many of each kind. @type {(kinds: string[]) => string} */
function shadedWords(kinds) {
  if (kinds.length <= MOST_NAMED) return kinds.join(", ");
  const each = [...new Set(kinds)].map((kind) => `${kinds.filter((one) => one === kind).length} ${kind}`);
  return each.join(", ");
}

/**
 * Draw a range of a log.
 * @type {(data: PlotData, range: Range, width: number) =>
 *   {$picture: SVGSVGElement, columns: Bucket[], unnamed: number}}
 * @param width in pixels
 */
export function drawPlot({ series, stretches, gap, quantity = VOLTS }, range, width) {
  const box = { left: 40, top: 16 + LANES * LANE_HEIGHT, width: Math.max(width - 48, 100), height: 0 };
  box.height = HEIGHT - box.top - 26;
  const columns = buckets(series, range, { columns: Math.round(box.width), withNeighbours: true });
  const shown = levelsShown(columns, quantity);
  const span = range.to - range.from || 1;
  const across = {
    x: (/** @type {number} */ time) => ((time - range.from) / span) * box.width,
    y: (/** @type {number} */ level) => ((shown.high - level) / (shown.high - shown.low)) * box.height,
  };
  const inView = stretches.filter(({ start, end }) => end >= range.from && start <= range.to);
  const names = nameStretches(inView, across, { box, names: quantity.names });
  const frame = { x: box.left, y: box.top, width: box.width, height: box.height };
  const kinds = inView.map(({ kind }) => (quantity.names[kind] ?? kind).toLowerCase());
  const shading = kinds.length === 0 ? "Nothing is shaded." : `Shaded: ${shadedWords(kinds)}.`;
  const [low, high] = [shown.low.toFixed(quantity.decimals), shown.high.toFixed(quantity.decimals)];
  const label = `${quantity.name} from ${clock(range.from)} to ${clock(range.to)}, between ${low} and ${high} ${quantity.unit}. ${shading}`;
  const $picture = svg(
    "svg.plot__picture",
    { viewBox: `0 0 ${box.left + box.width + 8} ${HEIGHT}`, role: "img", "aria-label": label },
    ticks(range, shown, across, { box, quantity }),
    svg(
      "svg",
      { ...frame, viewBox: `0 0 ${box.width} ${box.height}` },
      inView.flatMap((stretch) => shade(stretch, across, { box, density: quantity.density })),
      svg("path.plot__line", { d: linePath(columns, across, gap) }),
    ),
    svg("rect.plot__frame", { ...frame }),
    names.nodes,
  );
  return { $picture, columns, unnamed: names.left };
}
