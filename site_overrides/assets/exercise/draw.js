/**
 * Room exercise: draw a car that shows a complaint, as often as the network says it comes.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { NetworkFinding } from "../engine/network.js"
 */

import { relevantCauses } from "../engine/diagnosis.js";
import { contextOdds, contextTimes, networkOf, noticedAnswers } from "../engine/findings.js";
import { indexNetwork } from "../engine/network.js";
import { putsRight } from "../engine/pricing.js";
import { triage } from "../engine/triage.js";
import { compareText } from "../measure/gauges-numbers.js";
import { chanceOf, pickByWeight } from "./chance.js";

/**
 * One cause; a cause that something likelier looks like; two causes; one cause and a reading that
 * lands in the band beside the true one.
 */
export const LEVELS = ["one", "alike", "two", "misleading"];

/** Half of the cars come with a fact, and up to two more complaints are told; as in play.py. */
const WITH_FACT = 0.5;
const MOST_OTHERS = 2;

/**
 * A made-up car: its complaint, what else is told of it (further complaints that its causes make,
 * facts by context), its hidden causes, the checks that are misread, and the seed of every result.
 * @typedef {{level: string, complaint: string, others: string[], facts: Record<string, string>, causes: string[],
 *   misread: string[], seed: number}} Car
 */

/** @typedef {Array<{thing: string[], weight: number}>} Sets sets of causes with their weights */

/** @param {string} complaint */
export function complaintCase(complaint) {
  return { symptoms: [complaint], context: {}, readings: {}, outcomes: {}, not_possible: [] };
}

/**
 * Return what is told of a car before anything is done to it.
 * @param {Pick<Car, "complaint" | "others" | "facts">} car
 */
export function toldCase({ complaint, others, facts }) {
  return { ...complaintCase(complaint), symptoms: [complaint, ...others], context: facts };
}

/**
 * Return the causes that can make what is told of a car, by id.
 * @type {(knowledge: Knowledge, car: Pick<Car, "complaint" | "others" | "facts">) => string[]}
 */
export function causesTold(knowledge, car) {
  return [...relevantCauses(knowledge, toldCase(car))].sort(compareText);
}

/** Return the causes that can make a complaint, by id. @type {(knowledge: Knowledge, complaint: string) => string[]} */
export function causesOf(knowledge, complaint) {
  return [...relevantCauses(knowledge, complaintCase(complaint))].sort(compareText);
}

/**
 * Return the finding of a name, if the network has one.
 * @type {(knowledge: Knowledge, name: string) => NetworkFinding | undefined}
 */
export function findingOf(knowledge, name) {
  return indexNetwork(networkOf(knowledge)).findingById.get(name);
}

/**
 * List the sets of causes a level may hide behind a complaint. A weight is how often exactly this
 * set is there and each of it makes the complaint, beside the other sets of the list.
 * @type {(knowledge: Knowledge, complaint: string, level: string) => Sets}
 */
export function setsOf(knowledge, complaint, level) {
  const noticed = noticedAnswers(knowledge, { symptoms: [complaint] });
  const odds = contextOdds(knowledge, contextTimes(knowledge, noticed));
  const causes = causesOf(knowledge, complaint);
  const links = findingOf(knowledge, complaint)?.links ?? {};
  const weigh = (/** @type {string[]} */ thing) => ({
    thing,
    weight: thing.reduce((product, name) => product * (odds[name] ?? 0) * (1 - (links[name]?.[0] ?? 1)), 1),
  });
  if (level === "two") {
    // One repair for both would make it one fault.
    const apart = (/** @type {string} */ a, /** @type {string} */ b) => {
      const [one, other] = [knowledge.causes[a], knowledge.causes[b]];
      return one && other && !putsRight(one, other) && !putsRight(other, one);
    };
    return causes.flatMap((a, place) =>
      causes
        .slice(place + 1)
        .filter((b) => apart(a, b))
        .map((b) => weigh([a, b])),
    );
  }
  const sets = causes.map((name) => weigh([name]));
  if (level !== "alike") return sets;
  const top = sets.reduce((best, one) => (one.weight > best.weight ? one : best), sets[0] ?? weigh([]));
  return sets.filter((one) => one !== top);
}

/**
 * List, by id, the complaints that a level can be drawn for.
 * @type {(knowledge: Knowledge, level: string) => string[]}
 */
export function complaintsFor(knowledge, level) {
  return Object.keys(knowledge.symptoms)
    .filter((name) => knowledge.symptoms[name]?.role === "complaint")
    .filter((name) => setsOf(knowledge, name, level).length > 0)
    .filter((name) => level !== "misleading" || gaugedFor(knowledge, name).length > 0)
    .sort(compareText);
}

