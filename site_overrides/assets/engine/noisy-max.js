/**
 * The exact posterior of every cause. Twin of noisy_max.py, in the same order of arithmetic.
 *
 * @import { Apart } from "./apart.js"
 * @import { Evidence, Network, NetworkFinding, Odds } from "./network.js"
 * @import { Prepared } from "./terms.js"
 * @import { Order } from "./elimination.js"
 */
import { loosened, takeApart } from "./apart.js";
import { findOrder, sumForward, sumGroup, sumStates } from "./elimination.js";
import { prepare, splitComponents, termOf } from "./terms.js";

/** Largest table, in numbers, that inference will build: 1 MB a step, our choice. */
export const WIDTH_LIMIT = 131072;

/** Most numbers one exact sum may go through; as in noisy_max.py. */
const WORK_LIMIT = 6_000_000;

/** Largest table of an exact sum that `inferNearly` may stand for; as in noisy_max.py. */
const NEARLY_LIMIT = 2 ** 24;

/** Most numbers the sum beside the causes weighed apart may go through; as in noisy_max.py. */
const NEARLY_WORK = 3_000_000;

/** The evidence has probability zero. Taking any one of `findings` away makes the rest possible. */
export class ContradictoryEvidence extends Error {
  /** @param {string[]} findings */
  constructor(findings) {
    super(`no set of causes can show these findings together: ${findings.join(", ")}`);
    this.name = "ContradictoryEvidence";
    this.findings = findings;
  }
}

/** The exact sum needs a larger or a longer table than allowed; both counts are numbers. */
export class FrontierTooWide extends Error {
  /**
   * @param {number} width
   * @param {number} limit
   * @param {string} [what] what is of that width
   */
  constructor(width, limit, what = "a table") {
    super(`the findings are too entangled: ${what} of ${width} numbers is needed, ${limit} are allowed`);
    this.name = "FrontierTooWide";
    this.width = width;
    this.limit = limit;
  }
}

/**
 * @typedef {{posteriors: Record<string, number>, logEvidence: number, work: number, apart: Apart | null}} Inference
 * Posterior of each cause, the natural logarithm of P(evidence), weights as given, the numbers the
 * exact sum goes through (see `Order`), counted alike in both languages, and the causes weighed
 * apart, null where everything is exact.
 */

/** @typedef {{widthLimit?: number}} InferenceOptions */

/**
 * @type {(network: Network, odds: Odds, evidence: Evidence, options?: InferenceOptions) => Inference}
 * @param odds prior odds with context multiplied in; a cause left out keeps its prior
 * @param evidence one weight per level; a finding left out is no evidence
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
 * @type {(network: Network, odds: Odds, evidence: Evidence) => Inference}
 * @throws {ContradictoryEvidence | FrontierTooWide | RangeError}
 */
export function inferNearly(network, odds, evidence) {
  const whole = prepare(network, odds, evidence);
  const orders = whole.possible ? allOrders(whole) : [];
  const width = Math.max(1, ...orders.map((order) => order.width));
  if (width > NEARLY_LIMIT) throw new FrontierTooWide(width, NEARLY_LIMIT);
  const apart = fits(orders, WORK_LIMIT) ? null : takeApart(whole, (one) => fits(allOrders(one), NEARLY_WORK));
  const state = apart === null ? whole : loosened(whole, apart);
  const found = state.possible ? summed(network, state, apart === null ? orders : allOrders(state)) : null;
  if (found === null) throw new ContradictoryEvidence(clash(network, odds, evidence, WIDTH_LIMIT));
  if (apart === null) return found;
  for (const [place, posterior] of apart.posteriors) found.posteriors[network.causes[place].id] = posterior;
  return { ...found, work: workOf(orders), apart };
}

/** @type {(orders: Order[], work: number) => boolean} */
function fits(orders, work) {
  return orders.every(({ width }) => width <= WIDTH_LIMIT) && workOf(orders) <= work;
}

/** @param {Order[]} orders */
function workOf(orders) {
  return orders.reduce((sum, { work }) => sum + work, 0);
}

/**
 * @type {(network: Network, odds: Odds, evidence: Evidence, apart?: Apart | null) => {logSum: number, work: number}}
 * @param apart causes weighed apart before
 */
