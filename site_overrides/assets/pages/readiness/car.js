/**
 * Data room: the case kept on this device, for the readiness pages to ask about and to go on with.
 *
 * The case is the checker's. Facts typed on this page join it for the moment only.
 *
 * @import { Case, Knowledge, State } from "../../knowledge/types.js"
 */
import { toCase } from "../../case/case.js";
import { keptCase } from "../../case/kept-case.js";
import { caseTold } from "../../obd/told.js";

/**
 * `isEmpty`: no case is kept.
 * @typedef {{car: Case, isEmpty: boolean}} Car
 */

/**
 * @param {State} state
 * @returns {boolean}
 */
function isEmptyCase({ chosen, readings, outcomes }) {
  return chosen.length + Object.keys(readings).length + Object.keys(outcomes).length === 0;
}

/**
 * Read the kept case, with the facts typed here laid over it.
 * @param {Knowledge} knowledge
 * @param {Record<string, string>} told
 * @returns {Car}
 */
export function carOf(knowledge, told) {
  const state = keptCase(knowledge);
  return { car: caseTold(toCase(knowledge, state), told), isEmpty: isEmptyCase(state) };
}
