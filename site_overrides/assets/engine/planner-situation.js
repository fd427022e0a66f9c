/**
 * Reasoning room: what a plan is made from.
 *
 * Worlds with weights, checks with their chances in each world, repairs with their costs,
 * and the rule that a check comes before dear repairs. It refuses what the planner could
 * not use; it plans nothing.
 */

/** Most causes in one plan; a set is kept in one 32-bit number. */
export const CAUSE_LIMIT = 30;

/** The mask in which every cause matters. */
export const ALL_CAUSES = 2 ** CAUSE_LIMIT - 1;

const SUM_SLACK = 1e-6;

/**
 * @typedef {{check: string, dearerThan: number}} Gate
 * Keeps back repairs dearer than `dearerThan` until `check` has a result.
 */

/**
 * @typedef {{id: string, cost: number, levels: number, table: number[][]}} PlanCheck
 * A check: what it costs and P(level) in each world, in the order of the masks.
 */

/**
 * @typedef {object} Situation everything a plan depends on; all costs share one currency
 * @property {string[]} causeIds
 * @property {number[]} repairCosts
 * @property {number[]} masks bit i means `causeIds[i]` is present; repairing i clears it
 * @property {number[]} weights
 * @property {PlanCheck[]} checks
 * @property {Gate | null} [rule]
 * @property {number} [unresolvedCost] what a world with no relevant cause costs in the end
 * @property {number} [relevantMask] causes that explain the complaint; all if left out
 */

/**
 * Refuse a situation whose parts do not fit together, naming the field.
 *
 * @param {Situation} situation
 * @throws {RangeError}
 */
export function checkSituation(situation) {
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
function checkWorlds({ causeIds, masks, weights, relevantMask = ALL_CAUSES }) {
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
      if ((left & relevantMask) !== 0 && !known.has(left)) {
        throw new RangeError(`masks: ${mask} is listed but ${left} is not`);
      }
    }
  }
}

/**
 * @param {PlanCheck} check
 * @param {number} worlds
 */
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

/**
 * @param {string} where
 * @param {number[]} numbers
 */
function checkNumbers(where, numbers) {
  for (const number of numbers) {
    if (!(Number.isFinite(number) && number >= 0)) {
      throw new RangeError(`${where}: ${number} is not a finite number from 0 up`);
    }
  }
}
