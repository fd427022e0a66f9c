/**
 * Which causes a reader is told of.
 *
 * @import { Advice } from "./triage.js"
 */

/**
 * Return the causes to name to a reader: up to `most` of those that explain something found.
 * @param {Advice} advice
 * @param {number} most
 */
export function namedCauses(advice, most) {
  return advice.causes.slice(0, most).filter(({ explains }) => explains);
}
