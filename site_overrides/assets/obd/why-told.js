/**
 * Room reasoning: why monitors have not run, as one document with its sentences, for the commands.
 *
 * The page shows the same parts; both ask `whyNotRun`.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Tables } from "./tables.js"
 */

import { supplyName, supplyWords } from "../engine/words.js";
import { ratioLevel, runFactsFrom } from "./evidence.js";
import { caseTold, readoutWith } from "./told.js";
import { whyNotRun } from "./why-not-run.js";

/**
 * Say the title of what a step names.
 * @param {Knowledge} knowledge
 * @param {string|null} id
 * @returns {string}
 */
export function stepTitle(knowledge, id) {
  if (id === null) return "";
  const cause = knowledge.causes[id];
  return cause ? cause.repair.action : (knowledge.checks[id]?.title ?? knowledge.stop_lines[id]?.text ?? "");
}

/**
 * Rank what may hold the incomplete monitors, in words.
 *
 * @param {Knowledge} knowledge
 * @param {Tables} tables
 * @param {{readout: string | Record<string, unknown>, told: Record<string, string>,
 *   facts: Record<string, unknown>, car: Case | null}} given
 */
export function whyDocument(knowledge, tables, { readout: given, told, facts, car }) {
  const readout = readoutWith(given, told);
  const asked = caseTold(car, told);
  const found = whyNotRun(knowledge, tables, { readout, facts: runFactsFrom(facts), car: asked });
  const { words } = tables;
  const { step, hint, advice } = found;
  const { advice: _, asked: __, ...plain } = found;
  return {
    ...plain,
    says: words.run_states[found.state],
    hint_says: hint === null ? null : words.hints[hint],
    step: step && { ...step, says: words.steps[step.kind], title: stepTitle(knowledge, step.id) },
    supply: advice && {
      state: advice.supply.state,
      name: supplyName(advice.supply.state),
      says: supplyWords(advice.supply.state),
    },
    ratio: ratioLevel(readout),
    next: advice ? advice.next.map(({ check }) => check) : [],
  };
}
