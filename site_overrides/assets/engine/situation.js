/**
 * What a plan is made from, and the same laid out for fast repeated look-ups. Twin of
 * situation.py, in the same order of arithmetic.
 */

/** Most causes in one plan; a set is kept in one 32-bit number. */
const CAUSE_LIMIT = 30;

/** States get one whole number each; numbers are exact up to here. */
const CODE_LIMIT = 2 ** 53;

const SUM_SLACK = 1e-6;

/**
 * @typedef {{check: string, dearerThan: number}} Gate
 * Keeps back repairs dearer than `dearerThan` until `check` has a result.
 */

/**
 * What must hold in a state before a repair is made there; situation.py says what each means.
 * @typedef {object} Buying
 * @property {boolean[]} bought
 * @property {boolean[]} possible
 * @property {boolean[]} confirmed
 * @property {boolean[]} confirmable
 * @property {{check: number, cost: number}[][]} findingOut the place of each check, or -1, and its cost
 * @property {number} unresolved
 * @property {boolean[]} waits
 * @property {boolean[]} onSupply
 * @property {number[]} supplyShare by world
 * @property {number} sure
 * @property {number} excluded
 * @property {number} [gate] place of the cheapest open check on the supply, -1 without one
 */

/**
 * @typedef {{id: string, cost: number, levels: number, table: number[][], confirms?: number[][]}} PlanCheck
 * A check: what it costs and P(level) in each world, in the order of the masks. `confirms` lists
 * for each level the causes it confirms.
 */

/**
 * @typedef {object} Situation everything a plan depends on; all costs share one currency
 * @property {string[]} causeIds
 * @property {number[]} repairCosts
 * @property {number[]} masks bit i means `causeIds[i]` is present
 * @property {number[]} weights
 * @property {PlanCheck[]} checks
 * @property {Gate | null} [rule]
 * @property {number} [unresolvedCost] what a world without any cause costs in the end
 * @property {number[]} [workshop] what one asks in each world; then going there is a step too
 * @property {number[]} [putsRight] bits each repair clears, its own by default
 * @property {Buying} [buying]
 */

/**
 * Refuse a situation whose parts do not fit together, naming the field.
 * @param {Situation} situation
 * @throws {RangeError}
 */
function checkSituation(situation) {
  checkCauses(situation);
  checkWorlds(situation);
  const ids = new Set(situation.checks.map((check) => check.id));
  if (ids.size !== situation.checks.length) throw new RangeError("checks: an id is used twice");
  for (const check of situation.checks) checkTable(check, situation.masks.length);
  if (situation.rule && !ids.has(situation.rule.check)) {
    throw new RangeError(`rule: "${situation.rule.check}" is not among the checks`);
  }
}

/** @param {Situation} situation */
function checkCauses({ causeIds, repairCosts, unresolvedCost = 0 }) {
  if (causeIds.length > CAUSE_LIMIT) {
    throw new RangeError(`causeIds: ${causeIds.length} causes, ${CAUSE_LIMIT} are allowed`);
  }
  if (new Set(causeIds).size !== causeIds.length) {
    throw new RangeError("causeIds: an id is used twice");
  }
  if (repairCosts.length !== causeIds.length) {
    throw new RangeError("repairCosts: one cost per cause is wanted");
  }
  checkNumbers("repairCosts", repairCosts);
  checkNumbers("unresolvedCost", [unresolvedCost]);
}

/** @param {Situation} situation */
function checkWorlds({ causeIds, masks, weights }) {
  if (weights.length !== masks.length) {
    throw new RangeError("weights: one weight per world is wanted");
  }
  checkNumbers("weights", weights);
  if (!weights.some((weight) => weight > 0)) {
    throw new RangeError("weights: no world has any weight");
  }
  const known = new Set(masks);
  if (known.size !== masks.length) throw new RangeError("masks: a world is listed twice");
  for (const mask of masks) {
    if (mask < 0 || mask >> causeIds.length !== 0) {
      throw new RangeError(`masks: ${mask} names a cause that is not there`);
    }
    for (let place = 0; place < causeIds.length; place += 1) {
      const left = mask & ~(1 << place);
      if (left !== 0 && !known.has(left)) {
        throw new RangeError(`masks: ${mask} is listed but ${left} is not`);
      }
    }
  }
}

