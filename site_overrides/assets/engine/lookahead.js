/**
 * Reasoning room: the value of acting well for a few steps.
 *
 * V_0 is the price of repairing in p/c order; V_h is the least of that price, of each check
 * followed by V_(h-1), and for h >= 2 of each repair followed by V_(h-1). Deep enough, this
 * is the optimum. Same order of arithmetic as lookahead.py. How deep is decided by counts.
 */

/** @import { Board } from './lookahead-board.js' */
/** @import { PlacedAction, Price } from './lookahead-price.js' */
import { afterOutcome, afterRepair } from "./lookahead-board.js";
import { priceRepairs } from "./lookahead-price.js";

/** Values closer than this share count as equal; the earlier action then wins. */
const TIE = 1e-12;

/**
 * @typedef {object} Search one look ahead
 * @property {Board} board
 * @property {boolean[]} done checks already made
 * @property {Map<number, number> | null} memo values of states, if they are numbered
 * @property {boolean} repairFirst
 * @property {(Float64Array | undefined)[]} weights of the state one step further, by depth
 * @property {(Float64Array | undefined)[]} shares of the causes, by depth
 */

/** @typedef {{action: PlacedAction, value: number}} Valued */

/** @typedef {{depth: number, code: number, total: number}} Around */

/**
 * @typedef {{action: PlacedAction | null, value: number, price: Price, values: Valued[]}} Decision
 */

/**
 * Begin a look ahead; states are remembered only if they can be numbered.
 *
 * @param {Board} board
 * @param {boolean[]} done
 * @param {boolean} [repairFirst]
 * @returns {Search}
 */
export function startSearch(board, done, repairFirst = true) {
  const memo = board.causeCodes.length > 0 ? new Map() : null;
  return { board, done: done.slice(), memo, repairFirst, weights: [], shares: [] };
}

/**
 * Say whether the rule still keeps dear repairs back.
 *
 * @param {Board} board
 * @param {boolean[]} done
 */
export function isGated(board, done) {
  return board.gate >= 0 && done[board.gate] !== true;
}

/**
 * Choose by V_depth, and give the value of every action admissible here.
 *
 * Equal values go to the p/c order first, then to checks by id, then to repairs by id.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} depth
 * @returns {Decision}
 */
export function decide(search, weights, depth) {
  const { board } = search;
  const price = priceRepairs(board, weights, isGated(board, search.done));
  let best = price.value;
  let action = price.first;
  if (price.first === null) return { action: null, value: best, price, values: [] };
  const around = { depth, code: 0, total: price.total };
  /** @type {Valued[]} */
  const values = [];
  for (const place of depth > 0 ? board.checksById : []) {
    if (search.done[place]) continue;
    const value = checkValue(search, weights, place, around, Infinity);
    values.push({ action: { kind: "check", place }, value });
  }
  if (depth > 1 && search.repairFirst) {
    for (const place of openRepairs(search, price)) {
      const value = repairValue(search, weights, place, around);
      values.push({ action: { kind: "repair", place }, value });
    }
  } else if (price.first.kind === "repair") {
    values.push({ action: price.first, value: price.value });
  }
  for (const valued of values) {
    if (valued.value < best - TIE * best) {
      best = valued.value;
      action = valued.action;
    }
  }
  return { action, value: best, price, values };
}

/**
 * Give V_depth of weights that need not add up to 1.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} depth
 * @param {number} [code]
 * @returns {number}
 */
export function lookAhead(search, weights, depth, code = 0) {
  const known = search.memo?.get(code);
  if (known !== undefined) return known;
  const { board } = search;
  const shares = reuse(search.shares, depth, board.costs.length);
  const price = priceRepairs(board, weights, isGated(board, search.done), shares);
  let best = price.value;
  if (depth > 0 && price.first !== null) {
    const around = { depth, code, total: price.total };
    for (const check of board.checksById) {
      // Whatever a check shows, the causes present must still be repaired.
      const bound = board.checkCosts[check] * price.total + price.least;
      if (!search.done[check] && bound < best) {
        best = Math.min(best, checkValue(search, weights, check, around, best));
      }
    }
    if (depth > 1 && search.repairFirst) {
      for (const cause of openRepairs(search, price)) {
        const wasted = board.costs[cause] * (price.total - price.shares[cause]);
        if (price.least + wasted < best) {
          best = Math.min(best, repairValue(search, weights, cause, around));
        }
      }
    }
  }
  search.memo?.set(code, best);
  return best;
}

/**
 * @param {Search} search
 * @param {Price} price
 */
function openRepairs({ board, done }, price) {
  const gated = isGated(board, done);
  return board.causesById.filter(
    (cause) => price.shares[cause] > 0 && !(gated && board.costs[cause] > board.dearerThan),
  );
}

/**
 * Give the array kept for a depth; one state is done before the next of its depth begins.
 *
 * @param {(Float64Array | undefined)[]} kept
 * @param {number} depth
 * @param {number} length
 */
function reuse(kept, depth, length) {
  return (kept[depth] ??= new Float64Array(length));
}

/**
 * Price a check and what follows; stop early once it is no better than `enough`.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} check
 * @param {Around} around
 * @param {number} enough
 */
function checkValue(search, weights, check, { depth, code, total }, enough) {
  const { board, done, memo } = search;
  const outcomes = board.columns[check].length;
  let value = board.checkCosts[check] * total;
  done[check] = true;
  for (let outcome = 0; outcome < outcomes && value < enough; outcome += 1) {
    const reached = memo ? code + board.checkCodes[check] * (outcome + 1) : 0;
    // A state already priced needs no weights.
    const known = memo?.get(reached);
    if (known !== undefined) {
      value += known;
      continue;
    }
    const room = reuse(search.weights, depth, weights.length);
    const after = afterOutcome(board, weights, check, outcome, room);
    value += lookAhead(search, after, depth - 1, reached);
  }
  done[check] = false;
  return value;
}

/**
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} cause
 * @param {Around} around
 */
function repairValue(search, weights, cause, { depth, code, total }) {
  const { board, memo } = search;
  const reached = memo ? code + board.causeCodes[cause] : 0;
  const room = reuse(search.weights, depth, weights.length);
  const after = afterRepair(board, weights, cause, room);
  return board.costs[cause] * total + lookAhead(search, after, depth - 1, reached);
}
