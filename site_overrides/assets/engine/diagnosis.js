/**
 * What one case comes to before anything is planned: the findings, the posteriors and the
 * state of the supply, joined once for all that follows. Twin of diagnosis.py.
 *
 * @import { Case, Cause, Knowledge } from "../knowledge/types.js"
 * @import { Apart } from "./noisy-max.js"
 * @import { Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 */
import { find, networkOf, REACHED, sumFrom } from "./findings.js";
import { indexNetwork } from "./network.js";
import { inferNearly } from "./noisy-max.js";
import { judgeSupply } from "./supply.js";

/** Weight from which a result counts as confirming. */
const CONFIRMED = 0.8;

/** @typedef {{check: string, level: string}} Confirmation */

/**
 * One case with everything found out about it; `work` is that of its exact sum.
 * @typedef {object} Diagnosis
 * @property {Knowledge} knowledge
 * @property {Case} car
 * @property {Findings} findings
 * @property {Record<string, number>} posteriors
 * @property {number} logEvidence
 * @property {number} work
 * @property {Apart | null} apart where the exact sum was too much: the causes whose posteriors, as all, are near ones
 * @property {Supply} supply
 */

/** Work out findings, posteriors and the state of the supply. @type {(knowledge: Knowledge, car: Case) => Diagnosis} */
export function diagnose(knowledge, car) {
  const findings = find(knowledge, car);
  const inferred = inferNearly(networkOf(knowledge), findings.odds, findings.evidence);
  const supply = judgeSupply(knowledge, car, findings, inferred);
  return { knowledge, car, findings, ...inferred, supply };
}

/** @type {(diagnosis: Diagnosis, cause: Cause) => Confirmation | null} */
export function confirmation({ knowledge, findings }, cause) {
  for (const check of new Set(cause.confirmed_by.map((one) => one.check))) {
    const weights = findings.results[check];
    if (!weights) continue;
    const named = cause.confirmed_by.filter((one) => one.check === check).map((one) => one.level);
    const levels = knowledge.checks[check]?.levels.map(({ id }) => id) ?? [];
    let sum = 0;
    let [heaviest, level] = [-1, ""];
    levels.forEach((id, place) => {
      const weight = weights[place] ?? 0;
      if (!named.includes(id)) return;
      sum += weight;
      if (weight > heaviest) [heaviest, level] = [weight, id];
    });
    if (sum >= CONFIRMED) return { check, level };
  }
  return null;
}

/** @type {(knowledge: Knowledge, car: Case) => string[]} */
export function reportingSymptoms(knowledge, { symptoms = [], past = [] }) {
  const isRole = (/** @type {string} */ role) => (/** @type {string} */ name) =>
    knowledge.symptoms[name]?.role === role;
  const complaints = symptoms.filter(isRole("complaint"));
  const over = complaints.length > 0 ? complaints : past.filter(isRole("complaint"));
  return over.length > 0 ? over : symptoms.filter(isRole("circumstance"));
}

/** @type {(knowledge: Knowledge, car: Case, amiss?: string[]) => Set<string>} */
export function relevantCauses(knowledge, car, amiss = []) {
  const reported = reportingSymptoms(knowledge, car);
  const linked = linkedCauses(knowledge, reported.length > 0 ? reported : amiss);
  return linked.size > 0 ? linked : new Set(networkOf(knowledge).causes.map(({ id }) => id));
}

/** @type {(knowledge: Knowledge, names: string[]) => Set<string>} */
export function linkedCauses(knowledge, names) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  /** @type {Set<string>} */
  const linked = new Set();
  for (const name of names) {
    for (const [cause, row] of Object.entries(findingById.get(name)?.links ?? {})) {
      if ((row[0] ?? 1) < 1) linked.add(cause);
    }
  }
  return linked;
}

/** Return the checks whose result is not normal. @param {Findings} findings */
export function amissIn({ results }) {
  return Object.keys(results).filter((name) => sumFrom(results[name], 1) >= REACHED);
}
