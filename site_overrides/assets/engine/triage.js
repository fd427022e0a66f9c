/**
 * Advice for one case, as data.
 *
 * Joins the diagnosis, planning and the policy. It writes no sentences (words.js does) and holds
 * no rule of its own (policy.js does). Twin of triage.py; it gives the same numbers.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Fit } from "./fit.js"
 * @import { Planning, PricedCheck } from "./planning.js"
 * @import { Held, RepairChoice, Withheld } from "./policy.js"
 * @import { Supply } from "./supply.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { amissIn, diagnose, linkedCauses, relevantCauses } from "./diagnosis.js";
import { networkOf } from "./findings.js";
import { judgeFit } from "./fit.js";
import { indexNetwork } from "./network.js";
import { FrontierTooWide, infer } from "./noisy-max.js";
import { plan, rounded } from "./planning.js";
import { decide, GATES, holdOff, withheld } from "./policy.js";

/**
 * Numbers the sums that predict results may go through. The posteriors themselves are always
 * exact; what comes after them is left out past this, and said.
 */
const SUM_LIMIT = 2_000_000;

/** @typedef {{level: string, probability: number, top_cause: string | null}} PredictedLevel */

/**
 * A check to make. `leads_to` is the check it prepares, null when it stands for itself;
 * `wait_hours` pass without the owner; `expected_saving` is against going on without
 * any check. `outcomes` is empty past the work bound.
 * @typedef {{check: string, leads_to: string | null, minutes: number, money: number, wait_hours: number,
 *   expected_saving: number, because: Because[], outcomes: PredictedLevel[]}} NextCheck
 */

/**
 * @typedef {object} RepairAdvice
 * @property {string} cause
 * @property {string} action
 * @property {string} who "workshop", "owner-with-tools" or "owner"
 * @property {string | null} part
 * @property {number} price_low
 * @property {number} price_high
 * @property {string} currency
 * @property {number} wait_hours
 * @property {Because[]} because
 */

/**
 * @typedef {object} Advice
 * @property {Array<{id: string, text: string, why: string, because: Because[]}>} stop_now
 * @property {Array<{id: string, title: string, group: string, probability: number, explains: boolean}>} causes
 *   `explains` says whether something found can come from it; those come first
 * @property {Supply} supply
 * @property {NextCheck[]} next
 * @property {RepairAdvice | null} repair
 * @property {{price: number, currency: string} | null} workshop what one is expected to ask, where
 *   going there is the cheapest way on
 * @property {Fit | null} fit how surprising the results are together, null where that takes too much work
 * @property {Because | null} watch why nothing is to do but watch the car, once the trouble is over
 * @property {Held[]} hold_off
 * @property {Withheld[]} withheld steps that would settle something, were the car able or allowed
 * @property {string[]} instead the abilities they lack, where no step at all is left
 * @property {number} buying_now
 * @property {"full" | "shorter" | "roughly"} planned shorter where some checks come without `outcomes`,
 *   roughly where even the posteriors are near ones
 * @property {Findings} findings
 */

/** @type {(knowledge: Knowledge, car: Case) => Advice} */
export function triage(knowledge, car) {
  const diagnosis = diagnose(knowledge, car);
  const planning = plan(diagnosis, GATES);
  const decided = decide(diagnosis, planning);
  const next = nextChecks(diagnosis, planning, decided.offered);
  const { findings, supply } = diagnosis;
  const keptBack = withheld(diagnosis, planning);
  const nothingLeft = !decided.repair && next.length === 0 && !decided.watch;
  return {
    stop_now: stopNow(diagnosis),
    causes: ranked(diagnosis),
    supply,
    next,
    repair: decided.repair && repairAdvice(diagnosis, decided.repair),
    workshop: decided.workshop ? { price: planning.workshop, currency: currencyOf(knowledge) } : null,
    fit: judgeFit(diagnosis),
    watch: decided.watch ? watchFor(diagnosis) : null,
    hold_off: decided.watch ? [] : holdOff(diagnosis, planning, decided.repair),
    withheld: keptBack,
    instead: nothingLeft ? [...new Set(keptBack.map(({ ability }) => ability))] : [],
    buying_now: planning.buyingNow,
    planned: howPlanned(diagnosis, next),
    findings,
  };
}

