/**
 * Output room: draw a reading on its scale.
 *
 * A horizontal ruler with ticks and unit, bands named above and told apart by hatching, and
 * the reader's mark: a pointed flag with the value and a bar for its uncertainty. One drawing
 * serves every gauge. It interprets nothing: edges, value and uncertainty are given to it.
 */
import { svg } from "../kit/element.js";
import { drawLabels, makeLabel, round, WIDTH } from "./scale-labels.js";

const SIDE = 6;
const BAND_HEIGHT = 26;
const MINOR_PARTS = 5;
const WANTED_TICKS = 5;
const FLAG_HEIGHT = 20;
const POLE_ROOM = 11;
const HATCH_STEPS = [12, 7, 4.5, 3];

/**
 * @typedef {object} ScaleBand
 * @property {string} label
 * @property {number | null} low null runs off the picture
 * @property {number | null} high
 * @property {number} density 0 is blank, higher is hatched closer
 */
/**
 * @typedef {object} Mark
 * @property {number} value
 * @property {number} spread half the length of the uncertainty bar
 * @property {string} text
 */

/**
 * Write the path of slanted lines clipped to a box.
 *
 * Lines, not a pattern fill: they need no ids, so drawings can share a page.
 * @param {{left: number, top: number, width: number, height: number}} box
 * @param {number} density
 * @returns {string}
 */
export function hatchPath({ left, top, width, height }, density) {
  if (density <= 0) return "";
  const step = HATCH_STEPS[Math.min(density, HATCH_STEPS.length) - 1] ?? 3;
  let path = "";
  for (let offset = step / 2; offset < width + height; offset += step) {
    const start = Math.max(0, offset - height);
    const end = Math.min(width, offset);
    if (end <= start) continue;
    path += `M${round(left + start)} ${round(top + offset - start)}`;
    path += `L${round(left + end)} ${round(top + offset - end)}`;
  }
  return path;
}

/**
 * Find the values at the two ends of the ruler: the edges with room beyond, and the mark.
 * @param {ScaleBand[]} bands
 * @param {Mark} mark
 * @returns {[number, number]}
 */
export function pictureRange(bands, mark) {
  const edges = bands
    .flatMap((band) => [band.low, band.high])
    .filter((edge) => edge !== null)
    .sort((a, b) => a - b);
  const first = edges[0] ?? mark.value;
  const last = edges[edges.length - 1] ?? mark.value;
  const span = last - first || Math.abs(first) || 1;
  const room = span * (edges.length > 1 ? 0.28 : 0.6);
  let low = bands[0]?.low === null ? first - room : first;
  let high = bands[bands.length - 1]?.high === null ? last + room : last;
  if ((first >= 0 && low < 0) || (first > 0 && low < span * 0.15)) low = 0;
  const reach = Math.max(mark.spread, span * 0.04);
  low = Math.min(low, mark.value >= 0 && low >= 0 ? Math.max(0, mark.value - reach) : mark.value - reach);
  high = Math.max(high, mark.value + reach);
  return [low, high];
}

/**
 * @param {number} span
 * @returns {number} a round distance between numbered ticks
 */
function tickStep(span) {
  const raw = span / WANTED_TICKS;
  const power = 10 ** Math.floor(Math.log10(raw));
  return ([1, 2, 5, 10].find((factor) => factor * power >= raw * 0.999) ?? 10) * power;
}

/**
 * Draw ticks and their numbers; a number the flag's pole would cross is left to the flag.
 * @param {[number, number]} range
 * @param {(value: number) => number} across
 * @param {{top: number, unit: string, pole: number}} place
 * @returns {SVGElement[]}
 */
