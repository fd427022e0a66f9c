/**
 * Output room: the end of every answer: what next, what it does not tell, what was assumed,
 * the way into the case, and the sources.
 *
 * @import { CaseReading, Known } from "../../measure/known.js"
 */

import { useButton } from "../../case/use-button.js";
import { el } from "../../kit/element.js";
import { lowerFirst } from "../../kit/figures.js";
import { hasFigure, markedText, marksBehind, ROOT, sourceList } from "../../kit/marks.js";

/**
 * @typedef {object} AnswerEnd
 * @property {string} next
 * @property {string | null} nextCheck
 * @property {string} checkWords what leads on to the check
 * @property {string} doesNotTell
 * @property {string[]} assumptions
 * @property {string[]} marks
 * @property {CaseReading | null} toCase
 * @property {{address: string, words: string}} more
 * @property {string | null} [note]
 */

/**
 * Say what was taken where nothing was given.
 * @type {(knowledge: Known, assumptions: string[], marks: string[]) => HTMLElement | null}
 */
function assumedPart(knowledge, assumptions, marks) {
  if (assumptions.length === 0) return null;
  const rows = assumptions.map((words) =>
    el(
      "li",
      { class: hasFigure(words) ? "marked" : null },
      words,
      hasFigure(words) ? marksBehind(knowledge, marks) : null,
    ),
  );
  return el("div.answer-part", el("h3", "What we assumed"), el("ul", rows));
}

/**
 * Draw the way on: a sentence, and the check it points to.
 * @type {(knowledge: Known, end: AnswerEnd) => HTMLElement}
 */
function nextPart(knowledge, { next, nextCheck, checkWords, marks }) {
  const check = knowledge.checks[nextCheck ?? ""];
  return el(
    "div.answer-part",
    el("h3", "What to do next"),
    next === "" ? null : markedText(knowledge, next, marks),
    check
      ? el("p", `${checkWords}: `, el("a", { href: `${ROOT}checks/${nextCheck}/` }, lowerFirst(check.title)), ".")
      : null,
  );
}

/** Draw what stands below the figure and the sentence. @type {(knowledge: Known, end: AnswerEnd) => HTMLElement} */
export function answerEnd(knowledge, end) {
  const { doesNotTell, assumptions, marks, toCase, more, note } = end;
  return el(
    "div.answer-end",
    toCase ? useButton(knowledge, toCase) : null,
    nextPart(knowledge, end),
    el("div.answer-part", el("h3", "What it does not tell"), markedText(knowledge, doesNotTell, marks)),
    assumedPart(knowledge, assumptions, marks),
    el(
      "div.answer-part.small",
      el("h3", "Sources"),
      note ? markedText(knowledge, note, marks) : null,
      sourceList(knowledge, marks),
      el("p", el("a", { href: more.address }, more.words)),
    ),
  );
}
