/**
 * The value of acting well for a few steps.
 *
 * V_0 is the expected cost of repair without further checks; V_h is the least of that, of each
 * check followed by V_(h-1), and for h >= 2 of each repair followed by V_(h-1). Deep enough, this
 * is the optimum. Where a workshop has its price, V_0 is that of the repairs that pay, then the
 * workshop; what may be bought is judged anew in every state. Same order of arithmetic and same
 * counts as lookahead.py.
 *
 * @import { PlanTables } from "./situation.js"
 */
import { afterOutcome, afterRepair } from "./situation.js";

/** Values closer than this share count as equal; the earlier action then wins. */
const TIE = 1e-12;

/** A repair must save more than this, so that rounding never decides for one. */
const PAYS = 1e-9;

/** Counts stop growing here, so that the numbers stay exact. */
const COUNT_LIMIT = 2 ** 40;

/** What a state costs beside its worlds, in worlds; from timings in Chromium. */
const STATE_COST = 40;

/** @typedef {{kind: 'check' | 'repair' | 'workshop', place: number}} PlacedAction */

/**
 * @typedef {object} RepairCost expected cost of repair without further checks, for weights of any sum
 * @property {number} value
 * @property {PlacedAction | null} first null when no repair is left
 * @property {Float64Array} shares weight of the worlds with each cause
 * @property {number} total weight of all worlds
 * @property {number} least a lower bound of what any plan costs
 * @property {number[]} open causes whose repair may be made, by id
 */

/**
 * List, by id, the causes whose repair may be made in a state; see `Buying`.
 *
 * What buys nothing may be tried as soon as its cause is possible. A part is not bought on a
 * guess: its cause is confirmed, or likely enough, or buying it in vain is expected to cost no
 * more than finding out what it saves.
 *
 * @param {PlanTables} tables
 * @param {Float64Array} weights
 * @param {{shares: Float64Array, total: number}} odds
 * @param {number[]} confirmed results that confirm each cause
 * @returns {number[]}
 */
function mayRepair({ buying, causesById, costs }, weights, { shares, total }, confirmed) {
  if (!buying) return causesById.filter((cause) => shares[cause] > 0);
  let onSupply = 0;
  for (let world = 0; world < weights.length; world += 1) onSupply += weights[world] * buying.supplyShare[world];
  const excluded = onSupply < buying.excluded * total;
  return causesById.filter((cause) => {
    const share = shares[cause];
    if (share <= 0 || !buying.possible[cause]) return false;
    if (buying.bought[cause] && !confirmed[cause]) {
      const inVain = (total - share) * costs[cause];
      if (share < buying.sure * total && inVain > share * buying.findingOut[cause]) return false;
    }
    if (!buying.waits[cause]) return true;
    const proven = confirmed[cause] > 0 || !buying.confirmable[cause];
    return buying.onSupply[cause] ? proven : excluded;
  });
}

/**
 * Price the repairs that may be made, as long as the next pays, and then the workshop.
 *
 * First comes what lowers the workshop's price most for its cost; ties go by id.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {Float64Array} shares where to write the shares
 * @returns {RepairCost}
 */
function repairsThenWorkshop({ tables, confirmed, rest }, weights, shares) {
  const { total, least } = addShares(tables, weights, shares);
  let value = workshopPrice(tables, weights);
  /** @type {PlacedAction} */
  let first = { kind: "workshop", place: 0 };
  const open = mayRepair(tables, weights, { shares, total }, confirmed);
  let left = weights;
  let leftTotal = total;
  let found = paysMost(tables, left, leftTotal, open);
  while (found) {
    const { cause, gain } = found;
    value += tables.costs[cause] * leftTotal - gain;
    if (first.kind === "workshop") first = { kind: "repair", place: cause };
    if (left === weights) {
      left = rest;
      left.set(weights);
    }
    const { worlds, targets } = tables.changed[cause];
    for (let one = 0; one < worlds.length; one += 1) {
      if (targets[one] >= 0) left[targets[one]] += left[worlds[one]];
      left[worlds[one]] = 0;
    }
    leftTotal = addShares(tables, left, tables.scratch).total;
    const odds = { shares: tables.scratch, total: leftTotal };
    found = paysMost(tables, left, leftTotal, mayRepair(tables, left, odds, confirmed));
  }
  return { value, first, shares, total, least, open };
}

/**
 * @param {PlanTables} tables
 * @param {Float64Array} weights
 */
