/**
 * Data room: put a reading into the case kept on this device, and open the checker.
 *
 * It changes the case only by the checker's own ways, so undo there takes the reading back.
 * Nothing is sent anywhere.
 *
 * @import { Fact, Reading, State } from "../../knowledge/types.js"
 * @import { CaseReading, Known } from "./types.js"
 */
import { setFact, setReading } from "../../case/case.js";
import { cleanState } from "../../case/kept-state.js";
import { keep, recall } from "../../kit/storage.js";

/** Conditions of one moment, which say nothing lasting about the car. */
const MOMENTARY = new Set(["rest", "cranking-current", "meter"]);
const MOST_UNDO = 20;

/**
 * Fetch the case kept on this device, an empty one if there is none.
 * @param {Known} knowledge
 * @returns {State}
 */
export function keptCase(knowledge) {
  return cleanState(knowledge, recall()?.state);
}

/**
 * Add a reading to a case, with what it says about the car. A case with a symptom goes on to
 * the checks.
 * @param {State} state
 * @param {CaseReading} given
 * @returns {State}
 */
export function withReading(state, given) {
  const { check, value, unit, conditions } = given;
  /** @type {Reading} */
  const reading = { value, unit, ...conditions };
  if (given.confirmed) reading.confirmed = true;
  const noted = Object.entries(conditions)
    .filter(([id]) => !MOMENTARY.has(id))
    .reduce((now, [id, fact]) => setFact(now, id, /** @type {Fact} */ (fact)), state);
  const view = state.chosen.length > 0 ? "check" : state.view;
  return { ...setReading(noted, check, reading), view };
}

/**
 * Keep the case with the reading added; false when the browser keeps nothing.
 * @param {Known} knowledge
 * @param {CaseReading} given
 * @returns {boolean}
 */
export function handOver(knowledge, given) {
  const kept = recall();
  const state = cleanState(knowledge, kept?.state);
  const past = Array.isArray(kept?.past) ? kept.past : [];
  const former = past.map((each) => cleanState(knowledge, each));
  return keep({ state: withReading(state, given), past: [...former, state].slice(-MOST_UNDO) });
}
