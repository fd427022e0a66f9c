/**
 * Reasoning room: the next check or repair, and what a way of choosing costs.
 *
 * Plans by expected cost until cured: looks as many steps ahead as the work limit allows
 * and plans again after every result. When everything fits, the choice is optimal. It knows
 * nothing of the state of the supply; the supply-first rule arrives as a Gate.
 */

/** @import { Board } from './lookahead-board.js' */
/** @import { PlacedAction } from './lookahead-price.js' */
/** @import { Situation } from './planner-situation.js' */
import { decide, lookAhead, startSearch } from "./lookahead.js";
import { afterOutcome, afterRepair, layOut } from "./lookahead-board.js";
import { countStates, deepestDepth } from "./lookahead-depth.js";
import { priceRepairs } from "./lookahead-price.js";
import { checkSituation } from "./planner-situation.js";

/** Work one decision may take, as counted by `deepestDepth`; our choice, for a phone. */
export const WORK_LIMIT = 300000;

/** States the optimum may visit before it is called too large. */
export const STATE_LIMIT = 300000;

/** @typedef {{kind: 'check' | 'repair', id: string}} Action */

/**
 * @typedef {{kind: 'check' | 'repair', id: string, value: number}} ActionValue
 * The expected cost until cured when starting with this action.
 */

/**
 * @typedef {object} Plan
 * @property {Action | null} action null when no repair is left to try
 * @property {number} value expected cost until cured
 * @property {number} ecrRepairsOnly the same with repairs in p/c order and no check
 * @property {ActionValue[]} values every admissible check by id, then the repairs looked at
 * @property {number} horizon number of steps looked ahead
 * @property {boolean} exact whether this was deep enough to be the optimum
 */

/** @typedef {{fixed: number | null, workLimit: number, repairFirst: boolean}} DepthRule */

/**
 * Choose the next check or repair.
 *
 * Ties go to the p/c order of repairs, then to checks by id, then to repairs by id.
 *
 * @param {Situation} situation
 * @param {{workLimit?: number}} [options]
 * @returns {Plan}
 * @throws {RangeError} if the parts of the situation do not fit together
 */
export function choose(situation, { workLimit = WORK_LIMIT } = {}) {
  const { board, weights, done } = start(situation);
  const rule = { fixed: null, workLimit, repairFirst: true };
  const { decision, depth, exact } = decideByRule(board, done, weights, rule);
  const { total } = decision.price;
  return {
    action: decision.action && named(situation, decision.action),
    value: decision.value / total,
    ecrRepairsOnly: decision.price.value / total,
    values: decision.values.map((valued) => ({
      ...named(situation, valued.action),
      value: valued.value / total,
    })),
    horizon: depth,
    exact,
  };
}

/**
 * @param {Situation} situation
 */
function start(situation) {
  checkSituation(situation);
  return {
    board: layOut(situation),
    weights: Float64Array.from(situation.weights),
    done: situation.checks.map(() => false),
  };
}

/**
 * @param {Situation} situation
 * @param {PlacedAction} action
 * @returns {Action}
 */
function named(situation, { kind, place }) {
  const id = kind === "check" ? situation.checks[place]?.id : situation.causeIds[place];
  return { kind, id: /** @type {string} */ (id) };
}

/**
 * @param {Board} board
 * @param {boolean[]} done
 * @param {Float64Array} weights
 * @param {DepthRule} rule
 */
function decideByRule(board, done, weights, rule) {
  const search = startSearch(board, done, rule.repairFirst);
  let { depth, exact } = deepestDepth(search, weights, rule.workLimit);
  if (rule.fixed !== null) {
    depth = rule.fixed;
    exact = false;
  }
  return { decision: decide(search, weights, depth), depth, exact };
}

/**
 * Give the expected cost of repairing in p/c order with no check but the rule's.
 *
 * @param {Situation} situation
 * @returns {number}
 */
export function repairsOnlyValue(situation) {
  const { board, weights } = start(situation);
  const price = priceRepairs(board, weights, board.gate >= 0);
  return price.value / price.total;
}

/**
 * Give the exact expected cost of playing `choose` until cured.
 *
 * With `horizon`, the same for a look-ahead of exactly that many steps. `repairFirst`
 * false leaves "try a repair, then see" out of the look-ahead.
 *
 * @param {Situation} situation
 * @param {{workLimit?: number, horizon?: number | null, repairFirst?: boolean}} [options]
 * @returns {number}
 */
export function policyValue(situation, options = {}) {
  const { workLimit = WORK_LIMIT, horizon = null, repairFirst = true } = options;
  const { board, weights, done } = start(situation);
  /** @type {Play} */
  const play = {
    board,
    rule: { fixed: horizon, workLimit, repairFirst },
    done,
    seen: board.causeCodes.length > 0 ? new Map() : null,
  };
  return playOut(play, weights, 0) / totalOf(situation.weights);
}

/** @param {number[]} weights */
function totalOf(weights) {
  let total = 0;
  for (const weight of weights) total += weight;
  return total;
}

/**
 * @typedef {object} Play a policy followed through every outcome
 * @property {Board} board
 * @property {DepthRule} rule
 * @property {boolean[]} done
 * @property {Map<number, number> | null} seen states met twice are priced once
 */

/**
 * Give the expected cost from here, times the weight of the worlds still open.
 *
 * @param {Play} play
 * @param {Float64Array} weights
 * @param {number} code
 * @returns {number}
 */
function playOut(play, weights, code) {
  if (!weights.some((weight) => weight > 0)) return 0;
  const known = play.seen?.get(code);
  if (known !== undefined) return known;
  const { board } = play;
  const { decision } = decideByRule(board, play.done, weights, play.rule);
  let cost = decision.value;
  if (decision.action?.kind === "check") {
    cost = playCheck(play, weights, code, decision.action.place, decision.price.total);
  } else if (decision.action) {
    const cause = decision.action.place;
    const reached = play.seen ? code + board.causeCodes[cause] : 0;
    cost = board.costs[cause] * decision.price.total;
    cost += playOut(play, afterRepair(board, weights, cause), reached);
  }
  play.seen?.set(code, cost);
  return cost;
}

/**
 * @param {Play} play
 * @param {Float64Array} weights
 * @param {number} code
 * @param {number} check
 * @param {number} total
 */
function playCheck(play, weights, code, check, total) {
  const { board } = play;
  const outcomes = board.columns[check].length;
  let cost = board.checkCosts[check] * total;
  play.done[check] = true;
  for (let outcome = 0; outcome < outcomes; outcome += 1) {
    const reached = play.seen ? code + board.checkCodes[check] * (outcome + 1) : 0;
    cost += playOut(play, afterOutcome(board, weights, check, outcome), reached);
  }
  play.done[check] = false;
  return cost;
}

/**
 * Give the least expected cost any order of checks and repairs can reach.
 *
 * @param {Situation} situation
 * @param {{stateLimit?: number}} [options]
 * @returns {number | null} null when more than `stateLimit` states would be visited
 */
export function optimalValue(situation, { stateLimit = STATE_LIMIT } = {}) {
  const { board, weights, done } = start(situation);
  const search = startSearch(board, done);
  if (countStates(search, weights) > stateLimit) return null;
  const depth = situation.checks.length + situation.causeIds.length;
  return lookAhead(search, weights, depth) / totalOf(situation.weights);
}
