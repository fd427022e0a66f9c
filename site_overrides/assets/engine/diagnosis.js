/**
 * What one case comes to before anything is planned: the findings, the exact posteriors and the
 * state of the supply, joined once for all that follows. Twin of diagnosis.py.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 */
import { find, networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { infer } from "./noisy-max.js";
import { judgeSupply } from "./supply.js";

/**
 * One case with everything found out about it; `work` is that of its exact sum.
 * @typedef {object} Diagnosis
 * @property {Knowledge} knowledge
 * @property {Case} car
 * @property {Findings} findings
 * @property {Record<string, number>} posteriors
 * @property {number} logEvidence
 * @property {number} work
 * @property {Supply} supply
 */

/**
 * Work out findings, posteriors and the state of the supply.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {Diagnosis}
 */
export function diagnose(knowledge, car) {
  const findings = find(knowledge, car);
  const inferred = infer(networkOf(knowledge), findings.odds, findings.evidence);
  const supply = judgeSupply(knowledge, car, findings, inferred.logEvidence);
  return { knowledge, car, findings, ...inferred, supply };
}

/**
 * Return the causes that can produce a complaint of this case; without a complaint, every cause
 * linked to something noticed; without that, all.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {Set<string>}
 */
export function relevantCauses(knowledge, car) {
  const network = networkOf(knowledge);
  const { findingById } = indexNetwork(network);
  for (const wanted of ["complaint", "circumstance"]) {
    /** @type {Set<string>} */
    const linked = new Set();
    for (const name of car.symptoms ?? []) {
      if (knowledge.symptoms[name]?.role !== wanted) continue;
      for (const [cause, row] of Object.entries(findingById.get(name)?.links ?? {})) {
        if ((row[0] ?? 1) < 1) linked.add(cause);
      }
    }
    if (linked.size > 0) return linked;
  }
  return new Set(network.causes.map(({ id }) => id));
}
