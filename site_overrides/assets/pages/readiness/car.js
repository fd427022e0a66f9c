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

/** `isEmpty`: no case is kept. @typedef {{car: Case, isEmpty: boolean}} Car */

/** @type {(state: State) => boolean} */
function isEmptyCase({ chosen, readings, outcomes }) {
  return chosen.length + Object.keys(readings).length + Object.keys(outcomes).length === 0;
}

/**
 * Read the kept case, with the facts typed here laid over it.
 * @type {(knowledge: Knowledge, told: Record<string, string>) => Car}
 */
export function carOf(knowledge, told) {
  const state = keptCase(knowledge);
  return { car: caseTold(toCase(knowledge, state), told), isEmpty: isEmptyCase(state) };
}
