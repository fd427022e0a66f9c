/**
 * Works out a sum from what a reader typed: reads inputs, calls the named formula, returns
 * figures with ranges and a verdict, or says which input cannot be used and why.
 * Twin of `build_tools/measure/sums.py`.
 */

import { closest, convert, knownUnit, plausibleSlip, ReadingRefused, readNumber } from "./gauges-numbers.js";
import * as load from "./sums-battery.js";
import * as rest from "./sums-battery.js";
import * as charging from "./sums-car.js";
import * as parked from "./sums-car.js";
import { plainNumber, SumRefusedError } from "./sums-parts.js";

/** @typedef {import("./gauges-numbers.js").SlipQuestion} SlipQuestion */
/** @typedef {import("./sums-parts.js").Interval} Interval */
/** @typedef {import("./sums-parts.js").Outcome} Outcome */
/** @typedef {import("./sums-parts.js").Sum} Sum */

/** @type {Record<string, (given: Sum) => Outcome>} */
export const FORMULAS = {
  "charge-from-voltage": rest.chargeFromVoltage,
  "gravity-corrected": rest.gravityCorrected,
  "cell-spread": rest.cellSpread,
  "freezing-point": rest.freezingPoint,
  "volts-from-cell": rest.voltsFromCell,
  "load-test": load.loadTest,
  "hand-tester": load.handTester,
  "internal-resistance": load.internalResistance,
  "rating-converted": load.ratingConverted,
  "rating-ratio": load.ratingRatio,
  "drop-limit": charging.dropLimit,
  "alternator-output": charging.alternatorOutput,
  "charge-time": charging.chargeTime,
  "drive-recharge": charging.driveRecharge,
  "charger-voltage": charging.chargerVoltage,
  "regulator-voltage": charging.regulatorVoltage,
  "charge-moved": charging.chargeMoved,
  "slow-charge-rate": charging.slowChargeRate,
  "fuse-drop-current": parked.fuseDropCurrent,
  "days-until-no-start": parked.daysUntilNoStart,
  "own-loss": parked.ownLoss,
  "reserve-capacity": parked.reserveCapacity,
  "run-time": parked.runTime,
  "cold-margin": parked.coldMargin,
};

/**
 * A number input has a unit and limits, a choice input has options.
 * @typedef {{id: string, label: string, optional: boolean, hint?: string, unit?: string, accepts?: string[],
 *   low?: number, high?: number, options?: {id: string, label: string}[],
 *   if_left_out?: {says: string, unless?: string[]}}} SumInput
 */

/**
 * @typedef {{id: string, formula: string, inputs: SumInput[],
 *   constants?: Record<string, {value: number, unit: string, source: string}>,
 *   tables?: Record<string, {source: string, points: [number, number][]}>}} SumDefinition
 */

/**
 * Which input cannot be used; `reason` is a code or a refusal id of the sum.
 * @typedef {{field: string, reason: string, given: string, options: string[]}} Refusal
 */

/**
 * A sum's answer as data; exactly one of `verdict` and `refused` is set.
 * @typedef {object} SumResult
 * @property {string} id
 * @property {Record<string, number>} numbers
 * @property {Record<string, string>} choices
 * @property {string | null} verdict
 * @property {Record<string, Interval>} outputs
 * @property {Refusal | null} refused
 * @property {SlipQuestion | null} question beside a refusal: a slip explains the number
 * @property {string[]} assumedUnits inputs that came without a unit
 */

/** @typedef {Pick<Sum, "numbers" | "choices"> & {assumedUnits: string[]}} Inputs */

/** @type {(entry: SumInput, given: unknown) => string} */
function readChoice(entry, given) {
  const options = (entry.options ?? []).map((option) => option.id);
  if (typeof given === "string" && options.includes(given)) return given;
  const text = typeof given === "string" ? given : "";
  const near = closest(text, options);
  throw new ReadingRefused(entry.id, "unknown-option", text, near.length ? near : options);
}

