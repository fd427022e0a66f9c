/**
 * Data room: what the case kept on this device says about the supply, for the readiness pages.
 *
 * The case is the checker's; it is read here and not changed. Facts typed on this page join it
 * for the moment only.
 *
 * @import { Knowledge, State } from "../../knowledge/types.js"
 * @import { Findings } from "../../engine/findings.js"
 * @import { Supply } from "../../engine/supply.js"
 * @import { forCase } from "../../obd/told.js"
 */
import { toCase } from "../../case/case.js";
import { keptCase } from "../../case/kept-case.js";
import { find, networkOf } from "../../engine/findings.js";
import { ContradictoryEvidence, FrontierTooWide, infer } from "../../engine/noisy-max.js";
import { judgeSupply } from "../../engine/supply.js";

/**
 * `supply` is null when what was told does not fit together. `isEmpty`: no case is kept.
 * @typedef {object} Car
 * @property {Findings} findings
 * @property {Supply | null} supply
 * @property {boolean} isEmpty
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
 * @param {ReturnType<typeof forCase>} typed
 * @returns {Car}
 */
export function carOf(knowledge, typed) {
  const state = keptCase(knowledge);
  const kept = toCase(knowledge, state);
  const car = {
    ...kept,
    context: { ...kept.context, ...typed.context },
    readings: { ...kept.readings, ...typed.readings },
  };
  const findings = find(knowledge, car);
  const isEmpty = isEmptyCase(state);
  try {
    const { logEvidence } = infer(networkOf(knowledge), findings.odds, findings.evidence);
    return { findings, supply: judgeSupply(knowledge, car, findings, logEvidence), isEmpty };
  } catch (error) {
    if (!(error instanceof ContradictoryEvidence || error instanceof FrontierTooWide)) throw error;
    return { findings, supply: null, isEmpty };
  }
}
