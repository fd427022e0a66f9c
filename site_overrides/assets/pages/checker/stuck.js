/**
 * Output room: say in plain words why the reasoning could not answer.
 *
 * Only refusals the reasoning names are turned into words; anything else is a fault of ours
 * and is not hidden.
 *
 * @import { Knowledge } from "../../knowledge/types.js"
 */
import { ReadingRefused } from "../../measure/gauges-numbers.js";

/** Name a finding by the title of its check or symptom. @type {(knowledge: Knowledge, id: string) => string} */
function titleOf(knowledge, id) {
  return knowledge.checks[id]?.title ?? knowledge.symptoms[id]?.title ?? id;
}

/** Give the heading for what stands in the way. @param {unknown} error */
export function stuckTitle(error) {
  const isTooMuch = error instanceof Error && error.name === "FrontierTooWide";
  return isTooMuch ? "This is too much to answer at once" : "These answers do not go together";
}

/**
 * Say what stands in the way; null when the error is not a refusal of the case.
 * @type {(knowledge: Knowledge, error: unknown) => string | null}
 */
export function stuckWords(knowledge, error) {
  if (error instanceof ReadingRefused) {
    return "One of the readings cannot be used as it stands. Change or remove it below.";
  }
  if (!(error instanceof Error)) return null;
  if (error.name === "ContradictoryEvidence") {
    const findings = /** @type {{findings?: string[]}} */ (error).findings ?? [];
    const names = findings.map((id) => titleOf(knowledge, id)).join("; ");
    return (
      `No cause we know of fits all of this at once: ${names}. ` +
      "Look at each again and change the one you are least sure of."
    );
  }
  if (error.name === "FrontierTooWide") {
    return (
      "So much was said at once that an exact answer would take too long. " +
      "Remove the symptoms you are least sure of."
    );
  }
  return null;
}
