/**
 * What a repair that was made changes about a case.
 *
 * A case has no clock, so its findings describe the car as it is now. Mending a cause therefore
 * takes away the results of every check that the cause shifts: they were made on the car before
 * it. What is measured again counts as usual. The cause itself is taken as good as ruled out,
 * but not wholly: a new part can be bad, and a repair can miss. Twin of mended.py.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Network } from "./network.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { indexNetwork } from "./network.js";

/** About one repair in fifty does not hold: our estimate, kept far below any other multiplier. */
export const MENDED_TIMES = 0.02;

/**
 * Return the prior odds with every mended cause multiplied by MENDED_TIMES.
 * @param {Record<string, number>} odds
 * @param {string[] | undefined} mended
 * @returns {Record<string, number>}
 */
export function lowerMended(odds, mended = []) {
  return Object.fromEntries(
    Object.entries(odds).map(([cause, one]) => [cause, one * (mended.includes(cause) ? MENDED_TIMES : 1)]),
  );
}

/**
 * List, by id, the checks whose results say something about a cause: those with a link from
 * the cause, and those that confirm it.
 * @param {Knowledge} knowledge
 * @param {string} cause
 * @returns {string[]}
 */
export function checksShiftedBy(knowledge, cause) {
  const network = /** @type {Network} */ (/** @type {unknown} */ (knowledge.network));
  const { findingById } = indexNetwork(network);
  const confirming = (knowledge.causes[cause]?.confirmed_by ?? []).map(({ check }) => check);
  return Object.keys(knowledge.checks)
    .filter((name) => confirming.includes(name) || Object.hasOwn(findingById.get(name)?.links ?? {}, cause))
    .sort(compareText);
}

/**
 * Return the case after a repair that did not end the trouble: the cause is added to `mended`,
 * results of checks it shifts are taken away.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {string} cause
 * @returns {Case}
 */
export function mendCase(knowledge, car, cause) {
  const gone = checksShiftedBy(knowledge, cause);
  /** @type {<T>(record: Record<string, T>) => Record<string, T>} */
  const kept = (record) => Object.fromEntries(Object.entries(record).filter(([name]) => !gone.includes(name)));
  return {
    ...car,
    readings: kept(car.readings),
    outcomes: kept(car.outcomes),
    mended: [...(car.mended ?? []).filter((one) => one !== cause), cause],
  };
}
