/**
 * Reasoning room: how deep a look ahead may go.
 *
 * Counts states in whole numbers, so that the browser and the build choose the same depth.
 * It looks at no value. Same counts as lookahead.py.
 */

/** @import { Search } from './lookahead.js' */
import { priceRepairs } from "./lookahead-price.js";

/** Counts stop growing here, so that the numbers stay exact. */
const COUNT_LIMIT = 2 ** 40;

/** What a state costs beside its worlds, in worlds; from timings in Chromium. */
const STATE_COST = 40;

/**
 * Give the deepest look-ahead whose work fits, at least 1, and whether it is the optimum.
 *
 * Work is states times their cost, worlds plus a fixed share: with numbered states each is
 * visited once, otherwise once for every way to reach it. Pruning only makes the real work
 * smaller.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} workLimit
 */
export function deepestDepth(search, weights, workLimit) {
  const levels = openLevels(search);
  const repairs = countRepairs(search, weights);
  let stateCost = STATE_COST;
  for (const weight of weights) if (weight > 0) stateCost += 1;
  const whole = Math.max(1, levels.length + repairs);
  const count = search.memo ? countNumbered : countPaths;
  let depth = 1;
  while (depth < whole && count(levels, repairs, depth + 1) * stateCost <= workLimit) depth += 1;
  return { depth, exact: depth >= whole };
}

/**
 * Count the states, or paths where states have no number, that the optimum visits.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 */
export function countStates(search, weights) {
  const levels = openLevels(search);
  const repairs = countRepairs(search, weights);
  const count = search.memo ? countNumbered : countPaths;
  return count(levels, repairs, levels.length + repairs);
}

/** @param {Search} search */
function openLevels({ board, done }) {
  return board.columns.filter((_, check) => !done[check]).map((columns) => columns.length);
}

/**
 * @param {Search} search
 * @param {Float64Array} weights
 */
function countRepairs({ board }, weights) {
  let repairs = 0;
  for (const share of priceRepairs(board, weights, false).shares) if (share > 0) repairs += 1;
  return repairs;
}

/**
 * Count states at most `depth` steps away: checks with outcomes times sets of repairs.
 *
 * @param {number[]} levels
 * @param {number} repairs
 * @param {number} depth
 */
function countNumbered(levels, repairs, depth) {
  const byChecks = countChosen(levels, depth);
  const byRepairs = countChosen(new Array(repairs).fill(1), depth);
  let total = 0;
  for (let checks = 0; checks <= depth; checks += 1) {
    for (let tried = 0; tried <= depth - checks; tried += 1) {
      const ways = Math.min(COUNT_LIMIT, byChecks[checks] * byRepairs[tried]);
      total = Math.min(COUNT_LIMIT, total + ways);
    }
  }
  return total;
}

/**
 * Count the ways to choose some of the things, each in as many ways as it has outcomes.
 *
 * @param {number[]} outcomes
 * @param {number} depth
 */
function countChosen(outcomes, depth) {
  const ways = [1, ...new Array(depth).fill(0)];
  for (const own of outcomes) {
    for (let made = depth; made > 0; made -= 1) {
      ways[made] = Math.min(COUNT_LIMIT, ways[made] + ways[made - 1] * own);
    }
  }
  return ways;
}

/**
 * @param {number[]} levels
 * @param {number} repairs
 * @param {number} depth
 */
function countPaths(levels, repairs, depth) {
  const outcomes = levels.reduce((sum, own) => sum + own, 0);
  let total = 1 + outcomes;
  for (let step = 1; step < depth; step += 1) {
    total = Math.min(COUNT_LIMIT, 1 + (outcomes + repairs) * total);
  }
  return total;
}
