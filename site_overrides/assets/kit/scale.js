/**
 * Room kit: one reading on its scale, wherever it is shown.
 *
 * A ruler with ticks and unit, bands named above and told apart by hatching, and the reader's
 * mark: a pointed flag with the value and a bar for its uncertainty. Names stand in one row, or
 * in two where one would overlap, with thin leaders down to the bands, as on the printed pages.
 * Lengths are in units of the 320-wide picture.
 *
 * The reasoning mixes every condition that is not known; a drawing can show one set of edges. It
 * shows those of the likeliest conditions, and the caption says when they were assumed.
 *
 * @import { Check, Fact, Gauge, Knowledge, Reading } from "../knowledge/types.js"
 * @import { Interpretation, Scales } from "../measure/gauges.js"
 * @import { Child } from "./element.js"
 */
import { bandOfNumber, knownConditions, mixture } from "../measure/gauges.js";
import { convert } from "../measure/gauges-numbers.js";
import { readingWords } from "../measure/words.js";
import { el, svg } from "./element.js";
import { numberWords, unitSymbol } from "./figures.js";
import { hatchPath, round } from "./hatch.js";

const WIDTH = 320;
const LETTER = 5.9; // average width of a letter at the label size
const LINE = 13;
const GAP = 6;
const LEADER = 14;
const SLIT = 8; // room the lower row leaves for a leader from the upper one
const SIDE = 6;
const BAND_HEIGHT = 26;
const MINOR_PARTS = 5;
const WANTED_TICKS = 5;
const FLAG_HEIGHT = 20;
const POLE_ROOM = 11;
/** The bar shows plus and minus two sigma, about 19 readings in 20. */
const SIGMAS_SHOWN = 2;
/** Hatching by level of the check: blank for normal, closer lines for later levels. */
const DENSITIES = /** @type {Record<number, number[]>} */ ({ 1: [0], 2: [0, 3], 3: [0, 2, 4], 4: [0, 1, 3, 4] });

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
/** @typedef {{value: number, text: string}} Former a reading of the same kind, made before */

/** @typedef {{lines: string[], target: number, width: number}} Label */

/**
 * Break a name into lines short enough for its share of the picture.
 * @type {(label: string, bands: number) => string[]}
 */
