/**
 * Room case: what a repair that was made changes in the case.
 *
 * Each change returns a new state. Which checks a cause shifts is told by the reasoning.
 *
 * @import { State } from "../knowledge/types.js"
 */
import { toldLast, without } from "./case.js";

/**
 * Say that the advised repair was made; whether it helped is asked next. Null takes it back.
 * @type {(state: State, cause: string | null) => State}
 */
export function setRepaired(state, cause) {
  return { ...state, repaired: cause, ended: null, picked: null };
}

/**
 * Say that the repair ended the trouble. What was found tells what it was, and stays.
 * @type {(state: State, cause: string) => State}
 */
export function setEnded(state, cause) {
  const told = clearMended(toldLast(state, cause), cause);
  return { ...told, helped: { ...told.helped, [cause]: "gone" }, repaired: null, ended: cause };
}

/**
 * Say that the repair did not end the trouble: it is the same, or only better. Results of the
 * checks the cause shifts are dropped, because they were made on the car before it.
 * @type {(state: State, cause: string, shifted: string[], how?: "same" | "better") => State}
 */
export function setMended(state, cause, shifted, how = "same") {
  const cleared = shifted.reduce(
    (now, check) => ({ ...now, readings: without(now.readings, check), outcomes: without(now.outcomes, check) }),
    clearMended(toldLast(state, cause), cause),
  );
  /** @type {State} */
  const told = { ...cleared, repaired: null, ended: null, picked: null, latest: null };
  if (how === "better") return { ...told, helped: { ...told.helped, [cause]: how } };
  return { ...told, mended: [...told.mended, cause] };
}

/** Take back that a cause was mended. @type {(state: State, cause: string) => State} */
export function clearMended(state, cause) {
  return {
    ...state,
    mended: state.mended.filter((each) => each !== cause),
    helped: without(state.helped, cause),
    ended: state.ended === cause ? null : state.ended,
  };
}
