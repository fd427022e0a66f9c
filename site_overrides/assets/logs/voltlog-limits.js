/** Room logs: limits for what a log of volts may be taken for. Each limit names its source. */

import { interval } from "../measure/sums-parts.js";

/** @typedef {import("../measure/sums-parts.js").Interval} Interval */

// At least 3 h, better 8 h: AGM care text of an army manual (tm-9-6115-agm-care).
const SOME_HOURS = 3 * 3600;
const OVERNIGHT = 8 * 3600;
// Edges of the gauge for parked draw (parasitic-service-report, common practice).
const SMALL_DRAW = 0.05;
const LARGE_DRAW = 0.085;
const USED_SHARE = 0.8; // how far a used one falls short of its label: our estimate
export const LABEL_LIMITS = /** @type {const} */ ([10, 300]); // as in the sums that take ampere-hours
// Volts a percent of charge: slope of the trade table for flooded and of the remembered ones.
export const VOLTS_PER_PERCENT = /** @type {Record<string, number>} */ ({
  flooded: 0.0076,
  efb: 0.0076,
  agm: 0.01,
  gel: 0.01,
});
// What a car battery holds when nobody says: our estimate.
export const TYPICAL_CAPACITY = interval(60, 45, 80);

/**
 * The ampere-hours to count with: the label's, less for wear, or typical ones.
 * @type {(label: number | null) => Interval}
 */
export function capacityOf(label) {
  return label === null ? TYPICAL_CAPACITY : interval(label, label * USED_SHARE, label);
}

/** The rest that a stretch of this length counts as, null if it is too short. @param {number} seconds */
export function restOf(seconds) {
  if (seconds >= OVERNIGHT) return "overnight";
  return seconds >= SOME_HOURS ? "some-hours" : null;
}

/** small, large or unclear: whether the whole range lies on one side. @param {Interval} draw */
export function drawSize(draw) {
  if (draw.high < SMALL_DRAW) return "small";
  return draw.low >= LARGE_DRAW ? "large" : "unclear";
}
