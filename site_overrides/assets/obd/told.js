/**
 * Data room: turn what was pasted, ticked and typed into one readout and the facts beside it.
 *
 * What is not typed stays unknown. What the reader types stands in for what the text lacks and
 * never replaces what the car itself said. It judges nothing.
 *
 * @import { Kept } from "./kept-readiness.js"
 * @import { Readout } from "./readout.js"
 * @import { Case, Fact } from "../knowledge/types.js"
 * @import { WholeReadout } from "./evidence.js"
 */
import { numberOf } from "../kit/numbers.js";
import { recogniseCode } from "./codes.js";
import { readTicks, valueGiven } from "./readout.js";
import { readWhole } from "./readout-more.js";

const KM_PER_MILE = 1.609344;
/** Fields that stand in for a value of the readout: its PID and name. */
const VALUES = /** @type {const} */ ([
  ["warm-ups", 0x30, "warm-ups-since-clear", ""],
  ["distance", 0x31, "distance-since-clear", "km"],
  ["fuel", 0x2f, "fuel-level", "percent"],
]);
const MOST = { "warm-ups": 255, distance: 70_000, fuel: 100 };

/**
 * Read a typed temperature in degrees Celsius.
 * @type {(told: Record<string, string>, name: string) => number | null}
 */
export function celsiusOf(told, name) {
  const number = numberOf(told[name]);
  if (number === null) return null;
  return told[`${name}-unit`] === "degF" ? ((number - 32) * 5) / 9 : number;
}

/** @type {(told: Record<string, string>, name: "warm-ups" | "distance" | "fuel") => number | null} */
function valueTold(told, name) {
  const number = numberOf(told[name]);
  if (number === null) return null;
  const value = name === "distance" && told["distance-unit"] === "mi" ? number * KM_PER_MILE : number;
  return value >= 0 && value <= MOST[name] ? value : null;
}

/** Cut what was typed for codes into words. @param {string | undefined} typed */
export function wordsIn(typed) {
  return (typed ?? "").split(/[\s,;]+/).filter((each) => each !== "");
}

/**
 * Find the codes in typed words; what is no code is handed back.
 * @type {(typed: string | undefined) => {codes: string[], strange: string[]}}
 */
export function codesIn(typed) {
  /** @type {{codes: string[], strange: string[]}} */
  const found = { codes: [], strange: [] };
  for (const word of wordsIn(typed)) {
    const { code, suggestion, form } = recogniseCode(word);
    if (code !== null && form === "code") found.codes.push(code);
    else found.strange.push(suggestion === null ? word : `${word} (${suggestion}?)`);
  }
  return { codes: [...new Set(found.codes)], strange: found.strange };
}

/**
 * Add what was typed to a readout that does not hold it.
 * @template {Readout} R
 * @param {R} readout
 * @param {Record<string, string>} told
 * @returns {R}
 */
function withTold(readout, told) {
  const values = [...readout.values];
  for (const [name, pid, id, unit] of VALUES) {
    const value = valueTold(told, name);
    if (value === null || valueGiven(readout, id) !== null) continue;
    const pidText = pid.toString(16).toUpperCase();
    values.push({ ecu: "told", pid: pidText, name: id, value, unit, text: null, at_limit: false });
  }
  const codes = [...readout.codes];
  const services = [...readout.code_services];
  for (const kind of ["confirmed", "pending", "permanent"]) {
    if (services.includes(kind)) continue;
    const typed = codesIn(told[`codes-${kind}`]).codes;
    if (typed.length === 0 && told[`codes-${kind}-none`] !== "yes") continue;
    services.push(kind);
    codes.push(...typed.map((code) => ({ code, kind, ecu: "told" })));
  }
  return { ...readout, values, codes, code_services: services };
}

/** Read what the reader gave, the way they gave it. @type {(kept: Kept) => ReturnType<typeof readoutWith>} */
export function readoutOf({ way, text, ticks, told }) {
  const count = ticks.count.trim() === "" ? null : (numberOf(ticks.count) ?? -1);
  return readoutWith(way === "text" ? text : { ...ticks, count }, told);
}

/**
 * Read a text or ticked boxes, with what was typed beside it.
 * @type {(given: string | Record<string, unknown>, told: Record<string, string>) =>
 *   Readout & Required<WholeReadout> & ReturnType<typeof readWhole>}
 */
export function readoutWith(given, told) {
  const more = readWhole(typeof given === "string" ? given : "");
  return withTold(typeof given === "string" ? more : { ...more, ...readTicks(given) }, told);
}

/** @type {(word: string | undefined) => boolean | null} */
export function truthOf(word) {
  return word === "yes" ? true : word === "no" ? false : null;
}

/**
 * Collect the typed facts that are readings or context of the checker's own.
 * @param {Record<string, string>} told
 * @returns {{context: Record<string, Fact>, readings: Record<string, {value: number, unit: string}>}}
 */
function forCase(told) {
  /** @type {Record<string, Fact>} */
  const context = {};
  for (const id of ["power-lost-lately", "trip-length"]) if (told[id]) context[id] = told[id];
  const ambient = celsiusOf(told, "ambient");
  if (ambient !== null && ambient >= -40 && ambient <= 60) context.temperature = { value: ambient, unit: "degC" };
  /** @type {Record<string, {value: number, unit: string}>} */
  const readings = {};
  const volts = numberOf(told.volts);
  if (volts !== null) readings["watch-module-voltage"] = { value: volts, unit: "V" };
  const coolant = celsiusOf(told, "coolant");
  if (coolant !== null) readings["watch-warm-up"] = { value: coolant, unit: "degC" };
  return { context, readings };
}

/**
 * Lay the typed facts over a case, or over an empty one.
 * @type {(car: Case | null, told: Record<string, string>) => Case}
 */
export function caseTold(car, told) {
  const { context, readings } = forCase(told);
  const kept = car ?? { symptoms: [], context: {}, readings: {}, outcomes: {}, not_possible: [] };
  return { ...kept, context: { ...kept.context, ...context }, readings: { ...kept.readings, ...readings } };
}
