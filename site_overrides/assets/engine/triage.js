/**
 * Reasoning room: advice for one case, as data.
 *
 * Joins findings, inference, the state of the supply, planning and the policy. It writes no
 * sentences (output/words.js does) and holds no rule of its own (triage-policy.js does). Twin
 * of triage.py; it gives the same numbers.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 * @import { Held } from "./triage-hold.js"
 * @import { Priced } from "./triage-plan.js"
 * @import { Matter, RepairChoice, Settled } from "./triage-settle.js"
 */

import { compareText } from "../measure/gauges-numbers.js";
import { find, networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { infer } from "./noisy-max.js";
import { judgeSupply } from "./supply.js";
import { holdOff } from "./triage-hold.js";
import { plan, rounded } from "./triage-plan.js";
import { chooseNext } from "./triage-policy.js";
import { isGated, settle } from "./triage-settle.js";

/** @typedef {{level: string, probability: number, top_cause: string | null}} Outcome */

/**
 * A check to make. `leads_to` is the check it prepares, null when it stands for itself;
 * `expected_saving` is against buying parts in p/c order now.
 * @typedef {object} NextCheck
 * @property {string} check
 * @property {string | null} leads_to
 * @property {number} minutes
 * @property {number} money
 * @property {number} expected_saving
 * @property {Because[]} because
 * @property {Outcome[]} outcomes
 */

/**
 * @typedef {object} RepairAdvice
 * @property {string} cause
 * @property {string} action
 * @property {string | null} part
 * @property {number} price_low
 * @property {number} price_high
 * @property {string} currency
 * @property {Because[]} because
 */

/**
 * @typedef {object} Advice
 * @property {Array<{id: string, text: string, why: string, because: Because[]}>} stop_now
 * @property {Array<{id: string, title: string, group: string, probability: number}>} causes
 * @property {Supply} supply
 * @property {NextCheck[]} next
 * @property {RepairAdvice | null} repair
 * @property {Held[]} hold_off
 * @property {number} buying_now
 * @property {Findings} findings
 */

/**
 * Advise on one case: exact posteriors, the state of the supply, stop-now lines, up to 6 next
 * checks, at most one repair and the parts to hold off on. Ties go by id.
 *
 * Throws ContradictoryEvidence if no set of causes can show what was found, FrontierTooWide if
 * the findings are too entangled for exact inference.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {{workLimit?: number}} [options]
 * @returns {Advice}
 */
export function triage(knowledge, car, { workLimit = knowledge.settings.work_limit ?? 0 } = {}) {
  const network = networkOf(knowledge);
  const findings = find(knowledge, car);
  const { posteriors, logEvidence } = infer(network, findings.odds, findings.evidence);
  const supply = judgeSupply(knowledge, car, findings, logEvidence);
  /** @type {Matter} */
  const matter = { knowledge, car, findings, posteriors, supply };
  const planning = plan(knowledge, car, findings, { posteriors, gated: isGated(supply), workLimit });
  const settled = settle(matter, planning);
  const offered = settled.repair ? [] : chooseNext(matter, planning, settled);
  return {
    stop_now: stopNow(matter),
    causes: ranked(matter),
    supply,
    next: offered.map((one) => nextCheck(matter, one, logEvidence, settled)),
    repair: settled.repair && repairAdvice(matter, settled.repair),
    hold_off: holdOff(matter, planning, settled.repair),
    buying_now: planning.buyingNow,
    findings,
  };
}

/** @param {Matter} matter */
function stopNow({ knowledge, findings }) {
  return findings.stop_now.map(({ id, because }) => {
    const { text = "", why = "" } = knowledge.stop_lines[id] ?? {};
    return { id, text, why, because };
  });
}

/** @param {Matter} matter */
function ranked({ knowledge, posteriors }) {
  const list = Object.entries(posteriors).map(([id, probability]) => {
    const { title = id, group = "" } = knowledge.causes[id] ?? {};
    return { id, title, group, probability };
  });
  return list.sort((a, b) => b.probability - a.probability || compareText(a.id, b.id));
}

/**
 * @param {Matter} matter
 * @param {Priced} one
 * @param {number} logEvidence
 * @param {Settled} settled
 * @returns {NextCheck}
 */
function nextCheck(matter, one, logEvidence, settled) {
  const name = one.offer.first;
  const { minutes = 0, money = 0 } = matter.knowledge.checks[name] ?? {};
  const outcomes = predictOutcomes(matter, name, logEvidence);
  return {
    check: name,
    leads_to: name === one.offer.check ? null : one.offer.check,
    minutes,
    money,
    expected_saving: one.saving,
    because: whyNext(matter, one, outcomes, settled),
    outcomes,
  };
}

/**
 * Predict each level exactly: infer once with the level added to the evidence.
 * @param {Matter} matter
 * @param {string} name
 * @param {number} logEvidence
 * @returns {Outcome[]}
 */
function predictOutcomes({ knowledge, findings }, name, logEvidence) {
  const network = networkOf(knowledge);
  const levels = (knowledge.checks[name]?.levels ?? []).map(({ id }) => id);
  if (!indexNetwork(network).findingById.has(name)) {
    return levels.map((level) => ({ level, probability: 1, top_cause: null }));
  }
  return levels.map((level) => {
    const evidence = { ...findings.evidence, [name]: levels.map((id) => (id === level ? 1 : 0)) };
    const after = infer(network, findings.odds, evidence);
    const top = Object.entries(after.posteriors).sort(
      ([a, one], [b, other]) => rounded(other) - rounded(one) || compareText(a, b),
    )[0];
    const probability = Math.exp(after.logEvidence - logEvidence);
    return { level, probability, top_cause: top ? top[0] : null };
  });
}

/**
 * Say, as data, why a check is offered.
 * @param {Matter} matter
 * @param {Priced} one
 * @param {Outcome[]} outcomes
 * @param {Settled} settled
 * @returns {Because[]}
 */
function whyNext({ knowledge, supply }, { offer }, outcomes, settled) {
  /** @type {Because[]} */
  const because = [];
  const check = knowledge.checks[offer.first];
  const aspects = check?.aspects ?? [];
  if (offer.first !== offer.check) {
    because.push({ kind: offer.instead ? "instead" : "needed-before", check: offer.check });
  }
  if (isGated(supply) && aspects.length > 0) {
    because.push({ kind: "supply-first", state: supply.state });
  }
  const proves = check?.levels[0]?.proves ? aspects.filter((side) => supply.open_aspects.includes(side)) : [];
  if (proves.length > 0) because.push({ kind: "proves", aspects: proves });
  if (settled.because && offer.check === settled.check) because.push(settled.because);
  const tops = [...new Set(outcomes.flatMap(({ top_cause: cause }) => cause ?? []))];
  if (tops.length > 1) because.push({ kind: "tells-apart", causes: tops });
  return because;
}

/**
 * @param {Matter} matter
 * @param {RepairChoice} choice
 * @returns {RepairAdvice | null}
 */
function repairAdvice({ knowledge, posteriors }, { cause, confirmedBy }) {
  const repair = knowledge.causes[cause]?.repair;
  if (!repair) return null;
  /** @type {Because[]} */
  const because = [confirmedBy ? { kind: "confirmed", ...confirmedBy } : { kind: "worth-trying", cause }];
  because.push({ kind: "probability", cause, probability: posteriors[cause] });
  return {
    cause,
    action: repair.action,
    part: repair.part,
    price_low: repair.price.low,
    price_high: repair.price.high,
    currency: repair.price.currency,
    because,
  };
}