function workshopPrice({ workshop }, weights) {
  let price = 0;
  for (let world = 0; world < weights.length; world += 1) price += weights[world] * workshop[world];
  return price;
}

/**
 * Return the repair that saves most for its cost and what it saves, or null if none pays.
 *
 * @param {PlanTables} tables
 * @param {Float64Array} weights
 * @param {number} total
 * @param {number[]} among
 */
function paysMost({ changed, costs }, weights, total, among) {
  /** @type {{cause: number, gain: number} | null} */
  let best = null;
  for (const cause of among) {
    const { worlds, less } = changed[cause];
    let gain = 0;
    for (let one = 0; one < worlds.length; one += 1) gain += weights[worlds[one]] * less[one];
    if (gain - costs[cause] * total <= PAYS * total) continue;
    if (!best || gain * costs[best.cause] > best.gain * costs[cause]) best = { cause, gain };
  }
  return best;
}

/**
 * Price the repairs in p/c order, with a look after each and no further check.
 *
 * p is the weight of the worlds with the cause, c the cost of its repair. While `gated`,
 * repairs no dearer than the rule come first, then its check, then the others.
 *
 * @param {PlanTables} tables
 * @param {Float64Array} weights
 * @param {boolean} gated
 * @param {Float64Array} [shares] where to write the shares
 * @returns {RepairCost}
 */
function expectedRepairCost(tables, weights, gated, shares = new Float64Array(tables.costs.length)) {
  const { total, least } = addShares(tables, weights, shares);
  const through = tables.scratch;
  const open = tables.causesById.filter(
    (cause) => shares[cause] > 0 && !(gated && tables.costs[cause] > tables.dearerThan),
  );
  let waiting = gated;
  let running = 0;
  /** @type {PlacedAction | null} */
  let first = null;
  for (const cause of overCost(tables, shares, gated)) {
    const cost = tables.costs[cause];
    if (waiting && cost > tables.dearerThan) {
      waiting = false;
      running += tables.checkCosts[tables.gate];
      first ??= { kind: "check", place: tables.gate };
    }
    running += cost;
    through[cause] = running;
    first ??= { kind: "repair", place: cause };
  }
  running += tables.unresolved;
  let value = 0;
  for (let world = 0; world < weights.length; world += 1) {
    const weight = weights[world];
    if (weight > 0) value += weight * priceOf(tables, world, through, running);
  }
  return { value, first, shares, total, least, open };
}

/**
 * @param {PlanTables} tables
 * @param {number} world
 * @param {Float64Array} through
 * @param {number} unexplained
 */
function priceOf(tables, world, through, unexplained) {
  const start = tables.bitStart[world];
  const end = tables.bitStart[world + 1];
  let price = start === end ? unexplained : 0;
  for (let bit = start; bit < end; bit += 1) {
    const upTo = through[tables.bits[bit]];
    if (upTo > price) price = upTo;
  }
  return price;
}

/**
 * @param {PlanTables} tables
 * @param {Float64Array} weights
 * @param {Float64Array} shares
 */
function addShares(tables, weights, shares) {
  shares.fill(0);
  let total = 0;
  let least = 0;
  for (let world = 0; world < weights.length; world += 1) {
    const weight = weights[world];
    if (weight <= 0) continue;
    total += weight;
    least += weight * tables.least[world];
    const end = tables.bitStart[world + 1];
    for (let bit = tables.bitStart[world]; bit < end; bit += 1) {
      shares[tables.bits[bit]] += weight;
    }
  }
  return { total, least };
}

/**
 * Sort by p/c, by insertion, so that both languages compare the same pairs of numbers.
 *
 * @param {PlanTables} tables
 * @param {Float64Array} shares
 * @param {boolean} gated
 * @returns {number[]}
 */
function overCost(tables, shares, gated) {
  /** @type {number[]} */
  const order = [];
  for (const cause of tables.causesById) {
    if (shares[cause] <= 0) continue;
    let place = order.length;
    while (place > 0) {
      const before = order[place - 1];
      if (!goesBefore(tables, shares, cause, before, gated)) break;
      order[place] = before;
      place -= 1;
    }
    order[place] = cause;
  }
  return order;
}

/**
 * @param {PlanTables} tables
 * @param {Float64Array} shares
 * @param {number} one
 * @param {number} other
 * @param {boolean} gated
 */
