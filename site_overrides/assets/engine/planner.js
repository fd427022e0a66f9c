/**
 * The next check or repair, and the value of acting well for a few steps. Twin of planner.py, in the
 * same order of arithmetic, with the same counts. What a way of choosing costs is worked out there only.
 *
 * @import { RepairCost } from "./fixed-order.js"
 * @import { PlanTables, Situation } from "./situation.js"
 */

import { expectedRepairCost, orderThenWorkshop, workshopPrice } from "./fixed-order.js";
import { afterOutcome, afterRepair, planTables } from "./situation.js";

/** Values closer than this share count as equal; the earlier action then wins. */
const TIE = 1e-12;

/** Counts stop growing here, so that the numbers stay exact. */
const COUNT_LIMIT = 2 ** 40;

/** What a state costs beside its worlds, in worlds; from timings in Chromium. */
const STATE_COST = 40;

/** @typedef {{kind: 'check' | 'repair' | 'workshop', place: number}} PlacedAction */

/**
 * @typedef {object} Search one look ahead
 * @property {PlanTables} tables
 * @property {boolean[]} done checks already made
 * @property {number[]} confirmed results that confirm each cause
 * @property {Map<number, number> | null} memo values of states, if they are numbered
 * @property {(Float64Array | undefined)[]} weights of the state one step further, by depth
 * @property {(Float64Array | undefined)[]} shares of the causes, by depth
 */

/** @typedef {{action: PlacedAction, value: number}} Valued */

/** @typedef {{depth: number, code: number, total: number}} Around */

/** @typedef {{action: PlacedAction | null, value: number, repairs: RepairCost, values: Valued[]}} Decision */

/** Begin a look ahead; states are remembered only if they can be numbered. @type {(tables: PlanTables) => Search} */
function startSearch(tables) {
  const memo = tables.causeCodes.length > 0 ? new Map() : null;
  return {
    tables,
    done: tables.columns.map(() => false),
    confirmed: Array.from(tables.costs, (_, cause) => (tables.buying?.confirmed[cause] ? 1 : 0)),
    memo,
    weights: [],
    shares: [],
  };
}

/**
 * Price a fixed order: V_0.
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {Float64Array} [shares] where to write the shares
 */
function priceOrder({ tables, done, confirmed }, weights, shares = new Float64Array(tables.costs.length)) {
  if (tables.workshop.length > 0) return orderThenWorkshop(tables, weights, confirmed, done, shares);
  return expectedRepairCost(tables, weights, isGated(tables, done), shares);
}

/** Price going on with no check at all. @type {(search: Search, weights: Float64Array) => number} */
function withoutLooks(search, weights) {
  const { tables, confirmed } = search;
  if (tables.workshop.length === 0) return priceOrder(search, weights).value;
  return orderThenWorkshop(tables, weights, confirmed, null, new Float64Array(tables.costs.length)).value;
}

/** Say whether the rule still keeps dear repairs back. @type {(tables: PlanTables, done: boolean[]) => boolean} */
function isGated(tables, done) {
  return tables.gate >= 0 && !done[tables.gate];
}

/** @type {(search: Search, weights: Float64Array, depth: number) => Decision} */
export function decide(search, weights, depth) {
  const { tables } = search;
  const repairs = priceOrder(search, weights);
  let best = repairs.value;
  let action = repairs.first;
  if (repairs.first === null) return { action: null, value: best, repairs, values: [] };
  const around = { depth, code: 0, total: repairs.total };
  /** @type {Valued[]} */
  const values = [];
  for (const place of depth > 0 ? tables.checksById : []) {
    if (search.done[place]) continue;
    const value = checkValue(search, weights, place, around, Infinity);
    values.push({ action: { kind: "check", place }, value });
  }
  if (depth > 1 || (depth > 0 && tables.workshop.length > 0)) {
    for (const place of repairs.open) {
      const value = repairValue(search, weights, place, around);
      values.push({ action: { kind: "repair", place }, value });
    }
  } else if (repairs.first.kind === "repair") {
    values.push({ action: repairs.first, value: repairs.value });
  }
  if (tables.workshop.length > 0) {
    values.push({ action: { kind: "workshop", place: 0 }, value: workshopPrice(tables, weights) });
  }
  for (const valued of values) {
    if (valued.value < best - TIE * best) {
      best = valued.value;
      action = valued.action;
    }
  }
  return { action, value: best, repairs, values };
}

/**
 * Give V_depth of weights that need not add up to 1.
 * @type {(search: Search, weights: Float64Array, depth: number, code: number) => number}
 */
function lookAhead(search, weights, depth, code) {
  const known = search.memo?.get(code);
  if (known !== undefined) return known;
  const { tables } = search;
  const shares = reuse(search.shares, depth, tables.costs.length);
  const repairs = priceOrder(search, weights, shares);
  let best = repairs.value;
  if (depth > 0 && repairs.first !== null) {
    const around = { depth, code, total: repairs.total };
    for (const check of tables.checksById) {
      // Whatever a check shows, the causes present must still be repaired.
      const bound = tables.checkCosts[check] * repairs.total + repairs.least;
      if (!search.done[check] && bound < best) {
        best = Math.min(best, checkValue(search, weights, check, around, best));
      }
    }
    if (depth > 1) {
      for (const cause of repairs.open) {
        let helped = 0;
        for (const other of tables.alike[cause]) helped += repairs.shares[other];
        const wasted = tables.costs[cause] * Math.max(0, repairs.total - helped);
        if (repairs.least + wasted < best) {
          best = Math.min(best, repairValue(search, weights, cause, around));
        }
      }
    }
  }
  search.memo?.set(code, best);
  return best;
}