function wrap(label, bands) {
  const room = Math.max(8, Math.floor(WIDTH / bands / LETTER) - 1);
  const lines = [""];
  for (const word of label.split(/\s+/)) {
    const last = lines[lines.length - 1] ?? "";
    const longer = `${last} ${word}`.trim();
    if (longer.length <= room || last === "") lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/**
 * Prepare a name for the band whose middle is at `target`.
 * @type {(text: string, target: number, bands: number) => Label}
 */
function makeLabel(text, target, bands) {
  const lines = wrap(text, bands);
  const width = Math.max(...lines.map((line) => line.length)) * LETTER + GAP;
  return { lines, target, width };
}

/**
 * Place boxes in order near their targets so that none overlap and all stay inside.
 * @type {(targets: number[], widths: number[]) => number[]}
 */
function spread(targets, widths) {
  const half = widths.map((width) => width / 2);
  const at = targets.map((target, i) => Math.min(Math.max(target, half[i] ?? 0), WIDTH - (half[i] ?? 0)));
  for (let i = 1; i < at.length; i += 1) {
    at[i] = Math.max(at[i] ?? 0, (at[i - 1] ?? 0) + (half[i - 1] ?? 0) + (half[i] ?? 0));
  }
  let limit = WIDTH;
  for (let i = at.length - 1; i >= 0; i -= 1) {
    at[i] = Math.min(at[i] ?? 0, limit - (half[i] ?? 0));
    limit = (at[i] ?? 0) - (half[i] ?? 0);
  }
  return at;
}

/** @type {(label: Label, x: number, base: number) => SVGTextElement} */
function drawLabel(label, x, base) {
  const top = base - (label.lines.length - 1) * LINE - 3;
  const rows = label.lines.map((line, row) => svg("tspan", { x: round(x), y: round(top + row * LINE) }, line));
  return svg("text", { "text-anchor": "middle" }, rows);
}

/**
 * @type {(target: number, path: [number, number], base: number, rulerTop: number) => SVGPathElement}
 * @param path where the name stands, and the slit its leader passes
 */
function drawLeader(target, [own, slit], base, rulerTop) {
  const turn = rulerTop - LEADER + 3;
  const points = [
    [own, base],
    [slit, base + 3],
    [slit, turn],
    [target, rulerTop],
  ];
  const d = `M${points.map(([x, y]) => `${round(x ?? 0)} ${round(y ?? 0)}`).join("L")}`;
  return svg("path.scale__leader", { d });
}

/**
 * Draw all names and tell where the ruler may begin.
 * @type {(labels: Label[]) => {nodes: SVGElement[], rulerTop: number}}
 */
function drawLabels(labels) {
  const all = labels.map((_, i) => i);
  const fits = labels.reduce((sum, label) => sum + label.width, 0) <= WIDTH;
  const lower = fits ? all : all.filter((i) => i % 2 === 0);
  const upper = fits ? [] : all.filter((i) => i % 2 === 1);
  const slots = labels.map((label, i) => (lower.includes(i) ? label.width : SLIT));
  const slits = spread(
    labels.map((label) => label.target),
    slots,
  );
  const at = [...slits];
  const height = (/** @type {number[]} */ row) => Math.max(0, ...row.map((i) => labels[i]?.lines.length ?? 0)) * LINE;
  const upperAt = spread(
    upper.map((i) => slits[i] ?? 0),
    upper.map((i) => labels[i]?.width ?? 0),
  );
  upper.forEach((i, place) => {
    at[i] = upperAt[place] ?? 0;
  });
  const lowerTop = upper.length > 0 ? height(upper) + 4 : 0;
  const rulerTop = lowerTop + height(lower) + LEADER;
  const nodes = labels.flatMap((label, i) => {
    const base = lower.includes(i) ? lowerTop + height(lower) : height(upper);
    const x = at[i] ?? 0;
    return [drawLabel(label, x, base), drawLeader(label.target, [x, slits[i] ?? 0], base, rulerTop)];
  });
  return { nodes, rulerTop };
}

/** @type {(knowledge: Knowledge) => Scales} */
export function scalesOf(knowledge) {
  return { units: knowledge.units, contexts: knowledge.contexts };
}

/**
 * @type {(wanted: Record<string, any> | undefined, chosen: Record<string, string | number>, scales: Scales) => boolean}
 */
function fits(wanted, chosen, scales) {
  return Object.entries(wanted ?? {}).every(([name, options]) => {
    const given = chosen[name];
    const value = typeof given === "number" ? bandOfNumber(given, scales.contexts[name]) : given;
    return [options].flat().includes(value);
  });
}

/**
 * @type {(edge: any, chosen: Record<string, string | number>, scales: Scales) => number | null}
 * @param edge a number, a curve by a condition, or nothing
 */
function edgeIn(edge, chosen, scales) {
  if (edge === null || edge === undefined) return null;
  if (typeof edge === "number") return edge;
  const from = scales.contexts[edge.by]?.unit ?? edge.unit;
  const x = convert(Number(chosen[edge.by]), from, edge.unit, scales.units);
  /** @type {Array<[number, number]>} */
  const points = edge.points;
  const next = points.findIndex(([at]) => x <= at);
  const [x1, y1] = points[next < 0 ? points.length - 1 : next] ?? [x, 0];
  const [x0, y0] = points[Math.max(0, next - 1)] ?? [x1, y1];
  return next <= 0 ? y1 : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
}

/**
 * Find how closely a band is hatched: by the level of the check it means.
 * @type {(check: Check | undefined, band: string, place: number) => number}
 */
function densityOf(check, band, place) {
  if (!check) return Math.min(place, 4);
  const steps = DENSITIES[check.levels.length] ?? [0, 1, 2, 3, 4];
  const level = check.levels.findIndex((each) => (each.bands ?? []).includes(band));
  return level < 0 ? 0 : (steps[Math.min(level, steps.length - 1)] ?? 0);
}

/**
 * List the bands to draw, ascending. Hatching says how far from normal, as on the pages.
 * @type {(knowledge: Knowledge, gauge: Gauge, reading: Reading, check?: Check) => ScaleBand[]}
 * @param check the check the reading belongs to
 */
function scaleBands(knowledge, gauge, reading, check) {
  const scales = scalesOf(knowledge);
  const { known } = knownConditions(gauge, reading, scales, true);
  const worlds = [...mixture(gauge, known)].sort((a, b) => b.weight - a.weight);
  const chosen = worlds[0]?.chosen ?? {};
  const table = gauge.tables.find((each) => fits(each.for, chosen, scales));
  const labels = new Map(gauge.bands.map((band) => [band.id, band.label]));
  /** @type {Array<Record<string, any>>} */
  const rows = table?.bands ?? [];
  return rows.map((row, place) => ({
    label: labels.get(row.band) ?? row.band,
    low: edgeIn(row.from, chosen, scales),
    high: edgeIn(row.below, chosen, scales),
    density: densityOf(check, row.band, place),
  }));
}

/**
 * Find the values at the two ends of the ruler: the edges with room beyond, and the marks.
 * @type {(bands: ScaleBand[], mark: Mark, former: Former | null) => [number, number]}
 */
function pictureRange(bands, mark, former) {
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
  const other = former?.value ?? mark.value;
  return [Math.min(low, other), Math.max(high, other)];
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
 * Draw ticks and their numbers; a number a flag's pole would cross is left to the flag.
 * @type {(range: [number, number], across: (value: number) => number, place: {top: number, unit: string,
 *   poles: number[]}) => SVGElement[]}
 */
function drawTicks([low, high], across, { top, unit, poles }) {
  const step = tickStep(high - low);
  const minor = step / MINOR_PARTS;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const nodes = [];
  for (let i = Math.ceil(low / minor - 1e-9); i * minor <= high + minor * 1e-6; i += 1) {
    const x = across(i * minor);
    const isMajor = i % MINOR_PARTS === 0;
    const y2 = round(top + (isMajor ? 9 : 4));
    nodes.push(svg("line.scale__line", { x1: round(x), y1: round(top), x2: round(x), y2 }));
    if (!isMajor || poles.some((pole) => Math.abs(x - pole) < POLE_ROOM)) continue;
    const anchor = x < SIDE + 12 ? "start" : x > WIDTH - SIDE - 12 ? "end" : "middle";
    const at = anchor === "start" ? SIDE : anchor === "end" ? WIDTH - SIDE : x;
    const spot = { x: round(at), y: round(top + 21), "text-anchor": anchor };
    nodes.push(svg("text.scale__tick-text", { ...spot }, (i * minor).toFixed(decimals)));
  }
  const isCrossed = poles.some((pole) => pole > WIDTH - SIDE - POLE_ROOM);
  const corner = { x: isCrossed ? SIDE : WIDTH - SIDE, y: round(top + 36), "text-anchor": isCrossed ? "start" : "end" };
  nodes.push(svg("text.scale__tick-text", { ...corner }, unit));
  return nodes;
}

/**
 * Draw the pointed flag below the ruler's band, and the bar of its uncertainty.
 * @type {(mark: Mark, across: (value: number) => number, top: number, rulerTop: number) => SVGElement[]}
 * @param top the top of the flag
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
    svg("path.scale__halo", { d: bar }),
    svg("path.scale__bar", { d: bar }),
    svg("path.scale__pole", { d: `M${round(x)} ${top}V${point}` }),
    svg("path.scale__tip", { d: tip }),
    svg("path.scale__flag", { d: flag }),
    svg("text.scale__value", { x: round(middle), y: top + 14, "text-anchor": "middle" }, mark.text),
  ];
}

/**
 * Draw where a reading made before stood: an outlined box below the flag, and a broken line up.
 * @type {(former: Former, x: number, top: number, rulerTop: number) => SVGElement[]}
 * @param top of the box
 */
function drawFormer(former, x, top, rulerTop) {
  const half = former.text.length * 3.4 + 5;
  const middle = round(Math.min(Math.max(x, half), WIDTH - half));
  const box = { x: round(middle - half), y: top, width: round(2 * half), height: FLAG_HEIGHT };
  return [
    svg("path.scale__former", { d: `M${round(x)} ${top}V${round(rulerTop)}` }),
    svg("rect.scale__line", { ...box }),
    svg("text", { x: middle, y: top + 14, "text-anchor": "middle" }, former.text),
  ];
}

/**
 * Draw the scale.
 *
 * Bands must ascend. `title` says the same as the picture to those who cannot see it.
 * @type {(bands: ScaleBand[], mark: Mark, former: Former | null, words: {unit: string, title: string}) =>
 *   SVGSVGElement}
 */
function readingScale(bands, mark, former, { unit, title }) {
  const range = pictureRange(bands, mark, former);
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
    const hatch = svg("path.hatch", { d: hatchPath(box, band.density) });
    const place = { x: round(start), y: round(rulerTop), width: round(end - start), height: BAND_HEIGHT };
    return [hatch, svg("rect.scale__line", { ...place })];
  });
  const poles = [mark, ...(former ? [former] : [])].map(({ value }) => across(value));
  const ticks = drawTicks(range, across, { top: rulerTop + BAND_HEIGHT, unit, poles });
  const flagTop = round(rulerTop + BAND_HEIGHT + 42);
  const formerTop = flagTop + FLAG_HEIGHT + 6;
  const height = (former ? formerTop : flagTop) + FLAG_HEIGHT + 2;
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${round(height)}`, role: "img", "aria-label": title },
    nodes,
    boxes,
    ticks,
    former ? drawFormer(former, across(former.value), formerTop, rulerTop) : [],
    drawMark(mark, across, flagTop, rulerTop),
  );
}

/**
 * Draw a reading on its scale as a figure.
 * @type {(knowledge: Knowledge, gauge: Gauge, what: {reading: Reading, found: Interpretation,
 *   check: Check | undefined, conditions?: Record<string, Fact>, before?: {value: number, unit: string} | null},
 *   caption: (isAssumed: boolean) => Child[]) => HTMLElement}
 * @param what `conditions`: what else is known of the car; `before`: a
 *   reading of the same kind made before, drawn on the same scale
 * @param caption nothing for a figure without one
 */
export function scaleFigure(knowledge, gauge, { reading, found, check, conditions = {}, before = null }, caption) {
  const bands = scaleBands(knowledge, gauge, { ...conditions, ...reading }, check);
  const unit = unitSymbol(knowledge.units, gauge.unit);
  const shown = (/** @type {number} */ value) => `${numberWords(value, gauge.decimals)} ${unit}`.trim();
  const mark = { value: found.value, spread: found.sigma * SIGMAS_SHOWN, text: shown(found.value) };
  const value = before ? convert(before.value, before.unit, gauge.unit, knowledge.units) : 0;
  const former = before ? { value, text: `before: ${shown(value)}` } : null;
  const title = [`${mark.text} on its scale`, former?.text, readingWords(knowledge, found)]
    .filter((part) => part)
    .join(". ");
  const words = caption(found.assumptions.some((each) => each.kind === "unknown-condition"));
  const $caption = words.length > 0 ? el("figcaption", words) : null;
  return el("figure.scale", readingScale(bands, mark, former, { unit, title }), $caption);
}
