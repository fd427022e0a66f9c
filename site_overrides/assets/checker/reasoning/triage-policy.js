/**
 * Reasoning room: the supply-first policy. The rules and their numbers stand, with their
 * reasons, in build_tools/reasoning/triage_policy.py; this is its twin and adds none.
 *
 * @import { Case, Cause, Knowledge } from "../data/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 * @import { Planning, Priced } from "./triage-plan.js"
 */
import { sumFrom } from "./findings.js";
import { compareText } from "./gauges-numbers.js";
import { isSupplyCause } from "./supply.js";
import { middlePrice } from "./triage-offers.js";
import { relevantCauses, rounded } from "./triage-plan.js";

const SURE = 0.8;
const VERY_SURE = 0.9;
const MORE_LIKELY_THAN_NOT = 0.5;
const LOOKS_ALIKE = 0.08;
const SUPPLY_MATTERS = 0.25;
const QUICK_LOOK = 0.15;
const CONFIRMED = 0.8;
const WORTH_SHARE = 0.1;
const CLOSE_MONEY = 2;
const CLOSE_SHARE = 0.05;
const MOST_NEXT = 6;

/**
 * One case with everything found out about it so far.
 * @typedef {object} Matter
 * @property {Knowledge} knowledge
 * @property {Case} car
 * @property {Findings} findings
 * @property {Record<string, number>} posteriors
 * @property {Supply} supply
 */

/** @typedef {Cause & {confused_with?: Array<{cause: string, told_apart_by?: string | null}>}} Alike */
/** @typedef {{check: string, level: string}} Confirmation */
/** @typedef {{cause: string, confirmedBy: Confirmation | null}} RepairChoice */

/**
 * What rule 3 comes to: a repair, or a check that has to come before one, or neither.
 * @typedef {{repair: RepairChoice | null, check: string | null, because: Because | null}} Settled
 */

/** @type {Settled} */
const NOTHING = { repair: null, check: null, because: null };

/**
 * Return whether parts are held back by rule 2.
 * @param {Supply} supply
 */
export function isGated(supply) {
  return supply.state === "unproven" || supply.state === "doubtful";
}

/**
 * Return a cause of the knowledge.
 * @param {Matter} matter
 * @param {string} name
 * @returns {Alike}
 */
export function causeOf({ knowledge }, name) {
  return /** @type {Alike} */ (knowledge.causes[name]);
}

/**
 * Return the check and level that confirm a cause, or null.
 * @param {Matter} matter
 * @param {Cause} cause
 * @returns {Confirmation | null}
 */
export function confirmation({ knowledge, findings }, cause) {
  for (const { check, level } of cause.confirmed_by) {
    const weights = findings.results[check];
    if (!weights) continue;
    const place = knowledge.checks[check]?.levels.findIndex(({ id }) => id === level) ?? -1;
    if (place >= 0 && sumFrom(weights, place) >= CONFIRMED) return { check, level };
  }
  return null;
}

/**
 * Choose the repair to advise, or the check that has to come before it, by rule 3.
 * @param {Matter} matter
 * @param {Planning} planning
 * @returns {Settled}
 */
export function settle(matter, planning) {
  const ranked = Object.entries(matter.posteriors);
  ranked.sort(([a, one], [b, other]) => other - one || compareText(a, b));
  const likely = ranked.filter(([, chance]) => chance >= MORE_LIKELY_THAN_NOT).map(([id]) => id);
  let confirming = NOTHING;
  for (const name of likely) {
    const cause = causeOf(matter, name);
    const found = confirmation(matter, cause);
    if (!found) {
      if (confirming.check === null) confirming = confirmingCheck(planning, name, cause);
    } else if (mayAdvise(matter, planning, name)) {
      const toldApart = tellingApart(matter, planning, name);
      if (toldApart.check !== null) return toldApart;
      return { ...NOTHING, repair: { cause: name, confirmedBy: found } };
    }
  }
  const [first] = likely;
  if (confirming.check === null && first && unconfirmedRepair(matter, planning, first)) {
    return { ...NOTHING, repair: { cause: first, confirmedBy: null } };
  }
  return confirming.check === null ? quickLook(matter, planning) : confirming;
}

/**
 * Return the check that confirms the cause cheapest to put right for its chance.
 * @param {Matter} matter
 * @param {Planning} planning
 * @returns {Settled}
 */
function quickLook(matter, planning) {
  const name = planning.cheapestFirst;
  if (name === null || matter.supply.state === "failing") return NOTHING;
  if ((matter.posteriors[name] ?? 0) < QUICK_LOOK) return NOTHING;
  const found = confirmingCheck(planning, name, causeOf(matter, name));
  return found.check === null ? found : { ...found, because: { kind: "quick-look", cause: name } };
}

/**
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {string} name
 */
function mayAdvise(matter, planning, name) {
  if (matter.supply.state === "failing") return isSupplyCause(matter.knowledge, name);
  return !(isGated(matter.supply) && tooDear(causeOf(matter, name), planning));
}

/**
 * Return the cheapest check that can be made and would confirm a cause.
 * @param {Planning} planning
 * @param {string} name
 * @param {Cause} cause
 * @returns {Settled}
 */
function confirmingCheck(planning, name, cause) {
  const offers = cause.confirmed_by.flatMap(({ check }) => planning.offers.get(check) ?? []);
  offers.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  const [best] = offers;
  if (!best) return NOTHING;
  return { repair: null, check: best.check, because: { kind: "confirms", cause: name } };
}

/**
 * Return the check that tells a cause from a look-alike still in play, in the file's order.
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {string} name
 * @returns {Settled}
 */
