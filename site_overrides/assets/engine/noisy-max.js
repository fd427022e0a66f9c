/**
 * Reasoning room: the exact posterior of every cause, and what a check would show.
 *
 * Noisy-MAX with two layers: P(F <= k | present set S) is the leak's P(F <= k) times the
 * product over S of the links'. Nothing is sampled and nothing is cut off. Same order of
 * arithmetic as noisy_max.py. It does not choose a next step.
 */

/** @import { Evidence, Network, NetworkFinding, Odds } from './network.js' */
/** @import { Prepared } from './elimination-terms.js' */
/** @import { Order } from './elimination-order.js' */
import { sumBothWays, sumForward } from "./elimination.js";
import { findOrder } from "./elimination-order.js";
import { prepare, splitComponents } from "./elimination-terms.js";
import { indexNetwork } from "./network.js";

/** Largest table, in numbers, that inference will build: 1 MB a step, our choice. */
export const WIDTH_LIMIT = 131072;

/**
 * The evidence has probability zero. Taking any one of `findings` away makes the rest
 * possible.
 */
export class ContradictoryEvidence extends Error {
  /** @param {string[]} findings */
  constructor(findings) {
    super(`no set of causes can show these findings together: ${findings.join(", ")}`);
    this.name = "ContradictoryEvidence";
    this.findings = findings;
  }
}

/** The exact sum needs a larger table than allowed; both counts are numbers. */
export class FrontierTooWide extends Error {
  /**
   * @param {number} width
   * @param {number} limit
   */
  constructor(width, limit) {
    super(`the findings are too entangled: a table of ${width} numbers is needed, ` + `${limit} are allowed`);
    this.name = "FrontierTooWide";
    this.width = width;
    this.limit = limit;
  }
}

/**
 * @typedef {{posteriors: Record<string, number>, logEvidence: number}} Inference
 * Posterior of each cause, and the natural logarithm of P(evidence), weights as given.
 */

/** @typedef {{widthLimit?: number}} InferenceOptions */

/**
 * Give every cause's posterior, exactly.
 *
 * @param {Network} network
 * @param {Odds} odds prior odds with context multiplied in; a cause left out keeps its prior
 * @param {Evidence} evidence one weight per level; a finding left out is no evidence
 * @param {InferenceOptions} [options]
 * @returns {Inference}
 * @throws {ContradictoryEvidence | FrontierTooWide | RangeError}
 */
export function infer(network, odds, evidence, { widthLimit = WIDTH_LIMIT } = {}) {
  const result = inferOrNull(network, odds, evidence, widthLimit);
  if (result === null) {
    throw new ContradictoryEvidence(clash(network, odds, evidence, widthLimit));
  }
  return result;
}

/**
 * @param {Network} network
 * @param {Odds} odds
 * @param {Evidence} evidence
 * @param {number} widthLimit
 * @returns {Inference | null}
 */
function inferOrNull(network, odds, evidence, widthLimit) {
  const state = prepare(network, odds, evidence);
  if (!state.possible) return null;
  let logEvidence = state.logConstant;
  /** @type {Map<number, number>} */
  const found = new Map();
  for (const order of ordersOf(state, widthLimit)) {
    const summed = sumBothWays(order, state);
    if (summed === null) return null;
    logEvidence += summed.logSum;
    for (const [place, posterior] of summed.posteriors) found.set(place, posterior);
  }
  /** @type {Record<string, number>} */
  const posteriors = {};
  network.causes.forEach((cause, place) => {
    let posterior = found.get(place);
    if (posterior === undefined) {
      const present = state.present[place];
      const total = present + state.absent[place];
      posterior = present / total;
      logEvidence += Math.log(total);
    }
    posteriors[cause.id] = posterior;
  });
  return { posteriors, logEvidence };
}

/**
 * @param {Prepared} state
 * @param {number} widthLimit
 * @returns {Order[]}
 */
function ordersOf(state, widthLimit) {
  const orders = splitComponents(state).map(({ terms, causes }) => findOrder(terms, causes));
  for (const order of orders) {
    if (order.width > widthLimit) throw new FrontierTooWide(order.width, widthLimit);
  }
  return orders;
}

/**
 * Drop findings one by one while the rest still contradicts itself.
 *
 * @param {Network} network
 * @param {Odds} odds
 * @param {Evidence} evidence
 * @param {number} widthLimit
 * @returns {string[]}
 */
