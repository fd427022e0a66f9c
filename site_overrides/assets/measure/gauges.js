/**
 * Room reasoning: turn one reading into how far each band of its gauge is supported. Twin of
 * gauges.py, in the same order of arithmetic.
 *
 * @import { SlipQuestion, Typed, Unit } from "./gauges-numbers.js"
 */

import {
  closest,
  compareText,
  convert,
  gaugeSlip,
  knownUnit,
  plausibleSlip,
  ReadingRefused,
  readNumber,
} from "./gauges-numbers.js";
import { normalBetween } from "./normal.js";

// A household thermometer is taken to be right within 2 degrees Celsius: common practice.
const THERMOMETER = { value: 2, unit: "degC", source: "common-practice" };

/** @typedef {{units: Record<string, Unit>, contexts: Record<string, any>}} Scales */
/** @typedef {Record<string, string | number>} Known */
/** @typedef {{value: number, unit: string, source?: string}} Limit */

/** @typedef {{value: string | number | null, question: SlipQuestion | null}} Answer */

/**
 * @type {(gauge: Record<string, any>, conditions: Record<string, any>, scales: Scales, confirmed: boolean) =>
 *   {known: Known, question: SlipQuestion | null}}
 */
export function knownConditions(gauge, conditions, scales, confirmed) {
  /** @type {Known} */
  const known = {};
  /** @type {SlipQuestion | null} */
  let question = null;
  for (const { id } of gauge.conditions) {
    const read = readCondition(id, conditions[id], scales);
    if (read.value === null) continue;
    if (read.question && confirmed) {
      throw new ReadingRefused(id, "outside-plausible", read.question.typed_value);
    }
    known[id] = read.value;
    question = question ?? read.question;
  }
  return { known, question };
}

/** @type {(name: string, given: unknown, scales: Scales) => Answer} */
export function readCondition(name, given, scales) {
  if (given === null || given === undefined || given === "" || given === "unknown") {
    return { value: null, question: null };
  }
  const context = scales.contexts[name] ?? {};
  if (context.type === "number") return readContextNumber(name, given, context, scales);
  /** @type {string[]} */
  const options = (context.options ?? []).map((/** @type {{id: string}} */ each) => each.id);
  if (typeof given === "string" && (options.includes(given) || options.length === 0)) {
    return { value: given, question: null };
  }
  const close = closest(String(given), options);
  throw new ReadingRefused(name, "unknown-option", given, close.length > 0 ? close : options);
}

/** @type {(told: Record<string, any>, scales: Scales) => number | null} */
export function degreesTold(told, scales) {
  try {
    const { value, question } = readCondition("temperature", told.temperature, scales);
    return typeof value === "number" && !question ? value : null;
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    return null;
  }
}

/** @type {(name: string, given: any, context: any, scales: Scales) => Answer} */
function readContextNumber(name, given, context, scales) {
  const unit = context.unit;
  const accepts = context.accepts?.length ? context.accepts : [unit];
  const paired = typeof given === "object";
  const number = readNumber(paired ? given.value : given, name);
  const source = paired ? knownUnit(given.unit || unit, accepts, scales.units, name) : unit;
  const value = convert(number, source, unit, scales.units);
  if (!context.plausible) return { value, question: null };
  const { low, high } = context.plausible;
  const typed = { field: name, value: number, unit: source, canonicalUnit: unit, accepts, low, high };
  return { value, question: plausibleSlip(typed, scales.units) };
}

/** @param {Record<string, any>} gauge */
function edgeConditions(gauge) {
  /** @type {Set<string>} */
  const used = new Set();
  for (const table of gauge.tables) {
    for (const band of table.bands) {
      for (const edge of [band.from, band.below]) {
        if (edge !== null && typeof edge === "object") used.add(edge.by);
      }
    }
  }
  return used;
}

/** Return the conditions that can change the verdict of this gauge. @param {Record<string, any>} gauge */
function usedConditions(gauge) {
  const used = edgeConditions(gauge);
  for (const table of gauge.tables) for (const name of Object.keys(table.for ?? {})) used.add(name);
  for (const spread of gauge.spread ?? []) {
    for (const name of Object.keys(spread.when)) used.add(name);
  }
  if (gauge.meters && Object.keys(gauge.meters).length > 0) used.add("meter");
  return used;
}

