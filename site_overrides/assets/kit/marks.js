/**
 * Output room: put beside a figure where it comes from.
 *
 * A mark links to its source, or to the page that says what an unsourced mark means. It does
 * not decide which mark a figure has.
 *
 * @import { Hazard } from "./cautions.js"
 * @import { Child } from "./element.js"
 * @import { Known } from "../measure/known.js"
 */
import { shortCaution } from "./cautions.js";
import { el } from "./element.js";
import { say } from "./sentences.js";

/** Both pages stand one folder below the root. */
export const ROOT = "../";

/**
 * Say the words of a mark.
 * @param {Known} knowledge
 * @param {string} id of a source, or an unsourced mark
 * @returns {string}
 */
function markWords(knowledge, id) {
  const source = /** @type {{mark?: string} | undefined} */ (knowledge.sources[id]);
  return source?.mark ?? (say("mark", { mark: id }) || say("mark", { mark: "our-estimate" }));
}

/** @type {(knowledge: Known, id: string) => string} */
function addressOf(knowledge, id) {
  return knowledge.sources[id] ? `${ROOT}sources/${id}/` : `${ROOT}guide/our-numbers/`;
}

/** Draw one mark. @type {(knowledge: Known, id: string) => HTMLElement} */
function markOf(knowledge, id) {
  const title = knowledge.sources[id]?.title ?? "";
  const attributes = { class: "mark", href: addressOf(knowledge, id), title: title || null };
  return el("a", attributes, markWords(knowledge, id));
}

/** Tell whether a text holds a figure, which then needs its mark. @type {(text: string) => boolean} */
export function hasFigure(text) {
  return /[0-9]/.test(text);
}

/**
 * Draw marks, a space before each. Of several sources with one mark the first is linked; the
 * list of sources names them all.
 * @type {(knowledge: Known, ids: string[]) => Child[]}
 */
export function marksOf(knowledge, ids) {
  /** @type {Map<string, string>} */
  const byWords = new Map();
  for (const id of ids) {
    const words = markWords(knowledge, id);
    if (!byWords.has(words)) byWords.set(words, id);
  }
  return [...byWords.values()].flatMap((id) => [" ", markOf(knowledge, id)]);
}

/**
 * Draw the marks behind a sentence: one stands there, several open from one.
 * @type {(knowledge: Known, ids: string[]) => Child[]}
 */
export function marksBehind(knowledge, ids) {
  const marks = marksOf(knowledge, ids);
  const several = marks.filter((one) => one instanceof HTMLElement).length > 1;
  return several ? [" ", el("details.marks", el("summary", say("marks")), marks)] : marks;
}

/**
 * Draw a paragraph with its marks behind it; a text without a figure needs none.
 * @type {(knowledge: Known, text: string, ids: string[], options?: {lead?: string, kind?: string}) => HTMLElement}
 * @param options lead: words in bold before it
 */
export function markedText(knowledge, text, ids, { lead = "", kind = "" } = {}) {
  const needed = hasFigure(text);
  const names = [kind, needed ? "marked" : ""].filter((name) => name !== "").join(" ");
  return el(
    "p",
    { class: names || null },
    lead === "" ? null : el("b", `${lead} `),
    text,
    needed ? marksBehind(knowledge, ids) : null,
  );
}

/**
 * List sources in full, each a link to its page, with its mark.
 * @type {(knowledge: Known, ids: string[]) => HTMLElement}
 */
export function sourceList(knowledge, ids) {
  const once = [...new Set(ids)];
  const named = once.filter((id) => knowledge.sources[id]);
  const others = once.filter((id) => !knowledge.sources[id]);
  return el(
    "ul.source-list",
    named.map((id) => {
      const $name = el("a", { href: addressOf(knowledge, id) }, knowledge.sources[id]?.title ?? id);
      return el("li", $name, " ", el("span.mark", markWords(knowledge, id)));
    }),
    others.map((id) => el("li", markOf(knowledge, id))),
  );
}

/**
 * Draw the cautions that come before entry, each with the mark of its figures: the first in full,
 * each other in one line that opens.
 * @type {(knowledge: Known, ids: string[]) => HTMLElement | null}
 */
export function markedCautions(knowledge, ids) {
  const known = [...new Set(ids)].filter((id) => knowledge.hazards[id]);
  if (known.length === 0) return null;
  const rows = known.map((id, place) => {
    const hazard = /** @type {Hazard & {source?: string | null}} */ (knowledge.hazards[id]);
    const marks = hasFigure(hazard.text) ? marksOf(knowledge, [hazard.source ?? "our-estimate"]) : null;
    if (place > 0) return el("li.marked", shortCaution(hazard, marks));
    const $name = el("span.caution__name", `${hazard.title}.`);
    return el("li.caution.marked", el("p", $name, " ", hazard.text, marks));
  });
  return el("ul.cautions", { "aria-label": "Before you measure" }, rows);
}
