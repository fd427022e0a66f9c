/**
 * Output room: the lines that come before everything else.
 *
 * @import { Knowledge, State } from "../knowledge/types.js"
 */

import { bullets, el } from "../kit/element.js";
import { settledSymptoms } from "./case.js";

/** @typedef {{id: string, text: string, why: string}} StopLine */

/**
 * List the stop-now lines that hang on what was chosen, before anything is reasoned.
 * @type {(knowledge: Knowledge, state: State) => StopLine[]}
 */
export function stopLinesOf(knowledge, state) {
  const ids = settledSymptoms(knowledge, state).flatMap((symptom) => knowledge.symptoms[symptom]?.stop_now ?? []);
  return [...new Set(ids)].flatMap((id) => {
    const line = knowledge.stop_lines[id];
    return line ? [{ id, text: line.text, why: line.why }] : [];
  });
}

/** Draw the stop-now lines, or nothing. @type {(lines: StopLine[]) => HTMLElement | null} */
export function stopBlock(lines) {
  if (lines.length === 0) return null;
  return el(
    "section.stop-now",
    { id: "stop-now", "aria-labelledby": "stop-title", tabindex: -1 },
    el("h2", { id: "stop-title" }, "Stop now"),
    bullets(lines.map((line) => [el("b", line.text), " ", line.why])),
  );
}