/**
 * Give the array kept for a depth; one state is done before the next of its depth begins.
 * @type {(kept: (Float64Array | undefined)[], depth: number, length: number) => Float64Array<ArrayBufferLike>}
 */
function reuse(kept, depth, length) {
  return (kept[depth] ??= new Float64Array(length));
}

/** @type {(search: Search, weights: Float64Array, check: number, around: Around, enough: number) => number} */
function checkValue(search, weights, check, { depth, code, total }, enough) {
  const { tables, done, memo } = search;
  const outcomes = tables.columns[check].length;
  let value = tables.checkCosts[check] * total;
  done[check] = true;
  for (let outcome = 0; outcome < outcomes && value < enough; outcome += 1) {
    const reached = memo ? code + tables.checkCodes[check] * (outcome + 1) : 0;
    // A state already priced needs no weights.
    const known = memo?.get(reached);
    if (known !== undefined) {
      value += known;
      continue;
    }
    const room = reuse(search.weights, depth, weights.length);
    const after = afterOutcome(tables, weights, check, outcome, room);
    for (const cause of tables.confirms[check][outcome]) search.confirmed[cause] += 1;
    value += lookAhead(search, after, depth - 1, reached);
    for (const cause of tables.confirms[check][outcome]) search.confirmed[cause] -= 1;
  }
  done[check] = false;
  return value;
}

/** @type {(search: Search, weights: Float64Array, cause: number, around: Around) => number} */
function repairValue(search, weights, cause, { depth, code, total }) {
  const { tables, memo } = search;
  const reached = memo ? code + tables.causeCodes[cause] : 0;
  const room = reuse(search.weights, depth, weights.length);
  const after = afterRepair(tables, weights, cause, room);
  return tables.costs[cause] * total + lookAhead(search, after, depth - 1, reached);
}

/**
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} workLimit
 */
function deepestDepth(search, weights, workLimit) {
  const levels = search.tables.columns.map((columns) => columns.length);
  const { shares } = expectedRepairCost(search.tables, weights, false);
  const repairs = shares.filter((share) => share > 0).length;
  let stateCost = STATE_COST;
  for (const weight of weights) if (weight > 0) stateCost += 1;
  const whole = Math.max(1, levels.length + repairs);
  const count = search.memo ? countNumbered : countPaths;
  let depth = 1;
  while (depth < whole && count(levels, repairs, depth + 1) * stateCost <= workLimit) depth += 1;
  return { depth, exact: depth >= whole };
}

/** @type {(levels: number[], repairs: number, depth: number) => number} */
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

/** @type {(levels: number[], repairs: number, depth: number) => number} */
function countPaths(levels, repairs, depth) {
  const outcomes = levels.reduce((sum, own) => sum + own, 0);
  let total = 1 + outcomes;
  for (let step = 1; step < depth; step += 1) {
    total = Math.min(COUNT_LIMIT, 1 + (outcomes + repairs) * total);
  }
  return total;
}

/** @typedef {{kind: 'check' | 'repair' | 'workshop', id: string}} Action */

/**
 * @typedef {{kind: 'check' | 'repair' | 'workshop', id: string, value: number}} ActionValue
 * The expected cost until cured when starting with this action.
 */

/**
 * @typedef {object} Plan
 * @property {Action | null} action null when no repair is left to try
 * @property {number} value expected cost until cured
 * @property {number} ecrRepairsOnly the same with repairs in p/c order and no check
 * @property {ActionValue[]} values every admissible check by id, the repairs looked at, the workshop
 * @property {string[]} open causes whose repair may be made now
 * @property {number} horizon number of steps looked ahead
 * @property {boolean} exact whether this was deep enough to be the optimum
 */

/**
 * @param {Situation} situation
 * @param {number} workLimit work the decision may take, as counted by `deepestDepth`
 * @returns {Plan}
 * @throws {RangeError} if the parts of the situation do not fit together
 */
export function choose(situation, workLimit) {
  const search = startSearch(planTables(situation));
  const weights = Float64Array.from(situation.weights);
  const { depth, exact } = deepestDepth(search, weights, workLimit);
  const { action, value, repairs, values } = decide(search, weights, depth);
  const named = (/** @type {PlacedAction} */ { kind, place }) => {
    if (kind === "workshop") return { kind, id: "" };
    return { kind, id: kind === "check" ? situation.checks[place].id : situation.causeIds[place] };
  };
  return {
    action: action && named(action),
    value: value / repairs.total,
    ecrRepairsOnly: withoutLooks(search, weights) / repairs.total,
    values: values.map((one) => ({ ...named(one.action), value: one.value / repairs.total })),
    open: repairs.open.map((place) => situation.causeIds[place]),
    horizon: depth,
    exact,
  };
}
