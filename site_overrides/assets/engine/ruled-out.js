/**
 * Which causes the checks made unlikely.
 *
 * Compares the chances with the results and without them; it decides nothing.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Advice } from "./triage.js"
 */
import { find, networkOf } from "./findings.js";
import { infer } from "./noisy-max.js";

/** A cause was worth thinking of from here on, and is as good as ruled out below: our choice. */
const WORTH_THINKING = 0.05;
const AS_GOOD_AS_OUT = 0.02;

/** @typedef {{id: string, title: string, before: number, now: number}} RuledOut */

/**
 * List the causes that the results took from worth thinking of to as good as ruled out, those
 * first that were likeliest before.
 * @type {(knowledge: Knowledge, car: Case, advice: Advice) => RuledOut[]}
 */
export function ruledOut(knowledge, car, advice) {
  if (Object.keys(advice.findings.results).length === 0) return [];
  const without = find(knowledge, { ...car, readings: {}, outcomes: {} });
  const before = infer(networkOf(knowledge), without.odds, without.evidence).posteriors;
  return advice.causes
    .filter(({ id, probability }) => (before[id] ?? 0) >= WORTH_THINKING && probability < AS_GOOD_AS_OUT)
    .map(({ id, title, probability }) => ({ id, title, before: before[id] ?? 0, now: probability }))
    .sort((a, b) => b.before - a.before || (a.id < b.id ? -1 : 1));
}