/** @type {(diagnosis: Diagnosis, next: NextCheck[]) => Advice["planned"]} */
function howPlanned({ apart, findings, work }, next) {
  if (apart !== null) return "roughly";
  // What raised and lowered each cause takes one sum for each finding; see trace.js.
  const traced = Object.keys(findings.evidence).length * work <= SUM_LIMIT;
  return traced && next.every(({ outcomes }) => outcomes.length > 0) ? "full" : "shorter";
}

/** @param {Diagnosis} diagnosis */
function watchFor({ car: { past = [], mended = [] }, findings: { settled } }) {
  if (settled !== null) return { kind: "gone", cause: settled };
  return { kind: past.length > 0 || mended.length > 0 ? "over" : "nothing" };
}

/** @param {Knowledge} knowledge */
function currencyOf({ causes }) {
  return Object.values(causes)[0]?.repair.price.currency ?? "";
}

/** Describe the lines that stand; one that another covers gives it its reasons. @param {Diagnosis} diagnosis */
function stopNow({ knowledge: { stop_lines: lines }, findings: { stop_now: standing } }) {
  /** @param {string} id */
  const coveredBy = (id) => lines[id]?.covers ?? [];
  const covered = new Set(standing.flatMap(({ id }) => coveredBy(id)));
  return standing
    .filter(({ id }) => !covered.has(id))
    .map((one) => {
      const { text = "", why = "" } = lines[one.id] ?? {};
      const more = standing.filter(({ id }) => coveredBy(one.id).includes(id)).flatMap(({ because }) => because);
      // Equal reasons are told once; a reason is plain data with its keys in one order.
      const because = new Map([...one.because, ...more].map((each) => [JSON.stringify(each), each]));
      return { id: one.id, text, why, because: [...because.values()] };
    });
}

/**
 * Round away the last digits, in which the languages may differ, so that both rank alike.
 * @param {number} probability
 */
function toTwelve(probability) {
  return Math.round(probability * 1e12);
}

/** Rank what explains something found, then the rest; each by its odds. @param {Diagnosis} diagnosis */
function ranked(diagnosis) {
  const { knowledge, posteriors } = diagnosis;
  const found = explainingCauses(diagnosis);
  const list = Object.entries(posteriors).map(([id, probability]) => {
    const { title = id, group = "" } = knowledge.causes[id] ?? {};
    return { id, title, group, probability, explains: found.has(id) };
  });
  return list.sort(
    (a, b) =>
      Number(b.explains) - Number(a.explains) ||
      toTwelve(b.probability) - toTwelve(a.probability) ||
      compareText(a.id, b.id),
  );
}

/** Return the causes that can produce a complaint or a result that is not normal. @param {Diagnosis} diagnosis */
function explainingCauses({ knowledge, car, findings }) {
  const amiss = amissIn(findings);
  return new Set([...relevantCauses(knowledge, car, amiss), ...linkedCauses(knowledge, amiss)]);
}

/** @type {(diagnosis: Diagnosis, planning: Planning, offered: PricedCheck[]) => NextCheck[]} */
function nextChecks(diagnosis, planning, offered) {
  let work = 0;
  return offered.map((one) => {
    const { offer, saving } = one;
    const { minutes, money, wait_hours: wait = 0, levels } = diagnosis.knowledge.checks[offer.first];
    // One more finding about doubles the tables.
    const fits = work + 2 * diagnosis.work * levels.length <= SUM_LIMIT;
    const { outcomes, taken } = fits ? predictLevels(diagnosis, offer.first) : { outcomes: [], taken: 0 };
    work += taken;
    return {
      check: offer.first,
      leads_to: offer.first === offer.check ? null : offer.check,
      minutes,
      money,
      wait_hours: wait ?? 0,
      expected_saving: saving,
      because: whyNext(diagnosis, planning, one, outcomes),
      outcomes,
    };
  });
}

/**
 * Predict each level exactly, and give the work: infer once with the level added. No level is
 * predicted where that is too wide.
 * @type {(diagnosis: Diagnosis, name: string) => {outcomes: PredictedLevel[], taken: number}}
 */
