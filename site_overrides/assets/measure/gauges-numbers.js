/**
 * Room reasoning: numbers as people type them, and their units.
 *
 * Twin of build_tools/measure/gauges_numbers.py. It knows no gauge and no band.
 */

const NUMBER = /^([+-]?)([0-9]+)(?:([.,])([0-9]+))?$/;
const MOST_SUGGESTED = 3;
const THOUSANDS = 3;
/** No meter shows more; beyond it, arithmetic with units and tables overflows. */
export const LARGEST = 1e12;

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
