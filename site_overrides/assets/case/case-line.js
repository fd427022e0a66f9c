/**
 * Room case: one line about a case for who lists it without loading the knowledge.
 *
 * @import { Advice } from "../engine/triage.js"
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { Line, Stage } from "./sheet.js"
 */

/** @type {(knowledge: Knowledge, advice: Advice) => Stage} */
function stageIn({ checks }, { watch, repair, next }) {
  if (watch) return "settled";
  if (repair) return "step";
  const [first] = next;
  if (!first) return "workshop";
  return checks[first.check]?.gauge ? "waiting" : "step";
}

/**
 * Say where a case stands, and which check or repair comes next.
 * @type {(knowledge: Knowledge, symptoms: string[], advice: Advice) => {line: Line, step: string}}
 * @returns step: its id, "" where nothing is left to do at the car
 */
export function caseLine(knowledge, symptoms, advice) {
  const { repair, next, causes } = advice;
  const check = next[0]?.check ?? "";
  const title = knowledge.symptoms[symptoms[0] ?? ""]?.title ?? causes[0]?.title ?? "";
  return {
    line: { title, next: repair?.action ?? knowledge.checks[check]?.title ?? "", stage: stageIn(knowledge, advice) },
    step: repair?.cause ?? check,
  };
}
