/**
 * The policy: the cheapest way on, and two gates on buying. The rules and their numbers stand,
 * with their reasons, in policy.py; this is its twin and adds none.
 *
 * @import { Cause } from "../knowledge/types.js"
 * @import { Confirmation, Diagnosis } from "./diagnosis.js"
 * @import { Because } from "./findings.js"
 * @import { Planning, PricedCheck } from "./planning.js"
 */
import { checkRequires, missing, repairRequires } from "./abilities.js";
import { amissIn, confirmation } from "./diagnosis.js";

export const GATES = { sure: 0.5, excluded: 0.05 };
const MOST_NEXT = 6;
const MOST_HELD = 6;
const MOST_WITHHELD = 6;
// Nobody is warned of a part that may cost nothing, or not much more than the way to the store.
const WORTH_HOLDING = 30;

/**
 * A cause whose repair is advised, and the check result that confirms it, if any. `beatsChecks`
 * says that a check would be worth making too, but trying this costs less.
 * @typedef {{cause: string, confirmedBy: Confirmation | null, beatsChecks: boolean}} RepairChoice
 */

/**
 * What to do now: a repair, or checks in order of what they save, or a workshop. With nothing
 * noticed there is nothing to find in a workshop; then one check may be offered that does not pay.
 * Once the trouble is over and no check pays, `watch`: only watch the car.
 * @typedef {{repair: RepairChoice | null, offered: PricedCheck[], workshop: boolean, watch: boolean}} Decision
 */

/** Return a cause of the knowledge. @type {(diagnosis: Diagnosis, name: string) => Cause} */
function causeOf({ knowledge }, name) {
  return /** @type {Cause} */ (knowledge.causes[name]);
}

/** Choose what is advised now. @type {(diagnosis: Diagnosis, planning: Planning) => Decision} */
export function decide(diagnosis, { step, priced }) {
  const nothing = { repair: null, offered: [], workshop: false, watch: false };
  if (isOver(diagnosis)) return { ...nothing, watch: true };
  const paying = priced.filter(({ saving }) => saving > 0);
  if (step.kind === "repair") {
    const confirmedBy = confirmation(diagnosis, causeOf(diagnosis, step.id));
    const repair = { cause: step.id, confirmedBy, beatsChecks: paying.length > 0 };
    return { ...nothing, repair };
  }
  if (step.kind === "check") return { ...nothing, offered: once(paying.length > 0 ? paying : priced.slice(0, 1)) };
  const { car, supply } = diagnosis;
  if (car.symptoms.length > 0) return { ...nothing, workshop: true };
  if (supply.state === "sound") return { ...nothing, watch: true };
  return { ...nothing, offered: priced.slice(0, 1) };
}

/**
 * Say whether a repair ended the trouble, or there is none: all over, or nothing found amiss.
 * Where nothing was noticed, a result must say so; without any, somebody wants to begin.
 * @param {Diagnosis} diagnosis
 */
function isOver({ car, findings }) {
  if (findings.settled !== null) return true;
  const isTold = Object.keys(findings.results).some((name) => name in findings.evidence);
  return ((car.past ?? []).length > 0 || isTold) && car.symptoms.length === 0 && amissIn(findings).length === 0;
}

/** Keep each thing to do once, at most 6. @param {PricedCheck[]} found */
function once(found) {
  /** @type {Map<string, PricedCheck>} */
  const kept = new Map();
  for (const one of found) if (!kept.has(one.offer.first)) kept.set(one.offer.first, one);
  return [...kept.values()].slice(0, MOST_NEXT);
}

/**
 * @typedef {{part: string, cause: string, price_low: number, price_high: number, currency: string,
 *   probability_at_fault: number, until: Because}} Held
 */

/**
 * List the parts not to buy yet, likeliest first, each part once. A confirmed cause is among them
 * only while its part waits for the supply.
 * @type {(diagnosis: Diagnosis, planning: Planning, repair: RepairChoice | null) => Held[]}
 */
export function holdOff(diagnosis, planning, repair) {
  const advised = repair ? causeOf(diagnosis, repair.cause).repair.part : null;
  /** @type {Map<string, Held>} */
  const held = new Map();
  for (const name of planning.causes) {
    const cause = causeOf(diagnosis, name);
    const { part, price } = cause.repair;
    if (part === null || held.has(part) || part === advised) continue;
    if ((price.low + price.high) / 2 < WORTH_HOLDING) continue;
    if (!planning.held.includes(name) && confirmation(diagnosis, cause)) continue;
    held.set(part, {
      part,
      cause: name,
      price_low: price.low,
      price_high: price.high,
      currency: price.currency,
      probability_at_fault: diagnosis.posteriors[name],
      until: until(planning, name, cause),
    });
  }
  return [...held.values()].slice(0, MOST_HELD);
}

/**
 * Say, as data, what would settle whether to buy a part: only what can be made.
 * @type {(planning: Planning, name: string, cause: Cause) => Because}
 */
function until({ held, offers }, name, { confirmed_by: by }) {
  if (held.includes(name)) return { kind: "supply-sound" };
  const open = by.find(({ check }) => offers.has(check));
  return open ? { kind: "check", ...open } : { kind: "likelier", cause: name };
}

/** @typedef {{check?: string, cause?: string, ability: string}} Withheld a step, and the ability it lacks */

/**
 * List the steps kept back though they would settle something, likeliest cause first.
 * @type {(diagnosis: Diagnosis, planning: Planning) => Withheld[]}
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
    if (lost) found.set(name, { check: name, ability: toldOf(diagnosis, lost.root) });
  }
  for (const name of planning.causes) {
    const cause = causeOf(diagnosis, name);
    const lost = missing(findings.abilities, repairRequires(cause));
    if (lost && confirmation(diagnosis, cause)) found.set(name, { cause: name, ability: toldOf(diagnosis, lost.root) });
  }
  return [...found.values()].slice(0, MOST_WITHHELD);
}

/**
 * Return the ability to tell of: before one that is lost, what a stop line took of its way out.
 * Nobody is told to charge a battery that must be left alone.
 * @type {(diagnosis: Diagnosis, ability: string) => string}
 */
function toldOf({ knowledge, findings }, ability) {
  for (const one of knowledge.abilities?.[ability]?.instead ?? []) {
    const check = knowledge.checks[one];
    const lost = check ? missing(findings.abilities, checkRequires(check)) : null;
    if (lost?.because.kind === "stop") return lost.root;
  }
  return ability;
}

/**
 * Return whether the best result of a check proves a side of the supply that is still open.
 * @type {(diagnosis: Diagnosis, name: string) => boolean}
 */
function provesOpenSide({ knowledge, supply }, name) {
  const check = knowledge.checks[name];
  return check?.levels[0]?.proves === true && check.aspects.some((side) => supply.open_aspects.includes(side));
}