/** @type {(condition: Record<string, any>) => Array<{value: string | number, weight: number}>} */
function ifUnknown(condition) {
  const listed = condition.if_unknown ?? {};
  const pairs = listed.points
    ? listed.points.map((/** @type {number[]} */ [value, weight]) => ({ value, weight }))
    : Object.keys(listed)
        .sort(compareText)
        .map((name) => ({ value: name, weight: listed[name] }));
  let total = 0;
  for (const { weight } of pairs) total += weight;
  return pairs.map((/** @type {{value: string | number, weight: number}} */ { value, weight }) => ({
    value,
    weight: weight / total,
  }));
}

/** @type {(gauge: Record<string, any>, known: Known) => Array<{chosen: Known, weight: number}>} */
export function mixture(gauge, known) {
  const used = usedConditions(gauge);
  /** @type {Array<{chosen: Known, weight: number}>} */
  let worlds = [{ chosen: {}, weight: 1 }];
  for (const condition of gauge.conditions) {
    const name = condition.id;
    if (!used.has(name)) continue;
    const sure = known[name];
    const choices = sure === undefined ? ifUnknown(condition) : [{ value: sure, weight: 1 }];
    if (choices.length === 0) continue;
    worlds = worlds.flatMap(({ chosen, weight }) =>
      choices.map((choice) => ({ chosen: { ...chosen, [name]: choice.value }, weight: weight * choice.weight })),
    );
  }
  return worlds;
}

/** @type {(condition: Record<string, any>, scales: Scales) => Limit | null} */
function conditionLimit(condition, scales) {
  if (condition.plus_minus) return { ...condition.plus_minus };
  const unit = scales.contexts[condition.id]?.unit;
  if (!unit || scales.units[unit]?.canonical !== "degC") return null;
  return { ...THERMOMETER };
}

/** @type {(gauge: Record<string, any>, known: Known, scales: Scales) => Array<Record<string, any>>} */
export function assumed(gauge, known, scales) {
  const used = usedConditions(gauge);
  const moving = edgeConditions(gauge);
  /** @type {Array<Record<string, any>>} */
  const listed = [];
  for (const condition of gauge.conditions) {
    const name = condition.id;
    const limit = conditionLimit(condition, scales);
    if (moving.has(name) && name in known && limit) {
      listed.push({ kind: "thermometer", condition: name, ...limit });
    }
    const none = Object.keys(condition.if_unknown ?? {}).length === 0;
    if (!used.has(name) || name in known || none) continue;
    const weights = ifUnknown(condition);
    const source = condition.source ?? null;
    listed.push({ kind: "unknown-condition", condition: name, weights, source });
  }
  return listed;
}

/** @type {(value: number, context: any) => string | null} */
export function bandOfNumber(value, context) {
  for (const { id, from, below } of context?.bands ?? []) {
    const above = from === null || from === undefined || from <= value;
    if (above && (below === null || below === undefined || value < below)) return id;
  }
  return null;
}

export const CLEAR_BAND = 0.8;
const EVEN = 1e-9; // a reading right on an edge belongs to the band that starts there

/**
 * What a reading says. `band_weights` sum to 1 and are empty while `question` is open.
 * `certainty` is the weight of the band the reading itself lies in, counted only under the
 * conditions where it does lie there, so a coarser meter can never raise it.
 * @typedef {object} Interpretation
 * @property {string} gauge
 * @property {number} value in the gauge's unit
 * @property {string} unit
 * @property {number} sigma
 * @property {Record<string, number>} band_weights
 * @property {string | null} band
 * @property {number} certainty
 * @property {boolean} near_edge
 * @property {Array<Record<string, any>>} assumptions
 * @property {SlipQuestion | null} question
 * @property {string[]} sources
 */

/**
 * @typedef {{weights: Record<string, number>, inside: Record<string, number>, sigma: number, total: number,
 *   sources: string[]}} Sum
 */

/** @typedef {{chosen: Known, weight: number, known: Known, scales: Scales}} World */

/**
 * @type {(gauge: Record<string, any> & {id: string}, reading: Record<string, any>, conditions: Record<string, any>,
 *   scales: Scales) => Interpretation}
 */
