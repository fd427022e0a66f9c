/**
 * Room reasoning: the parts from which inspection.js and inspection-count.js build a verdict.
 *
 * Same work as the first part of build_tools/obd/inspection.py. It decides nothing.
 *
 * @import { Facts, Reason, Vehicle, Verdict } from "./inspection-facts.js"
 * @import { Inspection, Monitor } from "../knowledge/readiness-types.js"
 * @typedef {{rule: Inspection, vehicle: Vehicle, facts: Facts,
 *   monitors: Record<string, Monitor>, flags: string[], marks: string[]}} Case
 */

import { reason } from "./inspection-facts.js";

export const MARKS = ["own", "own-mirror", "programme", "second-hand", "from-memory"];

/** Return the least sure of the marks; with none of them, "from-memory". @type {(marks: string[]) => string} */
function worstMark(marks) {
  const places = marks.map((mark) => MARKS.indexOf(mark)).filter((place) => place >= 0);
  return places.length ? MARKS[Math.max(...places)] : "from-memory";
}

/** @type {(told: Case, result: string, ...why: Reason[]) => Verdict} */
export function verdict(told, result, ...why) {
  const marks = [...told.marks, ...why.flatMap((one) => (one.mark ? [one.mark] : []))];
  return {
    rule: told.rule.id,
    result,
    confidence: worstMark(marks),
    why,
    would_change: [],
    flags: [],
    allowed: null,
    allowed_only: null,
    incomplete: [],
    forced: [],
  };
}

/** @type {(found: Verdict, ...ids: string[]) => Verdict} */
export function changed(found, ...ids) {
  return { ...found, would_change: [...found.would_change, ...ids.map((id) => reason(id))] };
}
