/**
 * The small parts every sum is made of: intervals, tables with straight lines between
 * their points, refusals. Twin of `build_tools/measure/sums_parts.py`.
 */

/**
 * A figure and the range it may lie in, all in one unit.
 * @typedef {{value: number, low: number, high: number}} Interval
 */

/**
 * What a formula is given: inputs in canonical units, choices, figures and tables.
 * @typedef {{numbers: Record<string, number>, choices: Record<string, string>, constants: Record<string, number>,
 *   tables: Record<string, [number, number][]>}} Sum
 */

/**
 * What a formula found: its figures and the verdict whose sentence is shown.
 * @typedef {{verdict: string, outputs: Record<string, Interval>}} Outcome
 */

/** Says that a sum has no honest answer; `refusal` is the id of the sentence to show. */
export class SumRefusedError extends Error {
  /**
   * @param {string} field
   * @param {string} refusal
   */
  constructor(field, refusal) {
    super(`${field}: ${refusal}`);
    this.name = "SumRefusedError";
    this.field = field;
    this.refusal = refusal;
  }
}

/** @type {(value: number, low: number, high: number) => Interval} */
export function interval(value, low, high) {
  return { value, low, high };
}

/** A figure that carries no range of its own. @param {number} value */
export function exactly(value) {
  return interval(value, value, value);
}

/** @type {(value: number, part: number) => Interval} */
export function around(value, part) {
  return interval(value, value * (1 - part), value * (1 + part));
}

/**
 * Reads a table at `x`: straight lines between its points, held level beyond its ends.
 * @param {[number, number][]} points ascending in x
 * @param {number} x
 */
export function between(points, x) {
  if (x <= points[0][0]) return points[0][1];
  for (let i = 0; i + 1 < points.length; i += 1) {
    const [left, low] = points[i];
    const [right, high] = points[i + 1];
    if (x <= right) return low + ((high - low) * (x - left)) / (right - left);
  }
  return points[points.length - 1][1];
}

/** @param {number} celsius */
export function toFahrenheit(celsius) {
  return (celsius * 9) / 5 + 32;
}

/** @param {number} fahrenheit */
export function toCelsius(fahrenheit) {
  return ((fahrenheit - 32) * 5) / 9;
}

/** Writes a limit or an entered number the way a person would, alike in every language. @param {number} value */
export function plainNumber(value) {
  if (Math.abs(value) >= 1e15) return "a number beyond 10^15";
  if (value !== 0 && Math.abs(value) < 1e-6) return "a number below 10^-6";
  return String(value);
}

/** A value at six decimals, so that 1.265 - 1.215 does not read 0.0499999. @param {number} value */
export function roundedToMillionth(value) {
  return Math.floor(value * 1e6 + 0.5) / 1e6;
}

/** @type {(value: number, low: number, high: number) => number} */
export function clamp(value, low, high) {
  return Math.min(Math.max(value, low), high);
}
