/**
 * The supply-first policy. The rules and their numbers stand, with their reasons, in policy.py;
 * this is its twin and adds none.
 *
 * @import { Cause } from "../knowledge/types.js"
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Because } from "./findings.js"
 * @import { Planning, PricedCheck } from "./pricing.js"
 * @import { Supply } from "./supply.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { checkRequires, missing, repairRequires } from "./abilities.js";
import { relevantCauses } from "./diagnosis.js";
import { sumFrom } from "./findings.js";
import { hourValue, middlePrice, repairCost, rounded } from "./pricing.js";
import { isSupplyCause } from "./supply.js";

const SUPPLY_MATTERS = 0.25;
const QUICK_COST = 5;
const GLANCE_COST = 1;
const CLOSE_MONEY = 2;
const CLOSE_SHARE = 0.05;
const MOST_NEXT = 6;
const MOST_HELD = 6;
const MOST_WITHHELD = 6;
const VERY_SURE = 0.9;
const MORE_LIKELY_THAN_NOT = 0.5;
const LIKELY_AND_CHEAP = 0.35;
const NOTHING_BOUGHT = 0.15;
const CHEAP_PART = 60;
const LOOKS_ALIKE = 0.08;
const CONFIRMED = 0.8;
const WORTH_SHARE = 0.1;

/** @typedef {Cause & {confused_with?: Array<{cause: string, told_apart_by?: string | null}>}} Alike */
/** @typedef {{check: string, level: string}} Confirmation */
/** @typedef {{cause: string, confirmedBy: Confirmation | null}} RepairChoice */

/**
 * What rule 3 comes to: a repair, or a check that has to come before one, or neither.
 * @typedef {{repair: RepairChoice | null, check: string | null, because: Because | null}} RepairDecision
 */

/** @type {RepairDecision} */
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
 * @param {Diagnosis} diagnosis
 * @param {string} name
 * @returns {Alike}
 */
function causeOf({ knowledge }, name) {
  return /** @type {Alike} */ (knowledge.causes[name]);
}

/**
 * Return the check that confirms a cause and the level it came out at, or null.
 * @param {Diagnosis} diagnosis
 * @param {Cause} cause
 * @returns {Confirmation | null}
 */
function confirmation({ knowledge, findings }, cause) {
  for (const { check, level } of cause.confirmed_by) {
    const weights = findings.results[check];
    if (!weights) continue;
    const levels = knowledge.checks[check]?.levels ?? [];
    const place = levels.findIndex(({ id }) => id === level);
    if (place < 0 || sumFrom(weights, place) < CONFIRMED) continue;
    let found = place;
    for (let i = place; i < weights.length; i += 1) {
      if (weights[i] > weights[found]) found = i;
    }
    return { check, level: levels[found]?.id ?? level };
  }
  return null;
}

/**
 * Choose the repair to advise, or the check that has to come before it, by rule 3.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @returns {RepairDecision}
 */
export function decideRepair(diagnosis, planning) {
  const ranked = Object.entries(diagnosis.posteriors);
  ranked.sort(([a, one], [b, other]) => other - one || compareText(a, b));
  const likely = ranked.filter(([id, chance]) => isLikelyEnough(diagnosis, id, chance)).map(([id]) => id);
  let confirming = NOTHING;
  for (const name of likely) {
    const cause = causeOf(diagnosis, name);
    const found = confirmation(diagnosis, cause);
    if (!found) {
      if (confirming.check === null) confirming = confirmingCheck(planning, name, cause);
    } else if (mayAdvise(diagnosis, planning, name)) {
      const toldApart = tellingApart(diagnosis, planning, name);
      if (toldApart.check !== null) return toldApart;
      return { ...NOTHING, repair: { cause: name, confirmedBy: found } };
    }
  }
  if (confirming.check === null) confirming = quickLook(diagnosis, planning);
  if (confirming.check === null && !isMoreToLearn(diagnosis, planning)) {
    const worth = worthTrying(diagnosis, planning);
    return worth === null ? NOTHING : { ...NOTHING, repair: { cause: worth, confirmedBy: null } };
  }
  return confirming;
}

