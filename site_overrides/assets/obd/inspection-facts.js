/**
 * Room reasoning: what a verdict is made from and what it says.
 *
 * Same work as build_tools/obd/inspection_facts.py. It decides nothing.
 *
 * @import { Readout } from "./readout.js"
 * @typedef {{year: number|null, fuel: string|null, pounds: number|null,
 *   now?: number|null}} Vehicle `now`: the year of the test
 * @typedef {{no_answer: boolean, connector_dead: boolean, lamp_dark: boolean,
 *   retest_codes: string[], unread_codes: string[], repaired: string[], permanent_codes: number|null,
 *   pending_codes: number|null, warm_ups: number|null, distance_km: number|null,
 *   all_else_passes: boolean|null, certificate_expired: boolean|null,
 *   extension_used: boolean|null}} Facts
 * @typedef {{id: string, mark: string|null, monitors: string[], number: number|null,
 *   limit: number|null}} Reason
 * @typedef {{rule: string, result: string, confidence: string, why: Reason[],
 *   would_change: Reason[], flags: string[], allowed: number|null, allowed_only: string[]|null,
 *   incomplete: string[], forced: string[]}} Verdict
 */

import { texts } from "../kit/untrusted.js";
import { recogniseCode } from "./codes.js";
import { codesOf, valueGiven } from "./readout.js";

export const FUELS = ["gasoline", "diesel", "hybrid", "other"];
const FIRST_YEAR = 1960;
const LAST_YEAR = 2100;

/** @type {(told: Record<string, unknown>) => Vehicle} */
export function vehicleFrom(told) {
  const { fuel } = told;
  return {
    year: yearOf(told.year),
    fuel: typeof fuel === "string" && FUELS.includes(fuel) ? fuel : null,
    pounds: numberIn(told.pounds, 1, 1_000_000),
    now: yearOf(told.now),
  };
}

/** @param {unknown} told */
function yearOf(told) {
  const year = numberIn(told, FIRST_YEAR, LAST_YEAR);
  return Number.isInteger(year) ? year : null;
}

/** @type {(told: Record<string, unknown>) => Facts} */
export function factsFrom(told) {
  const typed = texts(told.retest_codes);
  const codes = typed.map((code) => recogniseCode(code).code);
  return {
    no_answer: told.no_answer === true,
    connector_dead: told.connector_dead === true,
    lamp_dark: told.lamp_dark === true,
    retest_codes: codes.filter((code) => code !== null),
    unread_codes: typed.filter((_, place) => codes[place] === null),
    repaired: texts(told.repaired),
    permanent_codes: countOf(told.permanent_codes),
    pending_codes: countOf(told.pending_codes),
    warm_ups: numberIn(told.warm_ups, 0, 65535),
    distance_km: numberIn(told.distance_km, 0, 10_000_000),
    all_else_passes: truth(told.all_else_passes),
    certificate_expired: truth(told.certificate_expired),
    extension_used: truth(told.extension_used),
  };
}

/** Fill in from the readout what the owner did not tell himself. @type {(facts: Facts, readout: Readout) => Facts} */
export function withReadout(facts, readout) {
  return {
    ...facts,
    permanent_codes: facts.permanent_codes ?? codesOf(readout, "permanent")?.length ?? null,
    pending_codes: facts.pending_codes ?? codesOf(readout, "pending")?.length ?? null,
    warm_ups: facts.warm_ups ?? valueGiven(readout, "warm-ups-since-clear"),
    distance_km: facts.distance_km ?? valueGiven(readout, "distance-since-clear"),
  };
}

/** @type {(id: string, more?: Partial<Reason>) => Reason} */
export function reason(id, more = {}) {
  return { id, mark: null, monitors: [], number: null, limit: null, ...more };
}

/** @type {(value: unknown, low: number, high: number) => number|null} */
function numberIn(value, low, high) {
  return typeof value === "number" && value >= low && value <= high ? value : null;
}

/** @param {unknown} value */
function countOf(value) {
  const number = numberIn(value, 0, 1000);
  return Number.isInteger(number) ? number : null;
}

/** @param {unknown} value */
function truth(value) {
  return typeof value === "boolean" ? value : null;
}
