/**
 * Sets of causes that may be present together, with their weights, and which of them make the
 * complaints. Twin of worlds.py, in the same order of arithmetic.
 *
 * @import { Evidence, Network, Odds } from "./network.js"
 * @import { Term } from "./terms.js"
 */

import { indexNetwork } from "./network.js";
import { ContradictoryEvidence } from "./noisy-max.js";
import { causeWeights, checkNames, checkWeights, scaled, termOf } from "./terms.js";

/** Most candidates a set can name; a set is kept in one 32-bit number. */
export const CANDIDATE_LIMIT = 30;

/**
 * @typedef {{masks: number[], weights: number[], causes: string[]}} Worlds
 * The sets considered: bit i of a mask means `causes[i]` is present. Every subset of a
 * listed set is listed, the empty one first. `weights` add up to 1.
 */

/**
 * @type {(network: Network, odds: Odds, evidence: Evidence, options: {candidates: string[], mostPresent?: number}) =>
 *   Worlds}
 * @param options causes that are no
 *   candidate count as absent
 * @throws {ContradictoryEvidence | RangeError}
 */
export function enumerateWorlds(network, odds, evidence, { candidates, mostPresent = 2 }) {
  const places = placesOf(network, candidates);
  const { present, absent } = causeWeights(network, odds);
  const masks = listMasks(places.length, mostPresent);
  const sets = masks.map((mask) => membersOf(places, mask));
  let weights = sets.map((members) => {
    let weight = 1;
    for (const place of members) {
      weight *= present[place] / absent[place];
    }
    return weight;
  });
  for (const term of observedTerms(network, evidence)) {
    const chances = sets.map((members) => chanceOf(term, members));
    weights = weights.map((weight, world) => weight * chances[world]);
    const largest = weights.reduce((most, weight) => Math.max(most, weight), 0);
    if (largest === 0) throw new ContradictoryEvidence(observedIds(network, evidence));
    // Rescaled after every finding, so that a long case does not run into zero.
    weights = weights.map((weight) => weight / largest);
  }
  let total = 0;
  for (const weight of weights) total += weight;
  return { masks, weights: weights.map((weight) => weight / total), causes: candidates.slice() };
}

/** @type {(network: Network, worlds: Worlds, findingId: string) => number[][]} */
export function levelTable(network, worlds, findingId) {
  const finding = indexNetwork(network).findingById.get(findingId);
  if (!finding) throw new RangeError(`"${findingId}" is no finding of this network`);
  const places = placesOf(network, worlds.causes);
  // Distinct weights keep every level a state of its own.
  const term = termOf(
    network,
    finding,
    finding.levels.map((_, level) => level + 1),
  );
  return worlds.masks.map((mask) => massesOf(term, membersOf(places, mask)));
}

/** @type {(network: Network, candidates: string[]) => number[]} */
function placesOf(network, candidates) {
  if (candidates.length > CANDIDATE_LIMIT) {
    throw new RangeError(`${candidates.length} candidates, ${CANDIDATE_LIMIT} are allowed`);
  }
  if (new Set(candidates).size !== candidates.length) {
    throw new RangeError("a candidate is named twice");
  }
  const { causePlace } = indexNetwork(network);
  return candidates.map((name) => {
    const place = causePlace.get(name);
    if (place === undefined) {
      throw new RangeError(`candidate "${name}" is no cause of this network`);
    }
    return place;
  });
}

/**
 * List the sets by size, then in the order of the candidates.
 * @type {(count: number, mostPresent: number) => number[]}
 */
function listMasks(count, mostPresent) {
  const masks = [0];
  /** @type {{mask: number, next: number}[]} */
  let level = [{ mask: 0, next: 0 }];
  for (let size = 1; size <= Math.min(count, mostPresent); size += 1) {
    level = level.flatMap(({ mask, next }) => {
      const larger = [];
      for (let bit = next; bit < count; bit += 1) {
        larger.push({ mask: mask | (1 << bit), next: bit + 1 });
      }
      return larger;
    });
    for (const { mask } of level) masks.push(mask);
  }
  return masks;
}

/** @type {(places: number[], mask: number) => number[]} */
function membersOf(places, mask) {
  return places.filter((_, bit) => ((mask >> bit) & 1) === 1);
}

/** @type {(network: Network, evidence: Evidence) => string[]} */
function observedIds(network, evidence) {
  return network.findings.map(({ id }) => id).filter((id) => Object.hasOwn(evidence, id));
}

/** @type {(network: Network, evidence: Evidence) => Term[]} */
function observedTerms(network, evidence) {
  checkNames(network, evidence);
  return network.findings
    .filter((finding) => Object.hasOwn(evidence, finding.id))
    .map((finding) => {
      const weights = evidence[finding.id];
      const largest = checkWeights(finding, weights);
      if (largest === 0) throw new ContradictoryEvidence([finding.id]);
      return termOf(network, finding, scaled(weights, largest));
    });
}

/**
 * Give the chance of each state: the leak, max-ed with each member in turn.
 * @type {(term: Term, members: number[]) => number[]}
 */
function massesOf(term, members) {
  const masses = term.leak.slice();
  for (const place of members) {
    const link = term.links.get(place);
    if (!link) continue;
    let below = 0;
    masses.forEach((mass, state) => {
      masses[state] = mass * link.reach[state] + below * link.mass[state];
      below += mass;
    });
  }
  return masses;
}

/** @type {(term: Term, members: number[]) => number} */
function chanceOf(term, members) {
  let total = 0;
  massesOf(term, members).forEach((mass, state) => {
    total += mass * term.weights[state];
  });
  return total;
}

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