/** Refuses a number outside an input's limits, with what was probably meant. */
class OutsideLimits extends ReadingRefused {
  /**
   * @param {string} field
   * @param {unknown} raw
   * @param {string[]} limits
   * @param {SlipQuestion | null} question
   */
  constructor(field, raw, limits, question) {
    super(field, "outside-limits", typeof raw === "number" ? plainNumber(raw) : raw, limits);
    this.question = question !== null && question.likely_value !== null ? question : null;
  }
}

/**
 * @type {(entry: SumInput, given: any, units: Record<string, any>, read: Inputs) => void}
 * @param read filled in place
 */
function readQuantity(entry, given, units, read) {
  const canonical = /** @type {string} */ (entry.unit);
  const accepts = entry.accepts ?? [canonical];
  const isPair = typeof given === "object" && given !== null;
  const raw = isPair ? given.value : given;
  let unit = isPair ? given.unit : null;
  if (unit === undefined || unit === null || unit === "") {
    unit = canonical;
    read.assumedUnits.push(entry.id);
  } else {
    unit = knownUnit(unit, accepts, units, entry.id);
  }
  const number = readNumber(raw, entry.id);
  const value = convert(number, unit, canonical, units);
  const low = /** @type {number} */ (entry.low);
  const high = /** @type {number} */ (entry.high);
  if (!(low <= value && value <= high)) {
    const typed = {
      field: entry.id,
      value: number,
      unit,
      canonicalUnit: canonical,
      accepts,
      low,
      high,
    };
    const limits = [plainNumber(low), plainNumber(high)];
    throw new OutsideLimits(entry.id, raw, limits, plausibleSlip(typed, units));
  }
  read.numbers[entry.id] = value;
}

/** @param {any} value */
function isAbsent(value) {
  const plain = typeof value === "object" && value !== null ? value.value : value;
  return plain === undefined || plain === null || plain === "";
}

/**
 * @type {(definition: SumDefinition, given: Record<string, unknown>, units: Record<string, any>, read: Inputs) => void}
 * @param read filled in place
 */
function readInputs(definition, given, units, read) {
  const known = definition.inputs.map((entry) => entry.id);
  for (const name of Object.keys(given).sort()) {
    if (!known.includes(name)) {
      const near = closest(name, known);
      throw new ReadingRefused(name, "unknown-input", name, near.length ? near : known);
    }
  }
  for (const entry of definition.inputs) {
    const value = given[entry.id];
    if (isAbsent(value)) {
      if (!entry.optional) throw new ReadingRefused(entry.id, "missing", "");
    } else if (entry.options) {
      read.choices[entry.id] = readChoice(entry, value);
    } else {
      readQuantity(entry, value, units, read);
    }
  }
}

/** @type {(constants: Record<string, {value: number}>) => Record<string, number>} */
function plainConstants(constants) {
  return Object.fromEntries(Object.entries(constants).map(([name, entry]) => [name, entry.value]));
}

/**
 * @param {SumDefinition} definition the compiled sum
 * @param {Record<string, unknown>} given input id -> number, text, option id or {value, unit}
 * @param {Record<string, any>} units the compiled unit list
 * @returns {SumResult}
 */
export function workOut(definition, given, units) {
  /** @type {Inputs} */
  const read = { numbers: {}, choices: {}, assumedUnits: [] };
  /** @type {SumResult} */
  const result = {
    id: definition.id,
    ...read,
    verdict: null,
    outputs: {},
    refused: null,
    question: null,
  };
  try {
    readInputs(definition, given, units, read);
    const constants = plainConstants(definition.constants ?? {});
    const tables = Object.fromEntries(
      Object.entries(definition.tables ?? {}).map(([name, entry]) => [name, entry.points]),
    );
    const { numbers, choices } = read;
    return { ...result, ...FORMULAS[definition.formula]({ numbers, choices, constants, tables }) };
  } catch (problem) {
    if (problem instanceof ReadingRefused) {
      const { field, reason, given: typed, options } = problem;
      const question = problem instanceof OutsideLimits ? problem.question : null;
      return { ...result, refused: { field, reason, given: typed, options }, question };
    }
    if (problem instanceof SumRefusedError) {
      const refused = { field: problem.field, reason: problem.refusal, given: "", options: [] };
      return { ...result, refused };
    }
    throw problem;
  }
}
