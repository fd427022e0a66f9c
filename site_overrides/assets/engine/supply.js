/**
 * Say whether the supply is proven. Twin of supply.py.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Inference } from "./noisy-max.js"
 */
import { networkOf, sumFrom } from "./findings.js";
import { indexNetwork } from "./network.js";
import { logProbability } from "./noisy-max.js";

const ASPECTS = ["battery", "connection", "charging", "drain"];
const ALWAYS = ["battery", "connection", "charging"];
const PROVEN_WEIGHT = 0.8;
const ABNORMAL_WEIGHT = 0.5;
const FAILING = 0.9;
const DOUBTFUL = 0.5;
const SOUND_BELOW = 0.2;
// A complaint that a drain causes at least this often ("sometimes") asks for the drain too.
const DRAIN_OFTEN = 0.35;
const SLACK = 1e-9;

/**
 * The state of the supply and why, as data. `proven` maps an aspect to the checks that prove
 * it, `open_aspects` are those still needed, `abnormal` the checks that came out abnormal;
 * `matters` says whether it can make what was noticed, or was checked.
 * @typedef {object} Supply
 * @property {"unproven" | "doubtful" | "failing" | "sound"} state
 * @property {number} probability P(at least one supply cause is present)
 * @property {Record<string, string[]>} proven
 * @property {string[]} open_aspects
 * @property {string[]} abnormal
 * @property {Because[]} because
 * @property {boolean} matters
 */

/** @type {(knowledge: Knowledge, car: Case, findings: Findings, inferred: Inference) => Supply} */
export function judgeSupply(knowledge, car, findings, inferred) {
  const probability = supplyProbability(knowledge, findings, inferred);
  const made = Object.keys(findings.results).filter((name) => (knowledge.checks[name]?.aspects.length ?? 0) > 0);
  const abnormal = made.filter((name) => sumFrom(findings.results[name] ?? [], 1) > ABNORMAL_WEIGHT);
  const proven = provenAspects(knowledge, findings, made);
  const needed = needsDrain(knowledge, car) ? [...ALWAYS, "drain"] : ALWAYS;
  const open = needed.filter((aspect) => !(aspect in proven));
  /** @type {Supply["state"]} */
  let state = "unproven";
  if (abnormal.length > 0 && probability >= FAILING) state = "failing";
  else if (open.length === 0 && probability < SOUND_BELOW) state = "sound";
  else if (abnormal.length > 0 || (made.length > 0 && probability >= DOUBTFUL)) state = "doubtful";
  /** @type {Because[]} */
  const because = [
    ...abnormal.map((check) => abnormalLevel(knowledge, findings, check)),
    ...Object.entries(proven).map(([aspect, checks]) => ({ kind: "proven", aspect, checks })),
    ...open.map((aspect) => ({ kind: "open", aspect })),
    { kind: "supply-probability", probability },
  ];
  const matters = made.length > 0 || mayMake(knowledge, car);
  return { state, probability, proven, open_aspects: open, abnormal, because, matters };
}

/** @type {(knowledge: Knowledge, findings: Findings, inferred: Inference) => number} */
function supplyProbability(knowledge, findings, { apart, logEvidence }) {
  const network = networkOf(knowledge);
  const odds = { ...findings.odds };
  let absent = 1;
  network.causes.forEach(({ id }, place) => {
    if (!isSupplyCause(knowledge, id)) return;
    const alone = apart?.posteriors.get(place);
    absent *= alone === undefined ? 1 / (1 + (odds[id] ?? 0)) : 1 - alone;
    if (alone === undefined) odds[id] = 0;
  });
  const { logSum } = logProbability(network, odds, findings.evidence, apart);
  return Math.min(1, Math.max(0, 1 - absent * Math.exp(logSum - logEvidence)));
}

/** Return whether a cause belongs to the supply. @type {(knowledge: Knowledge, cause: string) => boolean} */
export function isSupplyCause(knowledge, cause) {
  return knowledge.groups[knowledge.causes[cause]?.group ?? ""]?.supply === true;
}

/** @type {(knowledge: Knowledge, car: Case) => boolean} */
function mayMake(knowledge, car) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  const complaints = [...(car.symptoms ?? []), ...(car.past ?? [])].filter(
    (name) => knowledge.symptoms[name]?.role === "complaint",
  );
  const causes = complaints.flatMap((name) => Object.keys(findingById.get(name)?.links ?? {}));
  return complaints.length === 0 || causes.some((cause) => isSupplyCause(knowledge, cause));
}

/** @type {(knowledge: Knowledge, car: Case) => boolean} */
function needsDrain(knowledge, car) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  return [...(car.symptoms ?? []), ...(car.past ?? [])].some((name) => {
    if (knowledge.symptoms[name]?.role !== "complaint") return false;
    return Object.entries(findingById.get(name)?.links ?? {}).some(
      ([cause, row]) => 1 - (row[0] ?? 1) >= DRAIN_OFTEN - SLACK && knowledge.causes[cause]?.group === "drain",
    );
  });
}

/** @type {(knowledge: Knowledge, findings: Findings, made: string[]) => Record<string, string[]>} */
function provenAspects(knowledge, findings, made) {
  /** @type {Record<string, string[]>} */
  const proven = {};
  for (const aspect of ASPECTS) {
    const checks = made.filter((name) => {
      const check = knowledge.checks[name];
      const proves = check?.aspects.includes(aspect) && check.levels[0]?.proves === true;
      return proves && (findings.results[name]?.[0] ?? 0) >= PROVEN_WEIGHT;
    });
    if (checks.length > 0) proven[aspect] = checks;
  }
  return proven;
}

/** @type {(knowledge: Knowledge, findings: Findings, check: string) => Because} */
function abnormalLevel(knowledge, findings, check) {
  const weights = findings.results[check] ?? [];
  const place = weights.indexOf(Math.max(...weights));
  return { kind: "abnormal", check, level: knowledge.checks[check]?.levels[place]?.id };
}