/** @type {(check: PlanCheck, worlds: number) => void} */
function checkTable(check, worlds) {
  checkNumbers(`check "${check.id}", cost`, [check.cost]);
  if (check.table.length !== worlds) {
    throw new RangeError(`check "${check.id}", table: one row per world is wanted`);
  }
  for (const row of check.table) {
    if (row.length !== check.levels || row.length === 0) {
      throw new RangeError(`check "${check.id}", table: one number per level is wanted`);
    }
    checkNumbers(`check "${check.id}", table`, row);
    const total = row.reduce((sum, chance) => sum + chance, 0);
    if (Math.abs(total - 1) > SUM_SLACK) {
      throw new RangeError(`check "${check.id}", table: a row adds up to ${total}, not 1`);
    }
  }
}

/** @type {(where: string, numbers: number[]) => void} */
function checkNumbers(where, numbers) {
  for (const number of numbers) {
    if (!(Number.isFinite(number) && number >= 0)) {
      throw new RangeError(`${where}: ${number} is not a finite number from 0 up`);
    }
  }
}

/**
 * A check that confirms a cause, by place; `hits` is P(it does) in each world.
 * @typedef {{check: number, cause: number, hits: Float64Array}} Look
 */

/**
 * @typedef {object} PlanTables the parts of a situation by place
 * @property {Float64Array} costs of repairs
 * @property {number[]} causesById
 * @property {number[]} checksById
 * @property {number[]} checkCosts
 * @property {Float64Array[][]} columns P(outcome) by world, for each check and outcome
 * @property {Int32Array[]} moved world each world turns into by a repair, -1 for cured
 * @property {Int32Array} bits causes of the worlds, one world after the other
 * @property {Int32Array} bitStart where each world's causes begin in `bits`; one entry more
 * @property {Float64Array} least a lower bound of what every plan costs in each world
 * @property {number[][][]} confirms causes that each check's outcomes confirm
 * @property {Float64Array} workshop what one asks in each world; empty without one
 * @property {Array<{worlds: Int32Array, targets: Int32Array, less: Float64Array}>} changed worlds
 *   that each repair changes, where they go, and what a workshop then asks less
 * @property {number[][]} alike causes each repair puts right
 * @property {(Buying & {gate: number}) | null} buying
 * @property {Look[]} looks by id of the check
 * @property {Float64Array} scratch one number for each cause, free to overwrite
 * @property {number} unresolved
 * @property {number} gate place of the rule's check, -1 without a rule
 * @property {number} dearerThan
 * @property {number[]} checkCodes number the states reached; empty if they do not fit
 * @property {number[]} causeCodes
 */

/**
 * @type {(situation: Situation) => PlanTables}
 * @throws {RangeError} if the parts of the situation do not fit together
 */
export function planTables(situation) {
  checkSituation(situation);
  const bits = situation.masks.map(bitsOf);
  const ids = situation.checks.map((check) => check.id);
  const rule = situation.rule ?? null;
  const unresolved = situation.unresolvedCost ?? 0;
  const fixed = situation.putsRight ?? situation.causeIds.map((_, place) => 1 << place);
  const moved = fixed.map((mask) => movesOf(situation.masks, mask));
  const workshop = Float64Array.from(situation.workshop ?? []);
  return {
    costs: Float64Array.from(situation.repairCosts),
    causesById: byId(situation.causeIds),
    checksById: byId(ids),
    checkCosts: situation.checks.map((check) => check.cost),
    columns: situation.checks.map(columnsOf),
    confirms: situation.checks.map(({ confirms, levels }) => confirms ?? new Array(levels).fill([])),
    moved,
    bits: Int32Array.from(bits.flat()),
    bitStart: startsOf(bits),
    least: Float64Array.from(bits, (places, world) => leastOf(situation, places, world, fixed)),
    workshop,
    changed: moved.map((targets) => changesOf(targets, workshop)),
    alike: fixed.map(bitsOf),
    buying: situation.buying ? { gate: -1, ...situation.buying } : null,
    looks: looksOf(situation),
    scratch: new Float64Array(situation.causeIds.length),
    unresolved,
    gate: rule === null ? -1 : ids.indexOf(rule.check),
    dearerThan: rule === null ? 0 : rule.dearerThan,
    ...codesOf(situation, bits),
  };
}

/** @type {(situation: Situation) => Look[]} */
function looksOf({ checks }) {
  return byId(checks.map(({ id }) => id)).flatMap((check) => {
    const { table, confirms = [] } = checks[check];
    const causes = [...new Set(confirms.flat())].sort((one, other) => one - other);
    return causes.map((cause) => ({
      check,
      cause,
      hits: Float64Array.from(table, (row) =>
        confirms.reduce((hit, confirmed, level) => (confirmed.includes(cause) ? hit + row[level] : hit), 0),
      ),
    }));
  });
}