function drawTicks([low, high], across, { top, unit, pole }) {
  const step = tickStep(high - low);
  const minor = step / MINOR_PARTS;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const nodes = [];
  for (let i = Math.ceil(low / minor - 1e-9); i * minor <= high + minor * 1e-6; i += 1) {
    const x = across(i * minor);
    const isMajor = i % MINOR_PARTS === 0;
    const y2 = round(top + (isMajor ? 9 : 4));
    nodes.push(svg("line", { class: "scale__line", x1: round(x), y1: round(top), x2: round(x), y2 }));
    if (!isMajor || Math.abs(x - pole) < POLE_ROOM) continue;
    const anchor = x < SIDE + 12 ? "start" : x > WIDTH - SIDE - 12 ? "end" : "middle";
    const at = anchor === "start" ? SIDE : anchor === "end" ? WIDTH - SIDE : x;
    const spot = { x: round(at), y: round(top + 21), "text-anchor": anchor };
    nodes.push(svg("text", { class: "scale__tick-text", ...spot }, (i * minor).toFixed(decimals)));
  }
  const corner = { x: WIDTH - SIDE, y: round(top + 36), "text-anchor": "end" };
  nodes.push(svg("text", { class: "scale__tick-text", ...corner }, unit));
  return nodes;
}

/**
 * Draw the pointed flag below the ruler's band, and the bar of its uncertainty.
 * @param {Mark} mark
 * @param {(value: number) => number} across
 * @param {number} top the top of the flag
 * @param {number} rulerTop
 * @returns {SVGElement[]}
 */
function drawMark(mark, across, top, rulerTop) {
  const x = across(mark.value);
  const half = mark.text.length * 3.9 + 7;
  const middle = Math.min(Math.max(x, half), WIDTH - half);
  const point = rulerTop + BAND_HEIGHT / 2;
  const [from, to] = [across(mark.value - mark.spread), across(mark.value + mark.spread)];
  const [left, right] = [round(middle - half), round(middle + half)];
  const flag = `M${left} ${top}H${right}V${top + FLAG_HEIGHT}H${left}Z`;
  const ends = [from, to].map((end) => `M${round(end)} ${point - 5}V${point + 5}`).join("");
  const bar = `${ends}M${round(from)} ${point}H${round(to)}`;
  const tip = `M${round(x - 4.5)} ${point + 8}L${round(x)} ${point}L${round(x + 4.5)} ${point + 8}Z`;
  return [
    svg("path", { class: "scale__halo", d: bar }),
    svg("path", { class: "scale__bar", d: bar }),
    svg("path", { class: "scale__pole", d: `M${round(x)} ${top}V${point}` }),
    svg("path", { class: "scale__tip", d: tip }),
    svg("path", { class: "scale__flag", d: flag }),
    svg("text", { class: "scale__value", x: round(middle), y: top + 14, "text-anchor": "middle" }, mark.text),
  ];
}

/**
 * Draw the scale.
 *
 * Bands must ascend. `title` says the same as the picture to those who cannot see it.
 * @param {ScaleBand[]} bands
 * @param {Mark} mark
 * @param {{unit: string, title: string}} words
 * @returns {SVGSVGElement}
 */
export function readingScale(bands, mark, { unit, title }) {
  const range = pictureRange(bands, mark);
  const [low, high] = range;
  const across = (/** @type {number} */ value) =>
    SIDE + ((Math.min(Math.max(value, low), high) - low) / (high - low)) * (WIDTH - 2 * SIDE);
  const shown = bands
    .map((band) => ({ band, start: across(band.low ?? low), end: across(band.high ?? high) }))
    .filter(({ start, end }) => end > start);
  const { nodes, rulerTop } = drawLabels(
    shown.map(({ band, start, end }) => makeLabel(band.label, (start + end) / 2, shown.length)),
  );
  const boxes = shown.flatMap(({ band, start, end }) => {
    const box = { left: start, top: rulerTop, width: end - start, height: BAND_HEIGHT };
    const hatch = svg("path", { class: "hatch", d: hatchPath(box, band.density) });
    const place = { x: round(start), y: round(rulerTop), width: round(end - start), height: BAND_HEIGHT };
    return [hatch, svg("rect", { class: "scale__line", ...place })];
  });
  const ticks = drawTicks(range, across, { top: rulerTop + BAND_HEIGHT, unit, pole: across(mark.value) });
  const flagTop = round(rulerTop + BAND_HEIGHT + 42);
  const height = flagTop + FLAG_HEIGHT + 2;
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${round(height)}`, role: "img", "aria-label": title },
    nodes,
    boxes,
    ticks,
    drawMark(mark, across, flagTop, rulerTop),
  );
}
