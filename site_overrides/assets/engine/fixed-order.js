/**
 * What a fixed order of steps costs, with no decision on the way. Twin of fixed_order.py, in the
 * same order of arithmetic.
 *
 * @import { PlacedAction } from "./planner.js"
 * @import { Buying, Look, PlanTables } from "./situation.js"
 */

/** A step must save more than this, so that rounding never decides for one. */
const PAYS = 1e-9;

/**
 * @typedef {object} RepairCost expected cost of a fixed order, for weights of any sum
 * @property {number} value
 * @property {PlacedAction | null} first null when no repair is left
 * @property {Float64Array} shares weight of the worlds with each cause
 * @property {number} total weight of all worlds
 * @property {number} least a lower bound of what any plan costs
 * @property {number[]} open causes whose repair may be made, by id
 */

/** @typedef {{weights: Float64Array, shares: Float64Array, total: number}} Left weights of the worlds still open */

/**
 * @type {(tables: PlanTables, left: Left, confirmed: number[], made: boolean[] | null, supplyFirst: boolean) =>
 *   number[]}
 * @param confirmed results that confirm each cause
 * @param made checks, which find nothing out any more
 */
function mayRepair({ buying, causesById, costs }, left, confirmed, made, supplyFirst) {
  const { shares, total } = left;
  if (!buying) return causesById.filter((cause) => shares[cause] > 0);
  const held = supplyFirst && !supplyExcluded(buying, left);
  return causesById.filter((cause) => {
    const share = shares[cause];
    if (share <= 0 || !buying.possible[cause]) return false;
    if (buying.bought[cause] && !confirmed[cause]) {
      const inVain = (total - share) * costs[cause];
      if (share < buying.sure * total && inVain > share * findingOut(buying, cause, made)) return false;
    }
    if (!buying.waits[cause]) return true;
    if (buying.onSupply[cause]) return confirmed[cause] > 0 || !buying.confirmable[cause];
    return !held;
  });
}

/** @type {(buying: Buying, cause: number, made: boolean[] | null) => number} */
function findingOut(buying, cause, made) {
  let price = buying.unresolved;
  for (const { check, cost } of buying.findingOut[cause]) {
    if (cost < price && !(made && check >= 0 && made[check])) price = cost;
  }
  return price;
}

/** @type {(buying: Buying, left: Left) => boolean} */
function supplyExcluded({ supplyShare, excluded }, { weights, total }) {
  let part = 0;
  for (let world = 0; world < weights.length; world += 1) part += weights[world] * supplyShare[world];
  return part < excluded * total;
}

/**
 * A step of an order: a repair, or a look and the repair if it confirms. `gain` is what a workshop
 * asks less for it, without what is paid only where the cause is there; `cost` is what is paid in
 * any case, `gate` the check on the supply among it.
 * @typedef {{gain: number, cost: number, cause: number, look: Look | null, gate: number}} Step
 */

/**
 * Price the best fixed order found of looks and repairs, and then the workshop; fixed_order.py
 * says how it goes. `made` are the checks already made; null leaves looks out, and what waits for
 * the supply with them.
 * @type {(tables: PlanTables, weights: Float64Array, confirmed: number[], done: boolean[] | null,
 *   shares: Float64Array) => RepairCost}
 * @param confirmed results that confirm each cause
 * @param shares where to write the shares
 */
export function orderThenWorkshop(tables, weights, confirmed, done, shares) {
  const { total, least } = addShares(tables, weights, shares);
  const open = mayRepair(tables, { weights, shares, total }, confirmed, done, true);
  const made = done && [...done];
  let value = workshopPrice(tables, weights);
  /** @type {PlacedAction} */
  let first = { kind: "workshop", place: 0 };
  const left = { weights: Float64Array.from(weights), shares: Float64Array.from(shares), total };
  let step = bestStep(tables, left, confirmed, made);
  while (step) {
    value += step.cost - step.gain;
    if (first.kind === "workshop") first = firstOf(tables, step);
    if (made && step.gate > 0 && tables.buying) made[tables.buying.gate] = true;
    if (made && step.look) made[step.look.check] = true;
    takeStep(tables, left, step);
    step = bestStep(tables, left, confirmed, made);
  }
  return { value, first, shares, total, least, open };
}

/** @type {(tables: PlanTables, step: Step) => PlacedAction} */
function firstOf({ buying }, { gate, look, cause }) {
  if (gate > 0 && buying) return { kind: "check", place: buying.gate };
  return look ? { kind: "check", place: look.check } : { kind: "repair", place: cause };
}

