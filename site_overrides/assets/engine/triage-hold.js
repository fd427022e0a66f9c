/**
 * Reasoning room: the parts not to buy yet, with price, chance and what would settle it.
 *
 * Rule 8 of the policy; twin of triage_hold.py.
 *
 * @import { Cause } from "../knowledge/types.js"
 * @import { Because } from "./findings.js"
 * @import { Planning } from "./triage-plan.js"
 * @import { Matter, RepairChoice } from "./triage-settle.js"
 */
import { isSupplyCause } from "./supply.js";
import { causeOf } from "./triage-settle.js";

const MOST_HELD = 6;

/**
 * @typedef {object} Held
 * @property {string} part
 * @property {string} cause
 * @property {number} price_low
 * @property {number} price_high
 * @property {string} currency
 * @property {number} probability_at_fault
 * @property {Because} until
 */

/**
 * List the parts not to buy yet by rule 8, likeliest first, each part once.
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {RepairChoice | null} repair
 * @returns {Held[]}
 */
export function holdOff(matter, planning, repair) {
  const bought = repair ? causeOf(matter, repair.cause).repair.part : null;
  /** @type {Map<string, Held>} */
  const held = new Map();
  for (const name of planning.causes) {
    const cause = causeOf(matter, name);
    const { part, price } = cause.repair;
    if (part === null || held.has(part) || part === bought || repair?.cause === name) continue;
    held.set(part, {
      part,
      cause: name,
      price_low: price.low,
      price_high: price.high,
      currency: price.currency,
      probability_at_fault: matter.posteriors[name] ?? 0,
      until: until(matter, name, cause),
    });
  }
  return [...held.values()].slice(0, MOST_HELD);
}

/**
 * Say, as data, what would settle whether to buy a part.
 * @param {Matter} matter
 * @param {string} name
 * @param {Cause} cause
 * @returns {Because}
 */
function until(matter, name, cause) {
  const outside = !isSupplyCause(matter.knowledge, name);
  if (outside && matter.supply.state !== "sound") return { kind: "supply-sound" };
  const open = cause.confirmed_by.find(({ check }) => !matter.findings.results[check]);
  return open ? { kind: "check", ...open } : { kind: "likelier", cause: name };
}
