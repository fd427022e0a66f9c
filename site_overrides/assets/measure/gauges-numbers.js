/**
 * Room reasoning: numbers as people type them, their units, and likely slips of either.
 *
 * Twin of build_tools/measure/gauges_numbers.py. It knows no band.
 */

import { LARGEST } from "../kit/untrusted.js";

const NUMBER = /^([+-]?)([0-9]+)(?:([.,])([0-9]+))?$/;
const MOST_SUGGESTED = 3;
const THOUSANDS = 3;

/** @typedef {{symbol?: string, quantity?: string, canonical: string, factor: number, offset: number}} Unit */

/** Says why a reading cannot be used: field, short reason, what was typed, what would do. */
export class ReadingRefused extends Error {
  /**
   * @param {string} field
   * @param {string} reason
   * @param {unknown} given
   * @param {string[]} [options]
   */
  constructor(field, reason, given, options = []) {
    const shown = given === null || given === undefined ? "" : String(given);
    super(`${field}: ${reason} (${shown})`);
    this.name = "ReadingRefused";
    this.field = field;
    this.reason = reason;
    this.given = shown;
    this.options = options;
  }
}

/** @type {(given: unknown, field: string) => number} */
export function readNumber(given, field) {
  if (typeof given === "number") {
    if (!(Math.abs(given) <= LARGEST)) throw new ReadingRefused(field, "not-finite", given);
    return given;
  }
  if (typeof given !== "string") throw new ReadingRefused(field, "not-a-number", given);
  const match = NUMBER.exec(given.trim().replace("\u2212", "-"));
  if (match === null) throw new ReadingRefused(field, "not-a-number", given);
  const [, sign, whole, point, decimals] = match;
  if (point === "," && decimals !== undefined && decimals.length === THOUSANDS) {
    throw new ReadingRefused(field, "comma-or-thousands", given);
  }
  const number = Number(`${sign}${whole}.${decimals ?? 0}`);
  if (!(Math.abs(number) <= LARGEST)) throw new ReadingRefused(field, "not-finite", given);
  return number;
}

/**
 * Count the edits between two words; swapped neighbours count as one.
 * @type {(one: string, other: string) => number}
 */
function distance(one, other) {
  /** @type {number[]} */
  let before = [];
  let row = Array.from({ length: other.length + 1 }, (_, i) => i);
  /** @type {(list: number[], i: number) => number} */
  const at = (list, i) => /** @type {number} */ (list[i]);
  for (let i = 1; i <= one.length; i += 1) {
    const below = [i];
    for (let j = 1; j <= other.length; j += 1) {
      const differ = one[i - 1] === other[j - 1] ? 0 : 1;
      let best = Math.min(at(row, j) + 1, at(below, j - 1) + 1, at(row, j - 1) + differ);
      const swapped = i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1];
      if (swapped) best = Math.min(best, at(before, j - 2) + 1);
      below.push(best);
    }
    before = row;
    row = below;
  }
  return at(row, other.length);
}

/**
 * Compare two texts by code point, the way ids are sorted everywhere here.
 * @type {(a: string, b: string) => 1 | 0 | -1}
 */
export function compareText(a, b) {
  if (a === b) return 0;
  return a < b ? -1 : 1;
}

/**
 * Return up to three of the options that a slip could have turned into `word`.
 * @type {(word: string, options: string[]) => string[]}
 */
export function closest(word, options) {
  const plain = word.toLowerCase().replaceAll("_", "-").replaceAll(" ", "-");
  const near = options
    .map((option) => ({ option, steps: distance(plain, option.toLowerCase()) }))
    .filter(({ steps }) => steps <= Math.max(1, Math.floor(plain.length / 3)));
  near.sort((a, b) => a.steps - b.steps || compareText(a.option, b.option));
  return near.slice(0, MOST_SUGGESTED).map(({ option }) => option);
}

/** @type {(given: unknown, accepts: string[], units: Record<string, Unit>, field?: string) => string} */
export function knownUnit(given, accepts, units, field = "unit") {
  const text = String(given ?? "").trim();
  if (accepts.includes(text)) return text;
  for (const unit of accepts) {
    const names = [unit, units[unit]?.symbol ?? unit].map((name) => name.toLowerCase());
    if (names.includes(text.toLowerCase())) return unit;
  }
  const close = closest(text, accepts);
  throw new ReadingRefused(field, "unknown-unit", text, close.length > 0 ? close : accepts);
}

/** @type {(value: number, source: string, target: string, units: Record<string, Unit>) => number} */
export function convert(value, source, target, units) {
  if (source === target) return value;
  const start = units[source];
  const end = units[target];
  if (!start || !end || start.canonical !== end.canonical) {
    throw new ReadingRefused("unit", "unknown-unit", source, [target]);
  }
  const base = value * start.factor + start.offset;
  return (base - end.offset) / end.factor;
}