/**
 * List the checks with a gauge that say something about a complaint.
 * @type {(knowledge: Knowledge, complaint: string) => string[]}
 */
function gaugedFor(knowledge, complaint) {
  const causes = causesOf(knowledge, complaint);
  return Object.keys(knowledge.checks)
    .filter((name) => knowledge.checks[name].gauge && knowledge.checks[name].levels.length > 1)
    .filter((name) => causes.some((cause) => cause in (findingOf(knowledge, name)?.links ?? {})))
    .sort(compareText);
}

/**
 * Draw what else is told: a fact as often as it goes with these causes, and complaints that they make
 * beside the first.
 * @type {(knowledge: Knowledge, complaint: string, causes: string[], seed: number) => Pick<Car, "others" | "facts">}
 */
function toldFor(knowledge, complaint, causes, seed) {
  const shown = Object.keys(knowledge.symptoms)
    .filter((name) => knowledge.symptoms[name]?.role === "complaint" && name !== complaint)
    .filter((name) => {
      const links = findingOf(knowledge, name)?.links ?? {};
      const quiet = causes.reduce((product, cause) => product * (links[cause]?.[0] ?? 1), 1);
      return chanceOf(seed, `shows ${name}`) >= quiet;
    });
  shown.sort((one, other) => chanceOf(seed, `tells ${one}`) - chanceOf(seed, `tells ${other}`));
  const others = shown.slice(0, Math.floor(chanceOf(seed, "others") * (MOST_OTHERS + 1)));
  const factors = causesOf(knowledge, complaint).flatMap((name) => knowledge.causes[name]?.context ?? []);
  const contexts = [...new Set(factors.map(({ when }) => when))]
    .filter((name) => knowledge.contexts[name]?.options && knowledge.contexts[name].role !== "condition")
    .sort(compareText);
  const asked = contexts[Math.floor(chanceOf(seed, "context") * contexts.length)];
  if (asked === undefined || chanceOf(seed, "fact") >= WITH_FACT) return { others, facts: {} };
  const rows = (knowledge.contexts[asked]?.options ?? []).map(({ id }) => ({
    thing: id,
    weight: causes.reduce((product, name) => product * timesOf(knowledge, name, asked, id), 1),
  }));
  const answer = pickByWeight(rows, chanceOf(seed, "answer"));
  const isPossible = rows.some(({ thing, weight }) => thing === answer && weight > 0);
  return { others, facts: isPossible ? { [asked]: answer } : {} };
}

/**
 * Return what an answer makes of the odds of a cause.
 * @type {(knowledge: Knowledge, cause: string, context: string, answer: string) => number}
 */
function timesOf({ causes }, cause, context, answer) {
  const told = (causes[cause]?.context ?? []).filter(({ when, is }) => when === context && is === answer);
  return told.reduce((product, { times }) => product * times, 1);
}

/**
 * Choose the check that is misread: one the checker itself advises at once, where it can.
 * @type {(knowledge: Knowledge, told: Pick<Car, "complaint" | "others" | "facts">, seed: number) => string}
 */
function misreadFor(knowledge, told, seed) {
  const gauged = gaugedFor(knowledge, told.complaint);
  const advised = triage(knowledge, toldCase(told)).next.find(({ check }) => gauged.includes(check));
  return advised ? advised.check : gauged[Math.floor(chanceOf(seed, "misread") * gauged.length)];
}

/**
 * Draw a car. What is given is kept; the rest follows from the seed alone.
 *
 * Throws RangeError where no car of this level shows the complaint.
 * @type {(knowledge: Knowledge, wanted: {level: string, seed: number, complaint?: string, causes?: string[]}) => Car}
 */
export function drawCar(knowledge, { level, seed, complaint = "", causes = [] }) {
  const among = complaint === "" ? complaintsFor(knowledge, level) : [complaint];
  const shown = among[Math.floor(chanceOf(seed, "complaint") * among.length)] ?? "";
  const sets = setsOf(knowledge, shown, level);
  if (causes.length === 0 && sets.length === 0) throw new RangeError(`no car of level "${level}" shows "${shown}"`);
  const hidden = causes.length > 0 ? causes : pickByWeight(sets, chanceOf(seed, "causes"));
  const told = { complaint: shown, ...toldFor(knowledge, shown, hidden, seed) };
  const misread = level === "misleading" ? [misreadFor(knowledge, told, seed)] : [];
  return { level, ...told, causes: [...hidden].sort(compareText), misread, seed };
}
