/**
 * Reasoning room: rule 3 of the supply-first policy: what repair to advise, or which check has
 * to come before one. All rules stand, with their reasons, in
 * build_tools/reasoning/triage_policy.py; triage-policy.js orders the checks.
 *
 * @import { Case, Cause, Knowledge } from "../knowledge/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 * @import { Planning, Priced } from "./triage-plan.js"
 */

import { compareText } from "../measure/gauges-numbers.js";
import { sumFrom } from "./findings.js";
import { isSupplyCause } from "./supply.js";
import { hourValue, middlePrice, repairCost } from "./triage-offers.js";
import { rounded } from "./triage-plan.js";

const VERY_SURE = 0.9;
const MORE_LIKELY_THAN_NOT = 0.5;
const LIKELY_AND_CHEAP = 0.35;
const NOTHING_BOUGHT = 0.15;
const CHEAP_PART = 60;
const LOOKS_ALIKE = 0.08;
const CONFIRMED = 0.8;
const WORTH_SHARE = 0.1;
const QUICK_COST = 5;

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
 * Return the check that confirms a cause and the level it came out at, or null.
 * @param {Matter} matter
 * @param {Cause} cause
 * @returns {Confirmation | null}
 */
export function confirmation({ knowledge, findings }, cause) {
  for (const { check, level } of cause.confirmed_by) {
    const weights = findings.results[check];
    if (!weights) continue;
    const levels = knowledge.checks[check]?.levels ?? [];
    const place = levels.findIndex(({ id }) => id === level);
    if (place < 0 || sumFrom(weights, place) < CONFIRMED) continue;
    let found = place;
    for (let i = place; i < weights.length; i += 1) {
      if ((weights[i] ?? 0) > (weights[found] ?? 0)) found = i;
    }
    return { check, level: levels[found]?.id ?? level };
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
  const likely = ranked.filter(([id, chance]) => isLikelyEnough(matter, id, chance)).map(([id]) => id);
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
  if (confirming.check === null) confirming = quickLook(matter, planning);
  if (confirming.check === null && !isMoreToLearn(matter, planning)) {
    const worth = worthTrying(matter, planning);
    return worth === null ? NOTHING : { ...NOTHING, repair: { cause: worth, confirmedBy: null } };
  }
  return confirming;
}

/**
 * Return whether a check is worth making, or could still prove an open side of the supply.
 * @param {Matter} matter
 * @param {Planning} planning
 */
function isMoreToLearn(matter, planning) {
  return (
    planning.priced.some((one) => worthMaking(planning, one)) ||
    [...planning.offers.keys()].some((name) => provesOpenSide(matter, name))
  );
}

/**
 * Return the cause whose repair is worth trying unproven, first in p/c order; or null.
 * @param {Matter} matter
 * @param {Planning} planning
 * @returns {string | null}
 */
function worthTrying(matter, planning) {
  const hour = hourValue(matter.knowledge, matter.car);
  const unresolved = matter.knowledge.settings.unresolved_cost ?? 0;
  const found = planning.causes.flatMap((name) => {
    const cause = causeOf(matter, name);
    const chance = matter.posteriors[name] ?? 0;
    const cost = repairCost(cause, hour);
    // In vain it costs itself; otherwise it saves what a workshop asks to find the cause.
    const pays = cost * (1 - chance) <= unresolved * chance;
    if (!pays || chance < leastToTry(cause) || !mayAdvise(matter, planning, name)) return [];
    return [{ name, worth: rounded(chance / Math.max(cost, 1)) }];
  });
  found.sort((a, b) => b.worth - a.worth || compareText(a.name, b.name));
  return found[0]?.name ?? null;
}

/** @param {Cause} cause */
function leastToTry(cause) {
  const price = middlePrice(cause);
  if (cause.repair.part === null && price === 0) return NOTHING_BOUGHT;
  return price <= CHEAP_PART ? LIKELY_AND_CHEAP : MORE_LIKELY_THAN_NOT;
}

/**
 * Return whether rule 3 looks at a cause: more likely than not, or confirmed and cheap.
 * @param {Matter} matter
 * @param {string} name
 * @param {number} chance
 */
function isLikelyEnough(matter, name, chance) {
  if (chance >= MORE_LIKELY_THAN_NOT) return true;
  const cause = causeOf(matter, name);
  const cheap = middlePrice(cause) <= CHEAP_PART;
  return chance >= LIKELY_AND_CHEAP && cheap && confirmation(matter, cause) !== null;
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
  const found = confirmingCheck(planning, name, causeOf(matter, name));
  if (found.check === null || (planning.offers.get(found.check)?.cost ?? 0) > QUICK_COST) {
    return NOTHING;
  }
  return { ...found, because: { kind: "quick-look", cause: name } };
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
 * Return whether the best result of a check proves a side of the supply that is still open.
 * @param {Matter} matter
 * @param {string} name
 */
export function provesOpenSide({ knowledge, supply }, name) {
  const check = knowledge.checks[name];
  return check?.levels[0]?.proves === true && check.aspects.some((side) => supply.open_aspects.includes(side));
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
