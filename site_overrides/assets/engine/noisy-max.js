/**
 * The exact posterior of every cause, and a near one where the exact sum takes too long. Twin of
 * noisy_max.py, in the same order of arithmetic.
 *
 * @import { Prepared, Term } from "./terms.js"
 * @import { Evidence, Network, NetworkFinding, Odds } from "./network.js"
 * @import { Order } from "./elimination.js"
 */

import { findOrder, sumForward, sumGroup, sumStates } from "./elimination.js";
import { prepare, splitComponents, termOf } from "./terms.js";

const ROUNDS = 20;
const STRONGEST = 1e12;
const MOST_ODDS = 1e200;

/**
 * @typedef {{chances: Map<string, Map<number, number>>, posteriors: Map<number, number>}} Apart
 * Causes weighed apart, by place: `chances` has, by finding, how likely each is by all that is
 * known but that finding, `posteriors` how likely by everything.
 */

/** @type {(state: Prepared, fits: (state: Prepared) => boolean) => Apart} */
function takeApart(state, fits) {
  const told = new Told(state);
  for (let round = 0; round < ROUNDS; round += 1) told.tell();
  const order = told
    .shared()
    .map((cause) => ({ cause, tie: told.tie(cause) }))
    .sort((one, other) => one.tie - other.tie || one.cause - other.cause)
    .map(({ cause }) => cause);
  let low = 0;
  let high = order.length;
  // All of them apart leave every finding alone, and that always fits.
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (fits(loosened(state, told.apart(order.slice(0, middle))))) high = middle;
    else low = middle + 1;
  }
  return told.apart(order.slice(0, low));
}

/** Fold what is weighed apart into each finding's own leak. @type {(state: Prepared, apart: Apart) => Prepared} */
export function loosened(state, { chances, posteriors }) {
  return {
    ...state,
    present: state.present.map((weight, place) => (posteriors.has(place) ? 0 : weight)),
    absent: state.absent.map((weight, place) => (posteriors.has(place) ? 1 : weight)),
    terms: state.terms.map((term) => withLeak(term, chances.get(term.finding) ?? new Map())),
  };
}

/** @type {(term: Term, chances: Map<number, number>) => Term} */
function withLeak(term, chances) {
  let reach = sums(term.leak);
  for (const [cause, chance] of chances) reach = withCause(reach, reachOf(term, cause), chance);
  const leak = reach.map((one, state) => one - (state > 0 ? reach[state - 1] : 0));
  return { ...term, leak, links: new Map([...term.links].filter(([cause]) => !chances.has(cause))) };
}

/** What each finding tells of each of its causes: how much likelier it is with it. */
class Told {
  /** @param {Prepared} state */
  constructor(state) {
    this.terms = state.terms;
    this.leaks = state.terms.map(({ leak }) => sums(leak));
    /** @type {Map<number, number>[]} */
    this.ratios = state.terms.map(
      ({ links }) => new Map([...links.keys()].filter((cause) => state.present[cause] > 0).map((cause) => [cause, 1])),
    );
    /** @type {Map<number, {odds: number, places: number[]}>} */
    this.causes = new Map();
    this.ratios.forEach((ratios, place) => {
      for (const cause of ratios.keys()) {
        const known = this.causes.get(cause) ?? { odds: state.present[cause] / state.absent[cause], places: [] };
        known.places.push(place);
        this.causes.set(cause, known);
      }
    });
  }

  /** Let every finding tell anew, halfway (in ratio) from what it told before. */
  tell() {
    const fresh = this.terms.map((_, place) => this.toldBy(place));
    this.ratios.forEach((ratios, place) => {
      for (const [cause, ratio] of fresh[place]) ratios.set(cause, Math.sqrt((ratios.get(cause) ?? 1) * ratio));
    });
  }

  /** Return the causes of more than one finding. */
  shared() {
    return [...this.causes].filter(([, { places }]) => places.length > 1).map(([cause]) => cause);
  }

  /** Say how much a cause ties its findings, for each of them: 0 where it is sure. @param {number} cause */
  tie(cause) {
    const { places } = this.known(cause);
    const told = places.map((place) => this.strength(place, cause)).sort((one, other) => one - other);
    const chance = this.chance(cause, -1);
    return (chance * (1 - chance) * told[told.length - 2]) / places.length;
  }

  /** Return these causes as they are to be weighed apart. @type {(causes: number[]) => Apart} */
  apart(causes) {
    /** @type {Apart} */
    const found = { chances: new Map(), posteriors: new Map() };
    for (const cause of causes) {
      found.posteriors.set(cause, this.chance(cause, -1));
      for (const place of this.known(cause).places) {
        const { finding } = this.terms[place];
        const chances = found.chances.get(finding) ?? new Map();
        found.chances.set(finding, chances.set(cause, this.chance(cause, place)));
      }
    }
    return found;
  }

  /** @param {number} cause */
  known(cause) {
    return /** @type {{odds: number, places: number[]}} */ (this.causes.get(cause));
  }

  /** @type {(place: number, cause: number) => number} */
  strength(place, cause) {
    const ratio = this.ratios[place].get(cause) ?? 1;
    return Math.abs(ratio - 1) / (ratio + 1);
  }

  /** Return P(cause) by all findings, or by all `but` one. @type {(cause: number, but: number) => number} */
  chance(cause, but) {
    const known = this.known(cause);
    let { odds } = known;
    for (const place of known.places) {
      if (place !== but) odds = between(odds * (this.ratios[place].get(cause) ?? 1), MOST_ODDS);
    }
    return odds / (1 + odds);
  }

  /**
   * Return what one finding tells of each of its causes, by what the others tell it.
   * @type {(place: number) => Map<number, number>}
   */
  toldBy(place) {
    const term = this.terms[place];
    const causes = [...this.ratios[place].keys()];
    const chances = causes.map((cause) => this.chance(cause, place));
    const before = [this.leaks[place]];
    causes.forEach((cause, number) => {
      before.push(withCause(before[number], reachOf(term, cause), chances[number]));
    });
    let behind = term.weights.map(() => 1);
    const told = new Map();
    for (let number = causes.length - 1; number >= 0; number -= 1) {
      const reach = reachOf(term, causes[number]);
      const without = before[number].map((share, state) => share * behind[state]);
      const having = without.map((share, state) => share * reach[state]);
      told.set(causes[number], ratioOf(weighed(having, term.weights), weighed(without, term.weights)));
      behind = withCause(behind, reach, chances[number]);
    }
    return told;
  }
}

/** @type {(term: Term, cause: number) => number[]} */
function reachOf({ links }, cause) {
  return links.get(cause)?.reach ?? [];
}

/** @param {number[]} masses */
function sums(masses) {
  let total = 0;
  return masses.map((mass) => {
    total += mass;
    return total;
  });
}

/** @type {(reach: number[], own: number[], chance: number) => number[]} */
function withCause(reach, own, chance) {
  return reach.map((one, state) => one * (1 - chance + chance * own[state]));
}

/** @type {(reach: number[], weights: number[]) => number} */
function weighed(reach, weights) {
  let total = 0;
  let below = 0;
  reach.forEach((one, state) => {
    total += Math.max(0, one - below) * weights[state];
    below = one;
  });
  return total;
}

/** @type {(having: number, without: number) => number} */
function ratioOf(having, without) {
  if (without > 0) return between(having / without, STRONGEST);
  return having > 0 ? STRONGEST : 1;
}

/** @type {(ratio: number, most: number) => number} */
function between(ratio, most) {
  return Math.min(most, Math.max(1 / most, ratio));
}

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
