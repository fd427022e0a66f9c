/**
 * Room kit: read what anyone can have written, in a link, a file or the device's storage: what has not
 * the wanted shape is nothing.
 */

/** No meter shows more; beyond it, arithmetic with units and tables overflows. */
export const LARGEST = 1e12;

/** @type {(value: unknown) => Record<string, unknown>} */
export function record(value) {
  const isRecord = value !== null && typeof value === "object" && !Array.isArray(value);
  return isRecord ? /** @type {Record<string, unknown>} */ (value) : {};
}

/** @type {(value: unknown) => string[]} */
export function texts(value) {
  return Array.isArray(value) ? value.filter((one) => typeof one === "string") : [];
}

/** A number within limits; null for anything else. @type {(value: unknown, low: number, high: number) => number|null} */
export function numberIn(value, low, high) {
  return typeof value === "number" && value >= low && value <= high ? value : null;
}