/** @param {string[]} ids */
function byId(ids) {
  return ids
    .map((id, place) => ({ id, place }))
    .sort((one, other) => (one.id < other.id ? -1 : 1))
    .map(({ place }) => place);
}

/** @param {number} mask */
function bitsOf(mask) {
  const places = [];
  for (let place = 0; mask >> place > 0; place += 1) {
    if (((mask >> place) & 1) === 1) places.push(place);
  }
  return places;
}

/** @param {number[][]} bits */
function startsOf(bits) {
  let end = 0;
  return Int32Array.from([0, ...bits.map((places) => (end += places.length))]);
}

/** @param {PlanCheck} check */
function columnsOf(check) {
  const columns = [];
  for (let level = 0; level < check.levels; level += 1) {
    columns.push(Float64Array.from(check.table, (row) => row[level]));
  }
  return columns;
}

/**
 * Say where a repair takes each world; a world without what it puts right stays.
 * @type {(masks: number[], fixed: number) => Int32Array<ArrayBuffer>}
 */
function movesOf(masks, fixed) {
  return Int32Array.from(masks, (mask, place) => {
    const left = mask & ~fixed;
    return left === mask ? place : masks.indexOf(left || -1);
  });
}

/**
 * @param {Int32Array} targets
 * @param {Float64Array} workshop
 */
function changesOf(targets, workshop) {
  /** @type {number[]} */
  const worlds = [];
  targets.forEach((target, world) => {
    if (target !== world && workshop.length > 0) worlds.push(world);
  });
  return {
    worlds: Int32Array.from(worlds),
    targets: Int32Array.from(worlds, (world) => targets[world]),
    less: Float64Array.from(worlds, (world) => {
      const target = targets[world];
      return workshop[world] - (target >= 0 ? workshop[target] : 0);
    }),
  };
}

/**
 * Bound from below what a world costs: each cause its share of the cheapest repair.
 *
 * A repair that puts several causes of the world right is shared among them.
 * @type {(situation: Situation, places: number[], world: number, fixed: number[]) => number}
 */
function leastOf({ masks, repairCosts, unresolvedCost = 0, workshop }, places, world, fixed) {
  let total = places.length > 0 ? 0 : unresolvedCost;
  for (const place of places) {
    let least = Infinity;
    fixed.forEach((fix, cause) => {
      if (((fix >> place) & 1) === 0) return;
      least = Math.min(least, repairCosts[cause] / bitsOf(masks[world] & fix).length);
    });
    total += least;
  }
  return workshop ? Math.min(total, workshop[world]) : total;
}

/**
 * Give each state a number: each check unmade or at a level, each cause open or repaired.
 *
 * Only with one cause a world: then the order of the steps leaves no trace.
 * @param {Situation} situation
 * @param {number[][]} bits
 */
function codesOf({ checks, causeIds }, bits) {
  /** @type {number[]} */
  const codes = [];
  let unit = 1;
  for (const kinds of [...checks.map(({ levels }) => levels + 1), ...causeIds.map(() => 2)]) {
    codes.push(unit);
    unit *= kinds;
  }
  const fits = unit <= CODE_LIMIT && bits.every((places) => places.length <= 1);
  return {
    checkCodes: fits ? codes.slice(0, checks.length) : [],
    causeCodes: fits ? codes.slice(checks.length) : [],
  };
}

/**
 * @type {(tables: PlanTables, weights: Float64Array, check: number, outcome: number, after?: Float64Array) =>
 *   Float64Array<ArrayBufferLike>}
 * @param after where to write them
 */
export function afterOutcome(tables, weights, check, outcome, after = new Float64Array(weights.length)) {
  const column = tables.columns[check][outcome];
  for (let world = 0; world < after.length; world += 1) {
    after[world] = weights[world] * column[world];
  }
  return after;
}

/**
 * @type {(tables: PlanTables, weights: Float64Array, cause: number, after?: Float64Array) =>
 *   Float64Array<ArrayBufferLike>}
 * @param after where to write them
 */
export function afterRepair(tables, weights, cause, after = new Float64Array(weights.length)) {
  const moved = tables.moved[cause];
  after.fill(0);
  for (let world = 0; world < after.length; world += 1) {
    const target = moved[world];
    if (target >= 0) after[target] += weights[world];
  }
  return after;
}