/**
 * Return whether a check is worth making, or could still prove an open side of the supply.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 */
function isMoreToLearn(diagnosis, planning) {
  return (
    planning.priced.some((one) => worthMaking(planning, one)) ||
    [...planning.offers.keys()].some((name) => provesOpenSide(diagnosis, name))
  );
}

/**
 * Return the cause whose repair is worth trying unproven, first in p/c order; or null.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @returns {string | null}
 */
function worthTrying(diagnosis, planning) {
  const hour = hourValue(diagnosis.knowledge, diagnosis.car);
  const unresolved = diagnosis.knowledge.settings.unresolved_cost;
  const found = planning.causes.flatMap((name) => {
    const cause = causeOf(diagnosis, name);
    const chance = diagnosis.posteriors[name];
    const cost = repairCost(cause, hour);
    // In vain it costs itself; otherwise it saves what a workshop asks to find the cause.
    const pays = cost * (1 - chance) <= unresolved * chance;
    if (!pays || chance < leastToTry(cause) || !mayAdvise(diagnosis, planning, name)) return [];
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
 * @param {Diagnosis} diagnosis
 * @param {string} name
 * @param {number} chance
 */
function isLikelyEnough(diagnosis, name, chance) {
  if (chance >= MORE_LIKELY_THAN_NOT) return true;
  const cause = causeOf(diagnosis, name);
  const cheap = middlePrice(cause) <= CHEAP_PART;
  return chance >= LIKELY_AND_CHEAP && cheap && confirmation(diagnosis, cause) !== null;
}

/**
 * Return the check that confirms the cause cheapest to put right for its chance.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @returns {RepairDecision}
 */
function quickLook(diagnosis, planning) {
  const name = planning.cheapestFirst;
  if (name === null || diagnosis.supply.state === "failing") return NOTHING;
  const found = confirmingCheck(planning, name, causeOf(diagnosis, name));
  const offer = planning.offers.get(found.check ?? "");
  if (!offer || offer.cost > QUICK_COST) return NOTHING;
  return { ...found, because: { kind: "quick-look", cause: name } };
}

/**
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {string} name
 */
function mayAdvise(diagnosis, planning, name) {
  if (missing(diagnosis.findings.abilities, repairRequires(causeOf(diagnosis, name)))) return false;
  if (diagnosis.supply.state === "failing") return isSupplyCause(diagnosis.knowledge, name);
  return !(isGated(diagnosis.supply) && tooDear(causeOf(diagnosis, name), planning));
}

/**
 * Return the cheapest check that can be made and would confirm a cause.
 * @param {Planning} planning
 * @param {string} name
 * @param {Cause} cause
 * @returns {RepairDecision}
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
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {string} name
 * @returns {RepairDecision}
 */
function tellingApart(diagnosis, planning, name) {
  if (diagnosis.posteriors[name] >= VERY_SURE) return NOTHING;
  for (const { cause, told_apart_by: check } of causeOf(diagnosis, name).confused_with ?? []) {
    const other = diagnosis.knowledge.causes[cause];
    if (!other || !check || !planning.offers.has(check)) continue;
    // A look-alike that is confirmed itself is there beside the cause, not in its place.
    const likely = diagnosis.posteriors[cause] >= LOOKS_ALIKE;
    if (likely && !confirmation(diagnosis, other)) {
      return { repair: null, check, because: { kind: "look-alike", cause: name, other: cause } };
    }
  }
  return NOTHING;
}

/**
 * Return whether the best result of a check proves a side of the supply that is still open.
 * @param {Diagnosis} diagnosis
 * @param {string} name
 */
function provesOpenSide({ knowledge, supply }, name) {
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
 * @param {PricedCheck} one
 */
function worthMaking(planning, one) {
  return one.alone > 0 && one.saving >= WORTH_SHARE * planning.buyingNow;
}

/**
 * Order the checks to offer by rules 4 to 6; at most 6, each thing to do once.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {RepairDecision} decided
 * @returns {PricedCheck[]}
 */
export function chooseNext(diagnosis, planning, decided) {
  const worth = planning.priced.filter((one) => worthMaking(planning, one));
  const asked = askedFor(planning, decided);
  const tellsApart = decided.because?.kind === "look-alike";
  if (diagnosis.supply.state === "sound") {
    return once(tellsApart || worth.length === 0 ? [...asked, ...worth] : worth);
  }
  const onSupply = planning.priced.filter((one) => judgesSupply(diagnosis, one));
  const calledFor = onSupply.filter(({ offer }) => offer.instead);
  if (diagnosis.supply.state === "failing") return once([...asked, ...calledFor, ...onSupply]);
  const rest = planning.priced.filter((one) => worth.includes(one) || onSupply.includes(one));
  if (tellsApart) {
    const first = asked.filter((one) => judgesSupply(diagnosis, one));
    return once([...first, ...calledFor, ...firstOnSupply(diagnosis, planning, worth, onSupply), ...rest]);
  }
  const onSupplyFirst = firstOnSupply(diagnosis, planning, [...asked, ...worth], onSupply);
  const leads = onSupplyFirst.length === 0 || asked.some((one) => judgesSupply(diagnosis, one));
  const head = leads ? [...asked, ...onSupplyFirst] : [...onSupplyFirst, ...asked];
  return once([...calledFor, ...head, ...rest]);
}

/**
 * Return the check that rule 3 asks for, priced; it need not be worth making.
 * @param {Planning} planning
 * @param {RepairDecision} decided
 * @returns {PricedCheck[]}
 */
function askedFor(planning, decided) {
  if (decided.check === null) return [];
  const priced = planning.priced.find(({ offer }) => offer.check === decided.check);
  if (priced) return [priced];
  const offer = planning.offers.get(decided.check);
  const alone = planning.alone[decided.check] ?? 0;
  return offer ? [{ offer, saving: alone, alone }] : [];
}

/**
 * @param {PricedCheck[]} found
 * @returns {PricedCheck[]}
 */
function once(found) {
  /** @type {Map<string, PricedCheck>} */
  const kept = new Map();
  for (const one of found) if (!kept.has(one.offer.first)) kept.set(one.offer.first, one);
  return [...kept.values()].slice(0, MOST_NEXT);
}

/**
 * Return whether a check judges a side of the supply.
 * @param {Diagnosis} diagnosis
 * @param {PricedCheck} one
 */
function judgesSupply({ knowledge }, one) {
  return knowledge.checks[one.offer.check]?.aspects.length > 0;
}

/**
 * Return the cheapest check that can prove an open side of the supply; none if none is left.
 *
 * Once nothing more can be learned for its price, proof is all that a supply check is for.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @returns {PricedCheck[]}
 */
function cheapestProof(diagnosis, { offers, alone }) {
  const found = [...offers.values()].filter(({ check }) => provesOpenSide(diagnosis, check));
  found.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  return found.slice(0, 1).map((offer) => {
    const saving = alone[offer.check] ?? 0;
    return { offer, saving, alone: saving };
  });
}

/**
 * Return the supply check that comes first by rule 5, alone in a list; none if not asked.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {PricedCheck[]} worth
 * @param {PricedCheck[]} onSupply
 * @returns {PricedCheck[]}
 */
function firstOnSupply(diagnosis, planning, worth, onSupply) {
  const { knowledge, posteriors, supply } = diagnosis;
  const relevant = [...relevantCauses(knowledge, diagnosis.car)].sort(compareText);
  const onIt = relevant
    .filter((name) => isSupplyCause(knowledge, name))
    .reduce((sum, name) => sum + posteriors[name], 0);
  if (worth.length > 0 && onIt < SUPPLY_MATTERS) return [];
  const [proving] = worth.length === 0 ? cheapestProof(diagnosis, planning) : [];
  if (proving) {
    const glance = Math.min(...onSupply.map(({ offer }) => offer.cost));
    if (proving.offer.cost <= QUICK_COST || glance > GLANCE_COST) return [proving];
  }
  const sides = (/** @type {string} */ check) => knowledge.checks[check]?.aspects ?? [];
  const wanted = supply.abnormal.length > 0 ? supply.abnormal.flatMap(sides) : supply.open_aspects;
  const preferred = onSupply.filter(({ offer }) => sides(offer.check).some((side) => wanted.includes(side)));
  const among = preferred.length > 0 ? preferred : onSupply;
  const [best] = among;
  if (!best) return [];
  const least = best.saving - Math.max(CLOSE_MONEY, CLOSE_SHARE * best.saving);
  const close = among.filter((one) => one.saving >= least);
  close.sort(
    (a, b) =>
      a.offer.cost - b.offer.cost || rounded(b.saving) - rounded(a.saving) || compareText(a.offer.check, b.offer.check),
  );
  return close.slice(0, 1);
}

/**
 * @typedef {object} Held
 * @property {string} part
 * @property {string} cause
 * @property {number} price_low
 * @property {number} price_high
 * @property {string} currency
 * @property {number} probability_at_fault
 * @property {Because} until
 */

/**
 * List the parts not to buy yet by rule 8, likeliest first, each part once.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {RepairChoice | null} repair
 * @returns {Held[]}
 */
export function holdOff(diagnosis, planning, repair) {
  const bought = repair ? causeOf(diagnosis, repair.cause).repair.part : null;
  /** @type {Map<string, Held>} */
  const held = new Map();
  for (const name of planning.causes) {
    const cause = causeOf(diagnosis, name);
    const { part, price } = cause.repair;
    if (part === null || held.has(part) || part === bought || repair?.cause === name) continue;
    held.set(part, {
      part,
      cause: name,
      price_low: price.low,
      price_high: price.high,
      currency: price.currency,
      probability_at_fault: diagnosis.posteriors[name],
      until: until(diagnosis, planning, name, cause),
    });
  }
  return [...held.values()].slice(0, MOST_HELD);
}

/**
 * Say, as data, what would settle whether to buy a part; a check only if it can be made.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @param {string} name
 * @param {Cause} cause
 * @returns {Because}
 */
function until(diagnosis, planning, name, cause) {
  const outside = !isSupplyCause(diagnosis.knowledge, name);
  if (outside && diagnosis.supply.state !== "sound") return { kind: "supply-sound" };
  const open = cause.confirmed_by.find(({ check }) => planning.offers.has(check));
  return open ? { kind: "check", ...open } : { kind: "likelier", cause: name };
}

/** @typedef {{check?: string, cause?: string, ability: string}} Withheld a step, and the ability it lacks */

/**
 * List the steps kept back though they would settle something, likeliest cause first.
 * @param {Diagnosis} diagnosis
 * @param {Planning} planning
 * @returns {Withheld[]}
 */
export function withheld(diagnosis, planning) {
  const { knowledge, findings, car } = diagnosis;
  /** @type {Map<string, Withheld>} */
  const found = new Map();
  const confirming = planning.causes.flatMap((name) => causeOf(diagnosis, name).confirmed_by.map(({ check }) => check));
  const proving = Object.keys(knowledge.checks).filter((name) => provesOpenSide(diagnosis, name));
  for (const name of [...confirming, ...proving]) {
    const check = knowledge.checks[name];
    if (!check || findings.results[name] || car.not_possible?.includes(name) || found.has(name)) continue;
    const lost = missing(findings.abilities, checkRequires(check));
    if (lost) found.set(name, { check: name, ability: lost.root });
  }
  for (const name of planning.causes) {
    const cause = causeOf(diagnosis, name);
    const lost = missing(findings.abilities, repairRequires(cause));
    if (lost && confirmation(diagnosis, cause)) found.set(name, { cause: name, ability: lost.root });
  }
  return [...found.values()].slice(0, MOST_WITHHELD);
}
