/**
 * Which of the causes that are there make the complaints. Twin of blame.py, in the same order of
 * arithmetic.
 *
 * @import { Network } from "./network.js"
 * @import { Worlds } from "./worlds.js"
 */
import { indexNetwork } from "./network.js";
import { levelTable } from "./worlds.js";

/**
 * Sets of causes that make the complaints. `foundIn` says, for each, in which of the `present`
 * sets it is found, as a place and a share; the shares of one add up to 1.
 * @typedef {{worlds: Worlds, present: Worlds, foundIn: [number, number][][]}} Blamed
 */

/** Return P(the cause at a place is to blame). @type {(blamed: Blamed, place: number) => number} */
export function shareOf(blamed, place) {
  return shareOfAny(blamed, 1 << place);
}

/**
 * @param {Blamed} blamed
 * @param {number} wanted their places as a mask
 */
export function shareOfAny({ worlds }, wanted) {
  let total = 0;
  worlds.masks.forEach((mask, world) => {
    if (mask & wanted) total += worlds.weights[world];
  });
  return total;
}

/** @type {(network: Network, present: Worlds, complaints: string[]) => Blamed} */
export function blame(network, present, complaints) {
  const { masks } = present;
  if (complaints.length === 0) return { worlds: present, present, foundIn: masks.map((_, place) => [[place, 1]]) };
  const silence = silenceOf(network, present.causes, complaints);
  const places = new Map(masks.map((mask, place) => [mask, place]));
  /** @type {[number, number][][]} */
  const sources = masks.map(() => []);
  masks.forEach((mask, place) => {
    const weight = present.weights[place];
    const parts = subsetsOf(mask);
    const chances = parts.map((part) => madeBy(silence, part, mask));
    const total = sumOf(chances);
    parts.forEach((part, one) => {
      if (chances[one] <= 0 || weight <= 0) return;
      sources[places.get(part) ?? 0].push([place, (weight * chances[one]) / total]);
    });
  });
  const weights = sources.map((found) => sumOf(found.map(([, weight]) => weight)));
  /** @type {[number, number][][]} */
  const foundIn = sources.map((found, place) =>
    found.length > 0 ? found.map(([one, weight]) => [one, weight / weights[place]]) : [[place, 1]],
  );
  return { worlds: { masks, weights, causes: present.causes }, present, foundIn };
}

/** @type {(network: Network, blamed: Blamed, findingId: string) => number[][]} */
export function blamedTable(network, blamed, findingId) {
  return inBlamed(blamed, levelTable(network, blamed.present, findingId));
}

/**
 * @param {Blamed} blamed
 * @param {number[][]} table
 */
export function inBlamed({ foundIn }, table) {
  return foundIn.map((sources) => {
    const row = new Array(table[0].length).fill(0);
    for (const [place, share] of sources) {
      table[place].forEach((chance, level) => {
        row[level] += share * chance;
      });
    }
    return row;
  });
}

/** @param {number[]} numbers */
export function sumOf(numbers) {
  let total = 0;
  for (const one of numbers) total += one;
  return total;
}

/** @param {number} mask */
function subsetsOf(mask) {
  const found = [0];
  for (let bit = 0; mask >> bit > 0; bit += 1) {
    if ((mask >> bit) & 1) found.push(...found.map((one) => one | (1 << bit)));
  }
  return found;
}

/** @typedef {{leaks: number[], each: number[][]}} Silence chances to make no complaint, by cause and complaint */

/** @type {(network: Network, causes: string[], complaints: string[]) => Silence} */
function silenceOf(network, causes, complaints) {
  const findings = complaints.flatMap((name) => indexNetwork(network).findingById.get(name) ?? []);
  return {
    leaks: findings.map(({ leak }) => leak[0]),
    each: causes.map((cause) => findings.map(({ links }) => (cause in links ? links[cause][0] : 1))),
  };
}

/** @type {(silence: Silence, part: number, present: number) => number} */
function madeBy(silence, part, present) {
  let chance = 0;
  for (const made of subsetsOf(part)) {
    chance += signOf(part ^ made) * silent(silence, part ^ made) * shown(silence, made);
  }
  return Math.max(0, chance) * silent(silence, present ^ part);
}

/** Return -1 for an odd number of causes, else 1. @param {number} mask */
function signOf(mask) {
  let sign = 1;
  for (let left = mask; left > 0; left &= left - 1) sign = -sign;
  return sign;
}

/** @type {(silence: Silence, mask: number) => number} */
function silent({ each }, mask) {
  let chance = 1;
  each.forEach((row, bit) => {
    if ((mask >> bit) & 1) for (const one of row) chance *= one;
  });
  return chance;
}

/** @type {(silence: Silence, mask: number) => number} */
function shown({ leaks, each }, mask) {
  let chance = 1;
  leaks.forEach((leak, place) => {
    let quiet = leak;
    each.forEach((row, bit) => {
      if ((mask >> bit) & 1) quiet *= row[place];
    });
    chance *= 1 - quiet;
  });
  return chance;
}