function clash(network, odds, evidence, widthLimit) {
  let kept = network.findings.map(({ id }) => id).filter((id) => Object.hasOwn(evidence, id));
  for (const name of kept.slice()) {
    const fewer = kept.filter((id) => id !== name);
    if (isImpossible(network, odds, pick(evidence, fewer), widthLimit)) kept = fewer;
  }
  return kept;
}

/**
 * @param {Evidence} evidence
 * @param {string[]} names
 * @returns {Evidence}
 */
function pick(evidence, names) {
  return Object.fromEntries(names.map((id) => [id, evidence[id]]));
}

/**
 * @param {Network} network
 * @param {Odds} odds
 * @param {Evidence} evidence
 * @param {number} widthLimit
 */
function isImpossible(network, odds, evidence, widthLimit) {
  try {
    return inferOrNull(network, odds, evidence, widthLimit) === null;
  } catch (error) {
    // Another order came out too wide; keeping the finding is the safe side.
    if (error instanceof FrontierTooWide) return false;
    throw error;
  }
}

/**
 * Give P(level | evidence) for findings nobody has looked at yet.
 *
 * P(F <= k | E) is the leak's P(F <= k) times the evidence's probability with the odds of
 * each linked cause scaled by its own P(F <= k), over the evidence's probability.
 *
 * @param {Network} network
 * @param {Odds} odds
 * @param {Evidence} evidence
 * @param {Iterable<string>} findingIds
 * @param {InferenceOptions} [options]
 * @returns {Record<string, number[]>}
 * @throws {ContradictoryEvidence | FrontierTooWide | RangeError}
 */
export function predict(network, odds, evidence, findingIds, { widthLimit = WIDTH_LIMIT } = {}) {
  const state = prepare(network, odds, evidence);
  /** @type {{order: Order, logSum: number}[]} */
  const groups = [];
  let possible = state.possible;
  for (const order of possible ? ordersOf(state, widthLimit) : []) {
    const logSum = sumForward(order, state);
    if (logSum === null) possible = false;
    else groups.push({ order, logSum });
  }
  if (!possible) throw new ContradictoryEvidence(clash(network, odds, evidence, widthLimit));
  const { findingById } = indexNetwork(network);
  /** @type {Record<string, number[]>} */
  const predicted = {};
  for (const name of findingIds) {
    const finding = findingById.get(name);
    if (!finding || Object.hasOwn(evidence, name)) {
      throw new RangeError(`predict: "${name}" is unknown or already has evidence`);
    }
    predicted[name] = levelsOf(
      finding.leak.map((leak, level) => leak * scaledRatio(network, state, finding, level, groups)),
    );
  }
  return predicted;
}

/**
 * Give the factor by which scaling the linked causes changes P(evidence).
 *
 * @param {Network} network
 * @param {Prepared} state
 * @param {NetworkFinding} finding
 * @param {number} level
 * @param {{order: Order, logSum: number}[]} groups
 */
function scaledRatio(network, state, finding, level, groups) {
  const { causePlace } = indexNetwork(network);
  const present = state.present.slice();
  /** @type {Set<number>} */
  const loose = new Set();
  for (const [cause, row] of Object.entries(finding.links)) {
    const place = /** @type {number} */ (causePlace.get(cause));
    present[place] = present[place] * row[level];
    loose.add(place);
  }
  let logRatio = 0;
  for (const { order, logSum } of groups) {
    const inside = order.steps.map((step) => step.cause);
    if (!inside.some((place) => loose.has(place))) continue;
    for (const place of inside) loose.delete(place);
    const scaled = sumForward(order, { present, absent: state.absent });
    if (scaled === null) return 0;
    logRatio += scaled - logSum;
  }
  let ratio = Math.exp(logRatio);
  for (const place of [...loose].sort((one, other) => one - other)) {
    const absent = state.absent[place];
    const before = state.present[place] + absent;
    ratio *= (present[place] + absent) / before;
  }
  return ratio;
}

/**
 * Turn P(F <= k) into P(F = k); rounding never leaves a negative number.
 *
 * @param {number[]} atMost
 * @returns {number[]}
 */
function levelsOf(atMost) {
  let before = 0;
  return [...atMost, 1].map((value) => {
    const upper = Math.min(1, Math.max(before, value));
    const level = upper - before;
    before = upper;
    return level;
  });
}
