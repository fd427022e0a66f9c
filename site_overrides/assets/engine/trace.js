/**
 * Which findings raised or lowered each cause, as data: their weights of evidence. Twin of
 * trace.py.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Findings } from "./findings.js"
 */

import { compareText } from "../measure/gauges-numbers.js";
import { contextOdds, contextTimes, networkOf } from "./findings.js";
import { repairedOdds } from "./mended.js";
import { infer, sumWork } from "./noisy-max.js";
import { rounded } from "./planning.js";

// Beyond one in a million the log-odds are kept still: the digits there are rounding.
const EXTREME = 1e-6;
const NOTHING = 1e-9;

/** Numbers the sums of one trace may go through, each counted as that of all findings. */
const TRACE_LIMIT = 2_000_000;

/**
 * The weight of evidence of one finding for one cause: `change` is the natural log-odds with the finding minus
 * without it, above 0 where it raised the cause.
 * @typedef {{kind: "symptom" | "past" | "absent" | "check" | "context" | "repair", id: string, change: number}} EvidenceWeight
 */

/** @typedef {{kind: EvidenceWeight["kind"], id: string, less: Pick<Findings, "odds" | "evidence">}} LeftOut */

/** Return the natural log-odds, held within one in a million at both ends. @param {number} probability */
function logOdds(probability) {
  const kept = Math.min(1 - EXTREME, Math.max(EXTREME, probability));
  return Math.log(kept / (1 - kept));
}

/**
 * @type {(knowledge: Knowledge, car: Case, findings: Findings, posteriors: Record<string, number>) =>
 *   Record<string, EvidenceWeight[]>}
 */
export function trace(knowledge, car, findings, posteriors) {
  const network = networkOf(knowledge);
  /** @type {Record<string, EvidenceWeight[]>} */
  const weights = Object.fromEntries(network.causes.map(({ id }) => [id, []]));
  const work = sumWork(network, findings.odds, findings.evidence);
  if (Object.keys(findings.evidence).length * work > TRACE_LIMIT) return weights;
  for (const { kind, id, less } of leftOut(knowledge, car, findings)) {
    const without = infer(network, less.odds, less.evidence).posteriors;
    for (const cause of network.causes) {
      const change = logOdds(posteriors[cause.id]) - logOdds(without[cause.id]);
      if (Math.abs(change) > NOTHING) weights[cause.id].push({ kind, id, change });
    }
  }
  for (const found of Object.values(weights)) {
    found.sort(
      (a, b) =>
        rounded(Math.abs(b.change)) - rounded(Math.abs(a.change)) ||
        compareText(a.kind, b.kind) ||
        compareText(a.id, b.id),
    );
  }
  return weights;
}

/** @type {(knowledge: Knowledge, car: Case, findings: Findings) => LeftOut[]} */
function leftOut(knowledge, car, findings) {
  /** @type {LeftOut[]} */
  const left = [];
  for (const id of Object.keys(findings.evidence)) {
    if (findings.unnamed.includes(id)) continue;
    const evidence = { ...findings.evidence };
    delete evidence[id];
    /** @type {EvidenceWeight["kind"]} */
    let kind = "check";
    if (id in knowledge.symptoms) kind = car.symptoms.includes(id) ? "symptom" : "absent";
    if (kind === "absent" && car.past?.includes(id)) kind = "past";
    left.push({ kind, id, less: { odds: findings.odds, evidence } });
  }
  for (const id of Object.keys(findings.answers).sort(compareText)) {
    const fewer = { ...findings.answers };
    delete fewer[id];
    const times = contextTimes(knowledge, fewer);
    if (sameTimes(times, findings.times)) continue;
    const odds = repairedOdds(knowledge, contextOdds(knowledge, times), findings.repairs);
    left.push({ kind: "context", id, less: { odds, evidence: findings.evidence } });
  }
  for (const id of Object.keys(findings.repairs)) {
    const { [id]: _, ...others } = findings.repairs;
    const odds = repairedOdds(knowledge, contextOdds(knowledge, findings.times), others);
    left.push({ kind: "repair", id, less: { odds, evidence: findings.evidence } });
  }
  return left;
}

/** @type {(one: Record<string, number>, other: Record<string, number>) => boolean} */
function sameTimes(one, other) {
  const names = new Set([...Object.keys(one), ...Object.keys(other)]);
  return [...names].every((name) => one[name] === other[name]);
}