export function interpret(gauge, reading, conditions, scales) {
  const { typed, assumptions } = readValue(gauge, reading, scales);
  const value = convert(typed.value, typed.unit, typed.canonicalUnit, scales.units);
  const confirmed = reading.confirmed === true;
  const read = knownConditions(gauge, conditions, scales, confirmed);
  let { question } = read;
  if (!confirmed) question = gaugeSlip(gauge, typed, scales.units) ?? question;
  else if (!(typed.low <= value && value <= typed.high)) {
    throw new ReadingRefused("value", "outside-plausible", typed.value);
  }
  if (question) return asked(gauge, value, assumptions, question);
  /** @type {Sum} */
  const found = { weights: {}, inside: {}, sigma: 0, total: 0, sources: [] };
  for (const { id } of gauge.bands) {
    found.weights[id] = 0;
    found.inside[id] = 0;
  }
  for (const { chosen, weight } of mixture(gauge, read.known)) {
    addOne(gauge, value, { chosen, weight, known: read.known, scales }, found);
  }
  if (found.total <= 0) throw withoutTable(gauge, read.known, scales);
  return weighed(gauge, value, found, [...assumptions, ...assumed(gauge, read.known, scales)]);
}

/**
 * Names the condition that rules out every table by itself, if one does.
 * @type {(gauge: Record<string, any>, known: Record<string, any>, scales: Scales) => ReadingRefused}
 */
function withoutTable(gauge, known, scales) {
  const world = { chosen: known, weight: 1, known, scales };
  for (const [name, option] of Object.entries(known)) {
    const judged = (/** @type {any} */ table) => !(name in table.for) || fits({ [name]: table.for[name] }, world);
    if (!gauge.tables.some(judged)) return new ReadingRefused(name, "not-judged", option);
  }
  return new ReadingRefused("conditions", "no-table", "");
}

/**
 * @type {(gauge: Record<string, any>, value: number, assumptions: Array<Record<string, any>>, question: SlipQuestion) =>
 *   Interpretation}
 */
function asked(gauge, value, assumptions, question) {
  return {
    gauge: gauge.id,
    value,
    unit: gauge.unit,
    sigma: 0,
    band_weights: {},
    band: null,
    certainty: 0,
    near_edge: false,
    assumptions,
    question,
    sources: [],
  };
}

/**
 * @type {(gauge: Record<string, any>, value: number, found: Sum, assumptions: Array<Record<string, any>>) =>
 *   Interpretation}
 */
function weighed(gauge, value, found, assumptions) {
  let total = 0;
  for (const share of Object.values(found.weights)) total += share;
  /** @type {Record<string, number>} */
  const weights = {};
  for (const [name, share] of Object.entries(found.weights)) weights[name] = share / total;
  const most = Math.max(...Object.values(weights));
  /** @type {string | null} */
  let band = null;
  for (const [name, weight] of Object.entries(weights)) {
    const inside = found.inside[name] ?? 0;
    if (weight >= most - EVEN && (band === null || inside > (found.inside[band] ?? 0))) band = name;
  }
  const certainty = Math.max(...Object.values(found.inside)) / found.total;
  return {
    gauge: gauge.id,
    value,
    unit: gauge.unit,
    sigma: found.sigma / found.total,
    band_weights: weights,
    band,
    certainty,
    near_edge: certainty < CLEAR_BAND,
    assumptions,
    question: null,
    sources: found.sources,
  };
}

/**
 * @param {Record<string, any>} gauge
 * @param {Record<string, any>} reading
 * @param {Scales} scales
 */
function readValue(gauge, reading, scales) {
  const value = readNumber(reading.value, "value");
  /** @type {Array<Record<string, any>>} */
  const assumptions = [];
  let unit = gauge.unit;
  if (reading.unit === undefined || reading.unit === null || reading.unit === "") {
    assumptions.push({ kind: "unit", unit });
  } else unit = knownUnit(reading.unit, gauge.accepts, scales.units);
  const { low, high } = gauge.plausible;
  /** @type {Typed} */
  const typed = {
    field: "value",
    value,
    unit,
    canonicalUnit: gauge.unit,
    accepts: gauge.accepts,
    low,
    high,
  };
  return { typed, assumptions };
}

/** @type {(when: Record<string, any> | null | undefined, world: World) => boolean} */
function fits(when, world) {
  return Object.entries(when ?? {}).every(([name, wanted]) => {
    const options = Array.isArray(wanted) ? wanted : [wanted];
    const value = world.chosen[name];
    if (typeof value !== "number") return options.includes(value);
    return options.includes(bandOfNumber(value, world.scales.contexts[name]));
  });
}