/** @type {(tables: PlanTables, left: Left, confirmed: number[], made: boolean[] | null) => Step | null} */
function bestStep(tables, left, confirmed, made) {
  const { buying, costs, checkCosts } = tables;
  const { total } = left;
  const due = buying && made && buying.gate >= 0 && !made[buying.gate] && !supplyExcluded(buying, left);
  const gate = due ? checkCosts[buying.gate] * total : 0;
  /** @type {Step | null} */
  let best = null;
  for (const cause of mayRepair(tables, left, confirmed, made, made === null)) {
    const gain = gainOf(tables, left, cause);
    const extra = gate > 0 && waits(buying, cause) ? gate : 0;
    const cost = costs[cause] * total + extra;
    if (gain - cost <= PAYS * total) continue;
    if (!best || gain * best.cost > best.gain * cost) best = { gain, cost, cause, look: null, gate: extra };
  }
  if (!buying || !made) return best;
  for (const look of tables.looks) {
    const { check, cause } = look;
    if (made[check] || confirmed[cause] || !buying.possible[cause]) continue;
    const { gain, hit } = hitsOf(tables, left, look);
    const extra = gate > 0 && waits(buying, cause) ? gate : 0;
    const net = gain - hit * costs[cause];
    if (net - checkCosts[check] * total <= PAYS * total) continue;
    const every = everyHit(left, look);
    const cost = checkCosts[check] * total + (every - hit) * costs[cause] + extra;
    if (net - cost <= PAYS * total) continue;
    if (!best || net * best.cost > best.gain * cost) best = { gain: net, cost, cause, look, gate: extra };
  }
  return best;
}

/** @type {(buying: Buying | null, cause: number) => boolean | undefined} */
function waits(buying, cause) {
  return buying?.waits[cause] && !buying.onSupply[cause];
}

/** @type {(tables: PlanTables, left: Left, cause: number) => number} */
function gainOf({ changed }, { weights }, cause) {
  const { worlds, less } = changed[cause];
  let gain = 0;
  for (let one = 0; one < worlds.length; one += 1) gain += weights[worlds[one]] * less[one];
  return gain;
}

/**
 * Weigh where a look rightly confirms its cause, and what a workshop asks less there.
 * @param {PlanTables} tables
 * @param {Left} left
 * @param {Look} look
 */
function hitsOf({ changed }, { weights }, { cause, hits }) {
  const { worlds, less } = changed[cause];
  let gain = 0;
  let hit = 0;
  for (let one = 0; one < worlds.length; one += 1) {
    const seen = weights[worlds[one]] * hits[worlds[one]];
    hit += seen;
    gain += seen * less[one];
  }
  return { gain, hit };
}

/** @type {(left: Left, look: Look) => number} */
function everyHit({ weights }, { hits }) {
  let every = 0;
  for (let world = 0; world < weights.length; world += 1) every += weights[world] * hits[world];
  return every;
}

/**
 * Write over what is left what there is once a step was made and the complaint is still there.
 * @type {(tables: PlanTables, left: Left, step: Step) => void}
 */
function takeStep(tables, left, { cause, look }) {
  const { weights, shares } = left;
  const { worlds, targets } = tables.changed[cause];
  for (let one = 0; one < worlds.length; one += 1) {
    const moved = weights[worlds[one]] * (look ? look.hits[worlds[one]] : 1);
    weights[worlds[one]] -= moved;
    if (targets[one] >= 0) weights[targets[one]] += moved;
  }
  left.total = addShares(tables, weights, shares).total;
}

/** Weigh what a workshop asks in each world. @type {(tables: PlanTables, weights: Float64Array) => number} */
export function workshopPrice({ workshop }, weights) {
  let price = 0;
  for (let world = 0; world < weights.length; world += 1) price += weights[world] * workshop[world];
  return price;
}

/**
 * @type {(tables: PlanTables, weights: Float64Array, gated: boolean, shares?: Float64Array) => RepairCost}
 * @param shares where to write the shares
 */
export function expectedRepairCost(tables, weights, gated, shares = new Float64Array(tables.costs.length)) {
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

/** @type {(tables: PlanTables, world: number, through: Float64Array, unexplained: number) => number} */
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
 * @type {(tables: PlanTables, shares: Float64Array, gated: boolean) => number[]}
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

/** @type {(tables: PlanTables, shares: Float64Array, one: number, other: number, gated: boolean) => boolean} */
function goesBefore(tables, shares, one, other, gated) {
  const { costs, dearerThan } = tables;
  const waits = costs[other] > dearerThan;
  if (gated && costs[one] > dearerThan !== waits) return waits;
  return shares[one] * costs[other] > shares[other] * costs[one];
}