function tellingApart(matter, planning, name) {
  if ((matter.posteriors[name] ?? 0) >= VERY_SURE) return NOTHING;
  for (const { cause, told_apart_by: check } of causeOf(matter, name).confused_with ?? []) {
    const other = matter.knowledge.causes[cause];
    if (!other || !check || !planning.offers.has(check)) continue;
    // A look-alike that is confirmed itself is there beside the cause, not in its place.
    const likely = (matter.posteriors[cause] ?? 0) >= LOOKS_ALIKE;
    if (likely && !confirmation(matter, other)) {
      return { repair: null, check, because: { kind: "look-alike", cause: name, other: cause } };
    }
  }
  return NOTHING;
}

/**
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {string} name
 */
function unconfirmedRepair(matter, planning, name) {
  const useful = planning.priced.some((one) => worthMaking(planning, one));
  return matter.supply.state === "sound" && (matter.posteriors[name] ?? 0) >= SURE && !useful;
}

/**
 * Return whether rule 2 holds a cause's part back; without an open check nothing does.
 * @param {Cause} cause
 * @param {Planning} planning
 */
function tooDear(cause, planning) {
  if (cause.repair.part === null || !planning.gate) return false;
  return middlePrice(cause) > planning.gate.cost;
}

/**
 * Return whether a check is worth making, by rule 7.
 * @param {Planning} planning
 * @param {Priced} one
 */
export function worthMaking(planning, one) {
  return one.alone > 0 && one.saving >= WORTH_SHARE * planning.buyingNow;
}

/**
 * Order the checks to offer by rules 4 to 6; at most 6, each thing to do once.
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {Settled} settled
 * @returns {Priced[]}
 */
export function chooseNext(matter, planning, settled) {
  const worth = planning.priced.filter((one) => worthMaking(planning, one));
  const asked = askedFor(planning, settled);
  const tellsApart = settled.because?.kind === "look-alike";
  if (matter.supply.state === "sound") {
    return once(tellsApart || worth.length === 0 ? [...asked, ...worth] : worth);
  }
  const onSupply = planning.priced.filter((one) => judgesSupply(matter, one));
  const calledFor = onSupply.filter(({ offer }) => offer.instead);
  if (matter.supply.state === "failing") return once([...asked, ...calledFor, ...onSupply]);
  const rest = planning.priced.filter((one) => worth.includes(one) || onSupply.includes(one));
  if (tellsApart) {
    const first = asked.filter((one) => judgesSupply(matter, one));
    return once([...first, ...calledFor, ...firstOnSupply(matter, worth, onSupply), ...rest]);
  }
  const onSupplyFirst = firstOnSupply(matter, [...asked, ...worth], onSupply);
  const leads = onSupplyFirst.length === 0 || asked.some((one) => judgesSupply(matter, one));
  const head = leads ? [...asked, ...onSupplyFirst] : [...onSupplyFirst, ...asked];
  return once([...calledFor, ...head, ...rest]);
}

/**
 * Return the check that rule 3 asks for, priced; it need not be worth making.
 * @param {Planning} planning
 * @param {Settled} settled
 * @returns {Priced[]}
 */
function askedFor(planning, settled) {
  if (settled.check === null) return [];
  const priced = planning.priced.find(({ offer }) => offer.check === settled.check);
  if (priced) return [priced];
  const offer = planning.offers.get(settled.check);
  const alone = planning.alone[settled.check] ?? 0;
  return offer ? [{ offer, saving: alone, alone }] : [];
}

/**
 * @param {Priced[]} found
 * @returns {Priced[]}
 */
function once(found) {
  /** @type {Map<string, Priced>} */
  const kept = new Map();
  for (const one of found) if (!kept.has(one.offer.first)) kept.set(one.offer.first, one);
  return [...kept.values()].slice(0, MOST_NEXT);
}

/**
 * Return whether a check judges a side of the supply.
 * @param {Matter} matter
 * @param {Priced} one
 */
export function judgesSupply({ knowledge }, one) {
  return (knowledge.checks[one.offer.check]?.aspects.length ?? 0) > 0;
}

/**
 * Return the supply check that comes first by rule 5, alone in a list; none if not asked.
 * @param {Matter} matter
 * @param {Priced[]} worth
 * @param {Priced[]} onSupply
 * @returns {Priced[]}
 */
function firstOnSupply(matter, worth, onSupply) {
  const { knowledge, posteriors, supply } = matter;
  const relevant = [...relevantCauses(knowledge, matter.car)].sort(compareText);
  const onIt = relevant.filter((name) => isSupplyCause(knowledge, name))
    .reduce((sum, name) => sum + (posteriors[name] ?? 0), 0);
  if (worth.length > 0 && onIt < SUPPLY_MATTERS) return [];
  const sides = (/** @type {string} */ check) => knowledge.checks[check]?.aspects ?? [];
  const wanted = supply.abnormal.length > 0 ? supply.abnormal.flatMap(sides) : supply.open_aspects;
  const preferred = onSupply.filter(({ offer }) => (
    sides(offer.check).some((side) => wanted.includes(side))
  ));
  const among = preferred.length > 0 ? preferred : onSupply;
  const [best] = among;
  if (!best) return [];
  const least = best.saving - Math.max(CLOSE_MONEY, CLOSE_SHARE * best.saving);
  const close = among.filter((one) => one.saving >= least);
  close.sort((a, b) => (
    a.offer.cost - b.offer.cost || rounded(b.saving) - rounded(a.saving)
    || compareText(a.offer.check, b.offer.check)
  ));
  return close.slice(0, 1);
}