function predictLevels({ knowledge, findings, logEvidence }, name) {
  const network = networkOf(knowledge);
  const levels = knowledge.checks[name].levels.map(({ id }) => id);
  if (!indexNetwork(network).findingById.has(name)) {
    return { outcomes: levels.map((level) => ({ level, probability: 1, top_cause: null })), taken: 0 };
  }
  let taken = 0;
  try {
    const outcomes = levels.map((level) => {
      const evidence = { ...findings.evidence, [name]: levels.map((id) => (id === level ? 1 : 0)) };
      const after = infer(network, findings.odds, evidence);
      taken += after.work;
      return { level, probability: Math.exp(after.logEvidence - logEvidence), top_cause: likeliest(after.posteriors) };
    });
    return { outcomes, taken };
  } catch (error) {
    if (error instanceof FrontierTooWide) return { outcomes: [], taken };
    throw error;
  }
}

/**
 * @param {Record<string, number>} posteriors
 * @returns {string} ties by id
 */
function likeliest(posteriors) {
  let [found] = Object.keys(posteriors);
  for (const [name, one] of Object.entries(posteriors)) {
    const more = rounded(one) - rounded(posteriors[found]);
    if (more > 0 || (more === 0 && compareText(name, found) < 0)) found = name;
  }
  return found;
}

/** @type {(diagnosis: Diagnosis, planning: Planning, one: PricedCheck, outcomes: PredictedLevel[]) => Because[]} */
function whyNext(diagnosis, planning, one, outcomes) {
  const { knowledge, supply } = diagnosis;
  const { offer } = one;
  /** @type {Because[]} */
  const because = [];
  const { aspects, levels } = knowledge.checks[offer.first];
  if (offer.first !== offer.check) {
    because.push({ kind: offer.instead ? "instead" : "needed-before", check: offer.check });
  }
  if (planning.held.length > 0 && aspects.length > 0) {
    const known = Object.keys(supply.proven).length > 0 ? { known: "some" } : {};
    because.push({ kind: "supply-first", state: supply.state, ...known });
  }
  const proves = levels[0]?.proves ? aspects.filter((side) => supply.open_aspects.includes(side)) : [];
  if (proves.length > 0) because.push({ kind: "proves", aspects: proves });
  const tops = [...new Set(outcomes.flatMap(({ top_cause: cause }) => cause ?? []))];
  if (tops.length > 1) because.push({ kind: "tells-apart", causes: tops });
  if (because.length === 0 || one.saving <= 0) because.push(whyAtAll(diagnosis, planning, one));
  return because;
}

/** @type {(diagnosis: Diagnosis, planning: Planning, one: PricedCheck) => Because} */
function whyAtAll({ knowledge }, { causes }, { offer, saving, answers }) {
  if (saving <= 0) return { kind: "only-one" };
  const checks = [offer.check, ...answers];
  const confirmed = causes.find((name) => knowledge.causes[name]?.confirmed_by.some((by) => checks.includes(by.check)));
  if (confirmed) return { kind: "confirms", cause: confirmed };
  const { findingById } = indexNetwork(networkOf(knowledge));
  return {
    kind: "bears-on",
    cause: causes.find((name) => checks.some((check) => name in (findingById.get(check)?.links ?? {}))),
  };
}

/** @type {(diagnosis: Diagnosis, choice: RepairChoice) => RepairAdvice | null} */
function repairAdvice({ knowledge, posteriors, findings }, { cause, confirmedBy, beatsChecks }) {
  const repair = knowledge.causes[cause]?.repair;
  if (!repair) return null;
  const byShop = findings.stop_now.some(({ id }) => knowledge.stop_lines[id]?.by_shop);
  const who = byShop ? "workshop" : repair.who;
  const free = repair.part === null && who !== "workshop" ? "yes" : "no";
  /** @type {Because[]} */
  const because = [
    confirmedBy
      ? { kind: "confirmed", ...confirmedBy }
      : { kind: beatsChecks ? "cheaper-to-try" : "worth-trying", cause, free },
  ];
  because.push({ kind: "probability", cause, probability: posteriors[cause] });
  return {
    cause,
    action: repair.action,
    who,
    part: repair.part,
    price_low: repair.price.low,
    price_high: repair.price.high,
    currency: repair.price.currency,
    wait_hours: repair.wait_hours ?? 0,
    because,
  };
}