function goesBefore(tables, shares, one, other, gated) {
  const { costs, dearerThan } = tables;
  const waits = costs[other] > dearerThan;
  if (gated && costs[one] > dearerThan !== waits) return waits;
  return shares[one] * costs[other] > shares[other] * costs[one];
}

/**
 * @typedef {object} Search one look ahead
 * @property {PlanTables} tables
 * @property {boolean[]} done checks already made
 * @property {number[]} confirmed results that confirm each cause
 * @property {Float64Array} rest weights left while repairs are priced, free to overwrite
 * @property {Map<number, number> | null} memo values of states, if they are numbered
 * @property {(Float64Array | undefined)[]} weights of the state one step further, by depth
 * @property {(Float64Array | undefined)[]} shares of the causes, by depth
 */

/** @typedef {{action: PlacedAction, value: number}} Valued */

/** @typedef {{depth: number, code: number, total: number}} Around */

/**
 * @typedef {{action: PlacedAction | null, value: number, repairs: RepairCost, values: Valued[]}} Decision
 */

/**
 * Begin a look ahead; states are remembered only if they can be numbered.
 *
 * @param {PlanTables} tables
 * @returns {Search}
 */
export function startSearch(tables) {
  const memo = tables.causeCodes.length > 0 ? new Map() : null;
  return {
    tables,
    done: tables.columns.map(() => false),
    confirmed: Array.from(tables.costs, (_, cause) => (tables.buying?.confirmed[cause] ? 1 : 0)),
    rest: new Float64Array(tables.workshop.length),
    memo,
    weights: [],
    shares: [],
  };
}

/**
 * Price what is left without a check: V_0.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {Float64Array} [shares] where to write the shares
 */
function priceRepairs(search, weights, shares = new Float64Array(search.tables.costs.length)) {
  const { tables, done } = search;
  if (tables.workshop.length > 0) return repairsThenWorkshop(search, weights, shares);
  return expectedRepairCost(tables, weights, isGated(tables, done), shares);
}

/**
 * Say whether the rule still keeps dear repairs back.
 *
 * @param {PlanTables} tables
 * @param {boolean[]} done
 */
function isGated(tables, done) {
  return tables.gate >= 0 && !done[tables.gate];
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
  const { tables } = search;
  const repairs = priceRepairs(search, weights);
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
  if (depth > 1) {
    for (const place of repairs.open) {
      const value = repairValue(
        search,
        weights,
        place,
        takesNoStep(tables, place, repairs) ? { ...around, depth: depth + 1 } : around,
      );
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
 * Say whether a repair leaves as many steps to look ahead as there were: the one that leads, if
 * it is confirmed or cheap to try. lookahead.py says why.
 *
 * @param {PlanTables} tables
 * @param {number} cause
 * @param {RepairCost} repairs
 */
function takesNoStep({ buying, costs }, cause, { first, total, shares }) {
  if (!buying || first?.kind !== "repair" || first.place !== cause) return false;
  const cheap = (total - shares[cause]) * costs[cause] <= buying.findingOut[cause] * total;
  return buying.confirmed[cause] || (cheap && !buying.bought[cause]);
}

/**
 * Give V_depth of weights that need not add up to 1.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} depth
 * @param {number} code
 * @returns {number}
 */
function lookAhead(search, weights, depth, code) {
  const known = search.memo?.get(code);
  if (known !== undefined) return known;
  const { tables } = search;
  const shares = reuse(search.shares, depth, tables.costs.length);
  const repairs = priceRepairs(search, weights, shares);
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
 *
 * @param {(Float64Array | undefined)[]} kept
 * @param {number} depth
 * @param {number} length
 */
function reuse(kept, depth, length) {
  return (kept[depth] ??= new Float64Array(length));
}

/**
 * RepairCost a check and what follows; stop early once it is no better than `enough`.
 *
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} check
 * @param {Around} around
 * @param {number} enough
 */
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

/**
 * @param {Search} search
 * @param {Float64Array} weights
 * @param {number} cause
 * @param {Around} around
 */
function repairValue(search, weights, cause, { depth, code, total }) {
  const { tables, memo } = search;
  const reached = memo ? code + tables.causeCodes[cause] : 0;
  const room = reuse(search.weights, depth, weights.length);
  const after = afterRepair(tables, weights, cause, room);
  return tables.costs[cause] * total + lookAhead(search, after, depth - 1, reached);
}

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
