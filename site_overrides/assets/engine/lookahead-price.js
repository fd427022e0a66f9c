/**
 * Reasoning room: the price of repairing now, without further checks.
 *
 * Orders the repairs by p/c and adds up what they are expected to cost until cured. It
 * looks no step ahead. Same order of arithmetic as lookahead_board.py.
 */

/** @import { Board } from './lookahead-board.js' */

/** @typedef {{kind: 'check' | 'repair', place: number}} PlacedAction */

/**
 * @typedef {object} Price of repairing now, for weights that need not add up to 1
 * @property {number} value
 * @property {PlacedAction | null} first null when no repair is left
 * @property {Float64Array} shares weight of the worlds with each cause
 * @property {number} total weight of all worlds
 * @property {number} least a lower bound of what any plan costs
 */

/**
 * Price the repairs in p/c order, with a look after each and no further check.
 *
 * p is the weight of the worlds with the cause, c the cost of its repair. While `gated`,
 * repairs no dearer than the rule come first, then its check, then the others.
 *
 * @param {Board} board
 * @param {Float64Array} weights
 * @param {boolean} gated
 * @param {Float64Array} [shares] where to write the shares
 * @returns {Price}
 */
export function priceRepairs(board, weights, gated, shares = new Float64Array(board.costs.length)) {
  const { total, least } = addShares(board, weights, shares);
  const through = board.scratch;
  let waiting = gated;
  let running = 0;
  /** @type {PlacedAction | null} */
  let first = null;
  for (const cause of overCost(board, shares, gated)) {
    const cost = board.costs[cause];
    if (waiting && cost > board.dearerThan) {
      waiting = false;
      running += board.checkCosts[board.gate];
      first ??= { kind: "check", place: board.gate };
    }
    running += cost;
    through[cause] = running;
    first ??= { kind: "repair", place: cause };
  }
  running += board.unresolved;
  let value = 0;
  for (let world = 0; world < weights.length; world += 1) {
    const weight = weights[world];
    if (weight > 0) value += weight * priceOf(board, world, through, running);
  }
  return { value, first, shares, total, least };
}

/**
 * @param {Board} board
 * @param {number} world
 * @param {Float64Array} through
 * @param {number} unexplained
 */
function priceOf(board, world, through, unexplained) {
  const start = board.bitStart[world];
  const end = board.bitStart[world + 1];
  let price = start === end ? unexplained : 0;
  for (let bit = start; bit < end; bit += 1) {
    const upTo = through[board.bits[bit]];
    if (upTo > price) price = upTo;
  }
  return price;
}

/**
 * @param {Board} board
 * @param {Float64Array} weights
 * @param {Float64Array} shares
 */
function addShares(board, weights, shares) {
  shares.fill(0);
  let total = 0;
  let least = 0;
  for (let world = 0; world < weights.length; world += 1) {
    const weight = weights[world];
    if (weight <= 0) continue;
    total += weight;
    least += weight * board.least[world];
    const end = board.bitStart[world + 1];
    for (let bit = board.bitStart[world]; bit < end; bit += 1) {
      const place = board.bits[bit];
      shares[place] = shares[place] + weight;
    }
  }
  return { total, least };
}

/**
 * Sort by p/c, by insertion, so that both languages compare the same pairs of numbers.
 *
 * @param {Board} board
 * @param {Float64Array} shares
 * @param {boolean} gated
 * @returns {number[]}
 */
function overCost(board, shares, gated) {
  /** @type {number[]} */
  const order = [];
  for (const cause of board.causesById) {
    if (shares[cause] <= 0) continue;
    let place = order.length;
    while (place > 0) {
      const before = order[place - 1];
      if (!goesBefore(board, shares, cause, before, gated)) break;
      order[place] = before;
      place -= 1;
    }
    order[place] = cause;
  }
  return order;
}

/**
 * @param {Board} board
 * @param {Float64Array} shares
 * @param {number} one
 * @param {number} other
 * @param {boolean} gated
 */
function goesBefore(board, shares, one, other, gated) {
  const { costs, dearerThan } = board;
  const oneCost = costs[one];
  const otherCost = costs[other];
  if (gated && oneCost > dearerThan !== otherCost > dearerThan) return otherCost > dearerThan;
  const oneShare = shares[one];
  return oneShare * otherCost > shares[other] * oneCost;
}
