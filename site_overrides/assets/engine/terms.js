/** What is observed, made ready for elimination. Twin of terms.py, in the same order of arithmetic. */

/** @import { Evidence, Network, NetworkFinding, Odds } from './network.js' */
import { indexNetwork } from "./network.js";

/**
 * @typedef {{mass: number[], reach: number[]}} Link
 * What one present cause does to the states of a finding: `mass` is the chance that it
 * alone reaches exactly that state, `reach` that it stays at or below it.
 */

/**
 * @typedef {{finding: string, weights: number[], leak: number[], links: Map<number, Link>}} Term
 * One observed finding. `weights` are scaled so that the largest is 1; `links` go by place
 * of the cause.
 */

/**
 * @typedef {object} Prepared the sum before elimination
 * @property {number[]} present weight of presence of each cause, normal results folded in
 * @property {number[]} absent
 * @property {number} logConstant
 * @property {Term[]} terms
 * @property {boolean} possible false when the evidence is ruled out before any sum is taken
 */

/**
 * @type {(network: Network, odds: Odds, evidence: Evidence) => Prepared}
 * @param odds a cause without an entry keeps its prior odds
 * @throws {RangeError} if odds or weights are negative, not finite or for nothing known
 */
export function prepare(network, odds, evidence) {
  const { present, absent } = causeWeights(network, odds);
  /** @type {Prepared} */
  const state = { present, absent, logConstant: 0, terms: [], possible: true };
  checkNames(network, evidence);
  for (const finding of network.findings) {
    if (!Object.hasOwn(evidence, finding.id)) continue;
    const weights = evidence[finding.id];
    const largest = checkWeights(finding, weights);
    if (largest === 0) {
      state.possible = false;
      continue;
    }
    state.logConstant += Math.log(largest);
    const term = termOf(network, finding, scaled(weights, largest));
    if (term.weights.length === 1) fold(state, term);
    else state.terms.push(term);
  }
  return state;
}

/** Refuse evidence on findings the network does not have. @type {(network: Network, evidence: Evidence) => void} */
export function checkNames(network, evidence) {
  const { findingById } = indexNetwork(network);
  for (const name of Object.keys(evidence)) {
    if (!findingById.has(name)) {
      throw new RangeError(`evidence: "${name}" is no finding of this network`);
    }
  }
}

/**
 * @param {Network} network
 * @param {Odds} odds
 */
export function causeWeights(network, odds) {
  const { causePlace } = indexNetwork(network);
  for (const name of Object.keys(odds)) {
    if (!causePlace.has(name)) {
      throw new RangeError(`odds: "${name}" is no cause of this network`);
    }
  }
  /** @type {number[]} */
  const present = [];
  /** @type {number[]} */
  const absent = [];
  for (const cause of network.causes) {
    const value = Object.hasOwn(odds, cause.id) ? odds[cause.id] : cause.prior / (1 - cause.prior);
    if (!(Number.isFinite(value) && value >= 0)) {
      throw new RangeError(`odds of "${cause.id}": ${value} is not a finite number from 0 up`);
    }
    present.push(value / (1 + value));
    absent.push(1 / (1 + value));
  }
  return { present, absent };
}

/** @type {(finding: NetworkFinding, weights: ArrayLike<number>) => number} */
export function checkWeights(finding, weights) {
  if (weights.length !== finding.levels.length) {
    throw new RangeError(`evidence on "${finding.id}": ${weights.length} weights for ${finding.levels.length} levels`);
  }
  let largest = 0;
  for (const weight of Array.from(weights)) {
    if (!(Number.isFinite(weight) && weight >= 0)) {
      throw new RangeError(`evidence on "${finding.id}": weight ${weight} is not a finite number from 0 up`);
    }
    largest = Math.max(largest, weight);
  }
  return largest;
}

/** @type {(weights: ArrayLike<number>, largest: number) => number[]} */
export function scaled(weights, largest) {
  return Array.from(weights, (weight) => weight / largest);
}

/** @type {(network: Network, finding: NetworkFinding, weights: number[]) => Term} */
export function termOf(network, finding, weights) {
  /** @type {number[]} */
  const bounds = [];
  /** @type {number[]} */
  const merged = [];
  weights.forEach((weight, level) => {
    if (merged.length > 0 && merged[merged.length - 1] === weight) {
      bounds[bounds.length - 1] = level;
    } else {
      bounds.push(level);
      merged.push(weight);
    }
  });
  if (merged[merged.length - 1] === 0) {
    bounds.pop();
    merged.pop();
  }
  const { causePlace } = indexNetwork(network);
  const links = Object.entries(finding.links)
    .map(([id, row]) => ({ place: /** @type {number} */ (causePlace.get(id)), link: rowOfStates(row, bounds) }))
    .sort((one, other) => one.place - other.place);
  return {
    finding: finding.id,
    weights: merged,
    leak: rowOfStates(finding.leak, bounds).mass,
    links: new Map(links.map(({ place, link }) => [place, link])),
  };
}

/** @type {(row: number[], bounds: number[]) => Link} */
function rowOfStates(row, bounds) {
  const reach = bounds.map((bound) => row[bound] ?? 1);
  const mass = reach.map((value, state) => (state === 0 ? value : value - reach[state - 1]));
  return { mass, reach };
}

/** @type {(state: Prepared, term: Term) => void} */
function fold(state, term) {
  const leak = term.leak[0];
  if (leak === 0) {
    state.possible = false;
    return;
  }
  state.logConstant += Math.log(leak);
  for (const [place, link] of term.links) {
    state.present[place] *= link.reach[0];
  }
}

/**
 * @param {Prepared} state
 * @returns {{terms: Term[], causes: number[]}[]} terms and causes in network order
 */
export function splitComponents(state) {
  const groups = [];
  let free = state.terms.slice();
  while (free.length > 0) {
    const inside = new Set([/** @type {Term} */ (free.shift())]);
    /** @type {Set<number>} */
    const causes = new Set();
    for (const member of inside) {
      for (const place of member.links.keys()) {
        if (state.present[place] > 0 && !causes.has(place)) {
          causes.add(place);
          for (const term of free) if (term.links.has(place)) inside.add(term);
        }
      }
      free = free.filter((term) => !inside.has(term));
    }
    groups.push({
      terms: state.terms.filter((term) => inside.has(term)),
      causes: [...causes].sort((one, other) => one - other),
    });
  }
  return groups;
}