const SHIFTS = [0.1, 10, 0.01, 100, 0.001, 1000];
// A gauge whose lowest edge is at least this share of its highest plausible value has a narrow
// working zone (12.06 to 12.6 of 16.5 V), so a reading ten times off stands out. A gauge of
// small limits (0.05 V) has none: there a tiny reading is simply a good one.
const ZONE_SHARE = 0.25;
const ZONE_MARGIN = 0.15;
const FAR_BELOW = 1 / 500;

/**
 * One typed number with what is plausible for it, limits in the canonical unit.
 * @typedef {{field: string, value: number, unit: string, canonicalUnit: string, accepts: string[], low: number,
 *   high: number}} Typed
 */

/**
 * Asks whether another value or unit was meant; no weight is used until answered.
 * @typedef {{field: string, typed_value: number, typed_unit: string, likely_value: number | null,
 *   likely_unit: string | null, why: "other-unit" | "decimal-point" | "outside-plausible", low: number, high: number,
 *   unit_of_limits: string}} SlipQuestion
 */

/** @typedef {{canonical: number, value: number, unit: string, why: SlipQuestion["why"]}} Candidate */

/** @type {(gauge: Record<string, any>) => {lowest: number, highest: number}} */
function edgeSpan(gauge) {
  /** @type {number[]} */
  const edges = [];
  for (const table of gauge.tables) {
    for (const band of table.bands) {
      for (const edge of [band.from, band.below]) {
        if (typeof edge === "number") edges.push(edge);
        else if (edge) for (const point of edge.points) edges.push(point[1]);
      }
    }
  }
  if (edges.length === 0) return { lowest: 0, highest: 0 };
  return { lowest: Math.min(...edges), highest: Math.max(...edges) };
}

/** @type {(typed: Typed, units: Record<string, Unit>) => Candidate[]} */
function candidates(typed, units) {
  /** @type {Candidate[]} */
  const found = [];
  for (const unit of typed.accepts) {
    if (unit === typed.unit) continue;
    const canonical = convert(typed.value, unit, typed.canonicalUnit, units);
    found.push({ canonical, value: typed.value, unit, why: "other-unit" });
  }
  for (const shift of SHIFTS) {
    const value = typed.value * shift;
    const canonical = convert(value, typed.unit, typed.canonicalUnit, units);
    found.push({ canonical, value, unit: typed.unit, why: "decimal-point" });
  }
  return found;
}

/**
 * @type {(typed: Typed, units: Record<string, Unit>, zone?: {low: number, high: number}) => SlipQuestion | null}
 * @param zone narrows what the likely value may be
 */
export function plausibleSlip(typed, units, zone = undefined) {
  const value = convert(typed.value, typed.unit, typed.canonicalUnit, units);
  if (typed.low <= value && value <= typed.high) return null;
  const { low, high } = zone ?? typed;
  const meant = candidates(typed, units).find(({ canonical }) => low <= canonical && canonical <= high);
  return meant ? question(typed, meant) : question(typed, null);
}

/** @type {(gauge: Record<string, any>, typed: Typed, units: Record<string, Unit>) => SlipQuestion | null} */
export function gaugeSlip(gauge, typed, units) {
  const { lowest, highest } = edgeSpan(gauge);
  const value = convert(typed.value, typed.unit, typed.canonicalUnit, units);
  const hasZone = lowest > 0 && lowest >= ZONE_SHARE * typed.high;
  const zone = hasZone
    ? { low: lowest * (1 - ZONE_MARGIN), high: Math.min(highest * (1 + ZONE_MARGIN), typed.high) }
    : undefined;
  const outside = plausibleSlip(typed, units, zone);
  if (outside) return outside;
  if (zone) return slipIntoZone(typed, value, zone, units);
  if (value > 0 && value < lowest * FAR_BELOW) {
    return slipFromFarBelow(typed, lowest, highest, units);
  }
  return null;
}

/**
 * @type {(typed: Typed, value: number, zone: {low: number, high: number}, units: Record<string, Unit>) =>
 *   SlipQuestion | null}
 */
function slipIntoZone(typed, value, zone, units) {
  if (zone.low / 2 <= value || value === 0) return null;
  const meant = candidates(typed, units).find(({ canonical }) => zone.low <= canonical && canonical <= zone.high);
  return meant ? question(typed, meant) : null;
}

/** @type {(typed: Typed, lowest: number, highest: number, units: Record<string, Unit>) => SlipQuestion | null} */
function slipFromFarBelow(typed, lowest, highest, units) {
  const meant = candidates(typed, units).find(({ canonical, why }) => {
    const near = lowest / 10 <= canonical && canonical <= highest * 10 && canonical <= typed.high;
    return why === "other-unit" && near;
  });
  return meant ? question(typed, meant) : null;
}

/** @type {(typed: Typed, meant: Candidate | null) => SlipQuestion} */
function question(typed, meant) {
  return {
    field: typed.field,
    typed_value: typed.value,
    typed_unit: typed.unit,
    likely_value: meant ? meant.value : null,
    likely_unit: meant ? meant.unit : null,
    why: meant ? meant.why : "outside-plausible",
    low: typed.low,
    high: typed.high,
    unit_of_limits: typed.canonicalUnit,
  };
}
