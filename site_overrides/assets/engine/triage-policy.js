/**
 * Reasoning room: the supply-first policy. The rules and their numbers stand, with their
 * reasons, in build_tools/reasoning/triage_policy.py; this is its twin and adds none. What
 * rule 3 comes to is worked out in triage-settle.js.
 *
 * @import { Planning, Priced } from "./triage-plan.js"
 * @import { Matter, Settled } from "./triage-settle.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { isSupplyCause } from "./supply.js";
import { relevantCauses, rounded } from "./triage-plan.js";
import { provesOpenSide, worthMaking } from "./triage-settle.js";

const SUPPLY_MATTERS = 0.25;
const QUICK_COST = 5;
const GLANCE_COST = 1;
const CLOSE_MONEY = 2;
const CLOSE_SHARE = 0.05;
const MOST_NEXT = 6;

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
    return once([...first, ...calledFor, ...firstOnSupply(matter, planning, worth, onSupply), ...rest]);
  }
  const onSupplyFirst = firstOnSupply(matter, planning, [...asked, ...worth], onSupply);
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
 * Return the cheapest check that can prove an open side of the supply; none if none is left.
 *
 * Once nothing more can be learned for its price, proof is all that a supply check is for.
 * @param {Matter} matter
 * @param {Planning} planning
 * @returns {Priced[]}
 */
function cheapestProof(matter, { offers, alone }) {
  const found = [...offers.values()].filter(({ check }) => provesOpenSide(matter, check));
  found.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  return found.slice(0, 1).map((offer) => {
    const saving = alone[offer.check] ?? 0;
    return { offer, saving, alone: saving };
  });
}

/**
 * Return the supply check that comes first by rule 5, alone in a list; none if not asked.
 * @param {Matter} matter
 * @param {Planning} planning
 * @param {Priced[]} worth
 * @param {Priced[]} onSupply
 * @returns {Priced[]}
 */
function firstOnSupply(matter, planning, worth, onSupply) {
  const { knowledge, posteriors, supply } = matter;
  const relevant = [...relevantCauses(knowledge, matter.car)].sort(compareText);
  const onIt = relevant
    .filter((name) => isSupplyCause(knowledge, name))
    .reduce((sum, name) => sum + (posteriors[name] ?? 0), 0);
  if (worth.length > 0 && onIt < SUPPLY_MATTERS) return [];
  const [proving] = worth.length === 0 ? cheapestProof(matter, planning) : [];
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