/** @type {(found: Sum, mark: string | null | undefined) => void} */
function cite(found, mark) {
  if (mark && !found.sources.includes(mark)) found.sources.push(mark);
}

/** @type {(gauge: Record<string, any>, value: number, world: World, found: Sum) => void} */
function addOne(gauge, value, world, found) {
  const table = gauge.tables.find((/** @type {any} */ each) => fits(each.for, world));
  if (!table) return;
  const spread = variance(gauge, value, world, found);
  found.total += world.weight;
  found.sigma += world.weight * Math.sqrt(spread);
  cite(found, table.source);
  for (const band of table.bands) {
    const low = edgeOf(band.from, -Infinity, gauge, world);
    const high = edgeOf(band.below, Infinity, gauge, world);
    const share = normalBetween(
      zOf(low.at, value, Math.sqrt(spread + low.extra)),
      zOf(high.at, value, Math.sqrt(spread + high.extra)),
    );
    found.weights[band.band] = (found.weights[band.band] ?? 0) + world.weight * share;
    if (low.at <= value && value < high.at) {
      found.inside[band.band] = (found.inside[band.band] ?? 0) + world.weight * share;
      cite(found, band.source);
    }
  }
}

/** @type {(edge: number, value: number, sigma: number) => number} */
function zOf(edge, value, sigma) {
  if (sigma > 0) return (edge - value) / sigma;
  return edge <= value ? -Infinity : Infinity;
}

/** @type {(gauge: Record<string, any>, value: number, world: World, found: Sum) => number} */
function variance(gauge, value, world, found) {
  let sum = 0;
  const meters = gauge.meters ?? {};
  const classes = Object.keys(meters)
    .filter((name) => name !== "source")
    .sort(compareText);
  if (classes.length > 0) {
    const name = String(world.chosen.meter ?? classes[0]);
    if (!classes.includes(name)) throw new ReadingRefused("meter", "unknown-option", name, classes);
    const limit = (Math.abs(value) * meters[name].percent) / 100 + meters[name].plus;
    sum += (limit / 2) * (limit / 2);
    cite(found, meters.source);
  }
  for (const spread of gauge.spread ?? []) {
    if (fits(spread.when, world)) {
      sum += spread.plus * spread.plus;
      cite(found, spread.source);
    }
  }
  return sum;
}

/**
 * Return an edge under these conditions and the variance the thermometer adds to it.
 * @param {any} edge
 * @param {number} openEnd
 * @param {Record<string, any>} gauge
 * @param {World} world
 */
function edgeOf(edge, openEnd, gauge, world) {
  if (edge === null || edge === undefined) return { at: openEnd, extra: 0 };
  if (typeof edge === "number") return { at: edge, extra: 0 };
  const { scales } = world;
  const name = edge.by;
  const given = world.chosen[name];
  if (given === undefined) throw new ReadingRefused(name, "condition-needed", "");
  const at = Number(given);
  const unit = scales.contexts[name]?.unit ?? edge.unit;
  const here = edgeAt(edge, at, unit, scales);
  const condition = gauge.conditions.find((/** @type {any} */ each) => each.id === name);
  const limit = name in world.known ? conditionLimit(condition, scales) : null;
  if (!limit) return { at: here, extra: 0 };
  const zero = convert(0, limit.unit, unit, scales.units);
  const off = Math.abs(convert(limit.value, limit.unit, unit, scales.units) - zero) / 2;
  const low = edgeAt(edge, at - off, unit, scales);
  const high = edgeAt(edge, at + off, unit, scales);
  const sigma = Math.abs(high - low) / 2;
  return { at: here, extra: sigma * sigma };
}

/**
 * Read a straight line between points; outside them the nearest end holds.
 * @type {(edge: any, at: number, unit: string, scales: Scales) => number}
 */
function edgeAt(edge, at, unit, scales) {
  const x = convert(at, unit, edge.unit, scales.units);
  /** @type {Array<[number, number]>} */
  const points = edge.points;
  let [x0, y0] = /** @type {[number, number]} */ (points[0]);
  if (x <= x0) return y0;
  for (const [x1, y1] of points.slice(1)) {
    if (x <= x1) return y0 + (y1 - y0) * ((x - x0) / (x1 - x0));
    [x0, y0] = [x1, y1];
  }
  return y0;
}
