/**
 * The next check or repair.
 *
 * Plans by expected cost of repair: looks as many steps ahead as the work limit allows and
 * plans again after every result. When everything fits, the choice is optimal. It knows
 * nothing of the state of the supply; what may be bought when arrives as `Buying`. What a way of
 * choosing costs is worked out in planner.py only.
 *
 * @import { PlacedAction } from "./lookahead.js"
 * @import { Situation } from "./situation.js"
 */
import { decide, deepestDepth, startSearch, withoutLooks } from "./lookahead.js";
import { planTables } from "./situation.js";

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
