/**
 * Room case: what a repair that was made changes in the case.
 *
 * Each change returns a new state. Which checks a cause shifts is told by the reasoning.
 *
 * @import { State } from "../knowledge/types.js"
 */
import { without } from "./case.js";

/**
 * Say that the advised repair was made; whether it helped is asked next. Null takes it back.
 * @param {State} state
 * @param {string | null} cause
 * @returns {State}
 */
export function setRepaired(state, cause) {
  return { ...state, repaired: cause, ended: null, picked: null };
}

/**
 * Say that the repair ended the trouble.
 * @param {State} state
 * @param {string} cause
 * @returns {State}
 */
export function setEnded(state, cause) {
  return { ...state, repaired: null, ended: cause };
}

/**
 * Say that the repair did not end the trouble: the cause is mended, and results of the checks
 * it shifts are dropped, because they were made on the car before it.
 * @param {State} state
 * @param {string} cause
 * @param {string[]} shifted
 * @returns {State}
 */
export function setMended(state, cause, shifted) {
  const cleared = shifted.reduce(
    (now, check) => ({ ...now, readings: without(now.readings, check), outcomes: without(now.outcomes, check) }),
    state,
  );
  const mended = [...state.mended.filter((each) => each !== cause), cause];
  return { ...cleared, mended, repaired: null, ended: null, picked: null, latest: null };
}

/**
 * Take back that a cause was mended.
 * @param {State} state
 * @param {string} cause
 * @returns {State}
 */
export function clearMended(state, cause) {
  return { ...state, mended: state.mended.filter((each) => each !== cause) };
}
