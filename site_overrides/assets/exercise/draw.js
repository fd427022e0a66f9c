/**
 * Room exercise: draw a car that shows a complaint, as often as the network says it comes.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { NetworkFinding } from "../engine/network.js"
 */

import { relevantCauses } from "../engine/diagnosis.js";
import { contextOdds, networkOf } from "../engine/findings.js";
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

/**
 * A made-up car: its complaint, its hidden causes, the checks that are misread, and the seed of
 * every result.
 * @typedef {{level: string, complaint: string, causes: string[], misread: string[], seed: number}} Car
 */

/** @typedef {Array<{thing: string[], weight: number}>} Sets sets of causes with their weights */

/** @param {string} complaint */
export function complaintCase(complaint) {
  return { symptoms: [complaint], context: {}, readings: {}, outcomes: {}, not_possible: [] };
}

/**
 * Return the causes that can make a complaint, by id.
 * @param {Knowledge} knowledge
 * @param {string} complaint
 * @returns {string[]}
 */
export function causesOf(knowledge, complaint) {
  return [...relevantCauses(knowledge, complaintCase(complaint))].sort(compareText);
}

/**
 * Return the finding of a name, if the network has one.
 * @param {Knowledge} knowledge
 * @param {string} name
 * @returns {NetworkFinding | undefined}
 */
export function findingOf(knowledge, name) {
  return indexNetwork(networkOf(knowledge)).findingById.get(name);
}

/**
 * List the sets of causes a level may hide behind a complaint. A weight is how often exactly this
 * set is there and each of it makes the complaint, beside the other sets of the list.
 * @param {Knowledge} knowledge
 * @param {string} complaint
 * @param {string} level
 * @returns {Sets}
 */
export function setsOf(knowledge, complaint, level) {
  const odds = contextOdds(knowledge, {});
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
 * @param {Knowledge} knowledge
 * @param {string} level
 * @returns {string[]}
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
 * @param {Knowledge} knowledge
 * @param {string} complaint
 */
function gaugedFor(knowledge, complaint) {
  const causes = causesOf(knowledge, complaint);
  return Object.keys(knowledge.checks)
    .filter((name) => knowledge.checks[name].gauge && knowledge.checks[name].levels.length > 1)
    .filter((name) => causes.some((cause) => cause in (findingOf(knowledge, name)?.links ?? {})))
    .sort(compareText);
}

/**
 * Choose the check that is misread: one the checker itself advises at once, where it can.
 * @param {Knowledge} knowledge
 * @param {string} complaint
 * @param {number} seed
 */
function misreadFor(knowledge, complaint, seed) {
  const gauged = gaugedFor(knowledge, complaint);
  const advised = triage(knowledge, complaintCase(complaint)).next.find(({ check }) => gauged.includes(check));
  return advised ? advised.check : gauged[Math.floor(chanceOf(seed, "misread") * gauged.length)];
}

/**
 * Draw a car. What is given is kept; the rest follows from the seed alone.
 *
 * Throws RangeError where no car of this level shows the complaint.
 * @param {Knowledge} knowledge
 * @param {{level: string, seed: number, complaint?: string, causes?: string[]}} wanted
 * @returns {Car}
 */
export function drawCar(knowledge, { level, seed, complaint = "", causes = [] }) {
  const among = complaint === "" ? complaintsFor(knowledge, level) : [complaint];
  const shown = among[Math.floor(chanceOf(seed, "complaint") * among.length)] ?? "";
  const sets = setsOf(knowledge, shown, level);
  if (causes.length === 0 && sets.length === 0) throw new RangeError(`no car of level "${level}" shows "${shown}"`);
  const hidden = causes.length > 0 ? causes : pickByWeight(sets, chanceOf(seed, "causes"));
  const misread = level === "misleading" ? [misreadFor(knowledge, shown, seed)] : [];
  return { level, complaint: shown, causes: [...hidden].sort(compareText), misread, seed };
}