export function logProbability(network, odds, evidence, apart = null) {
  const whole = prepare(network, odds, evidence);
  if (!whole.possible) return { logSum: -Infinity, work: 0 };
  const state = apart === null ? whole : loosened(whole, apart);
  let logSum = state.logConstant;
  const orders = ordersOf(state, WIDTH_LIMIT);
  const work = workOf(orders);
  /** @type {Set<number>} */
  const summed = new Set();
  for (const order of orders) {
    const part = sumForward(order, state);
    if (part === null) return { logSum: -Infinity, work };
    logSum += part;
    for (const { cause } of order.steps) summed.add(cause);
  }
  for (const place of network.causes.keys()) {
    if (!summed.has(place)) logSum += Math.log(state.present[place] + state.absent[place]);
  }
  return { logSum, work };
}

/**
 * @param {Network} network
 * @param {Odds} odds
 * @param {Evidence} evidence
 * @param {NetworkFinding} finding
 * @throws {ContradictoryEvidence | FrontierTooWide | RangeError}
 */
export function foretell(network, odds, evidence, finding) {
  const state = prepare(network, odds, evidence);
  // Weights that differ, so that no levels are merged.
  const kept = termOf(
    network,
    finding,
    finding.levels.map((_, place) => place + 1),
  );
  state.terms.push(kept);
  const groups = splitComponents(state).filter(({ terms }) => terms.includes(kept));
  const [order] = limited(
    groups.map(({ terms, causes }) => findOrder(terms, causes)),
    WIDTH_LIMIT,
  );
  const shares = sumStates(order, state);
  if (shares === null) throw new ContradictoryEvidence(clash(network, odds, evidence, WIDTH_LIMIT));
  return { shares, work: order.work };
}

/** @type {(network: Network, odds: Odds, evidence: Evidence, widthLimit: number) => Inference | null} */
function inferOrNull(network, odds, evidence, widthLimit) {
  const state = prepare(network, odds, evidence);
  return state.possible ? summed(network, state, ordersOf(state, widthLimit)) : null;
}

/** @type {(network: Network, state: Prepared, orders: Order[]) => Inference | null} */
function summed(network, state, orders) {
  let logEvidence = state.logConstant;
  /** @type {Map<number, number>} */
  const found = new Map();
  for (const order of orders) {
    const group = sumGroup(order, state);
    if (group === null) return null;
    logEvidence += group.logSum;
    for (const [place, posterior] of group.posteriors) found.set(place, posterior);
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
  return { posteriors, logEvidence, work: workOf(orders), apart: null };
}

/** @param {Prepared} state */
function allOrders(state) {
  return splitComponents(state).map(({ terms, causes }) => findOrder(terms, causes));
}

/** @type {(state: Prepared, widthLimit: number) => Order[]} */
function ordersOf(state, widthLimit) {
  return limited(allOrders(state), widthLimit);
}

/** @type {(orders: Order[], widthLimit: number) => Order[]} */
function limited(orders, widthLimit) {
  for (const order of orders) {
    if (order.width > widthLimit) throw new FrontierTooWide(order.width, widthLimit);
  }
  const work = workOf(orders);
  if (work > WORK_LIMIT) throw new FrontierTooWide(work, WORK_LIMIT, "a sum");
  return orders;
}

/** @type {(network: Network, odds: Odds, evidence: Evidence) => number} */
export function sumWork(network, odds, evidence) {
  return workOf(allOrders(prepare(network, odds, evidence)));
}

/** @type {(network: Network, odds: Odds, evidence: Evidence, widthLimit: number) => string[]} */
function clash(network, odds, evidence, widthLimit) {
  let kept = network.findings.map(({ id }) => id).filter((id) => Object.hasOwn(evidence, id));
  for (const name of kept.slice()) {
    const fewer = kept.filter((id) => id !== name);
    const left = Object.fromEntries(fewer.map((id) => [id, evidence[id]]));
    if (isImpossible(network, odds, left, widthLimit)) kept = fewer;
  }
  return kept;
}

/** @type {(network: Network, odds: Odds, evidence: Evidence, widthLimit: number) => boolean} */
function isImpossible(network, odds, evidence, widthLimit) {
  try {
    return inferOrNull(network, odds, evidence, widthLimit) === null;
  } catch (error) {
    // Another order came out too wide; keeping the finding is the safe side.
    if (error instanceof FrontierTooWide) return false;
    throw error;
  }
}
