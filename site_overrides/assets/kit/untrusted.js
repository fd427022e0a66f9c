/**
 * Room kit: read what anyone can have written, in a link, a file or the device's storage: what has not
 * the wanted shape is nothing.
 */

/**
 * @param {unknown} value
 * @returns {Record<string, unknown>}
 */
export function record(value) {
  const isRecord = value !== null && typeof value === "object" && !Array.isArray(value);
  return isRecord ? /** @type {Record<string, unknown>} */ (value) : {};
}

/**
 * @param {unknown} value
 * @returns {string[]}
 */
export function texts(value) {
  return Array.isArray(value) ? value.filter((one) => typeof one === "string") : [];
}
