/**
 * Which facts about the car are worth asking: those of which some answer changes the next step,
 * or brings a stop-now line.
 *
 * @import { Advice } from "../../engine/triage.js"
 * @import { Context, Fact, Knowledge, State } from "../../knowledge/types.js"
 */
import { setFact, toCase } from "../../case/case.js";
import { noticedAnswers } from "../../engine/findings.js";
import { triage } from "../../engine/triage.js";

/** Name the step an advice puts first. @param {Advice} advice */
function stepOf({ repair, next }) {
  return repair ? `repair ${repair.cause}` : (next[0]?.check ?? "");
}

/** List answers to try: every choice, or the two ends of what can be. @type {(context: Context) => Fact[]} */
function answersTo({ type, options, unit, plausible }) {
  if (type === "choice") return (options ?? []).map(({ id }) => id);
  return plausible ? [plausible.low, plausible.high].map((value) => ({ value, unit: unit ?? "" })) : [];
}

/**
 * Find out whether an answer to this question would change what comes first in the case.
 * @param {Knowledge} knowledge
 * @param {State} state
 * @param {string} id of the context
 * @returns {boolean} true too where no advice can be given on the case as it stands
 */
export function changesTheStep(knowledge, state, id) {
  const context = knowledge.contexts[id];
  const step = (/** @type {Fact | null} */ fact) =>
    stepOf(triage(knowledge, toCase(knowledge, setFact(state, id, fact))));
  try {
    if (!context || Object.hasOwn(noticedAnswers(knowledge, toCase(knowledge, state)), id)) return false;
    if (context.options?.some(({ stop_now: stops = [] }) => stops.length > 0)) return true;
    const now = step(null);
    return answersTo(context).some((fact) => step(fact) !== now);
  } catch {
    return true;
  }
}
