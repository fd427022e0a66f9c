/**
 * Room reasoning: the conditions a reading was taken under, known or mixed. Twin of
 * gauges_conditions.py.
 *
 * @import { SlipQuestion, Unit } from "./gauges-numbers.js"
 */
import {
  closest,
  compareText,
  convert,
  knownUnit,
  plausibleSlip,
  ReadingRefused,
  readNumber,
} from "./gauges-numbers.js";

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
export function conditionLimit(condition, scales) {
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
