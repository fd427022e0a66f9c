/**
 * Output room: cautions, each before the thing it belongs to: the worst in full, the others in
 * one line with the whole behind it.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 */
import { el } from "./element.js";

/** @typedef {Knowledge["hazards"][string]} Hazard */

/** @param {Hazard} hazard */
function nameOf({ title }) {
  return el("span.caution__name", `${title}.`);
}

/**
 * Draw one caution by its hazard id; nothing for an id the knowledge lacks.
 * @type {(knowledge: Knowledge, id: string | null | undefined) => HTMLElement | null}
 */
export function caution(knowledge, id) {
  const hazard = knowledge.hazards[id ?? ""];
  if (!hazard) return null;
  return el("div.caution", el("p", nameOf(hazard), " ", hazard.text));
}

/**
 * Draw a caution in one line, with the whole of it one tap away, and behind it its marks.
 * @type {(hazard: Hazard, marks?: import("./element.js").Child[] | null) => HTMLElement}
 */
export function shortCaution(hazard, marks = null) {
  const $more = el("span.caution__more", "more");
  const $line = el("summary", nameOf(hazard), el("span.caution__short", ` ${hazard.short} `), $more);
  // On paper, where nothing opens, the name stands in the whole text.
  const $name = el("span.caution__name.caution__paper", `${hazard.title}. `);
  return el("details.caution.caution--short", $line, el("p", $name, hazard.text, marks));
}

/**
 * Make what draws each caution of a page: the first in full, unless a check before showed it, and
 * each other in one line that opens; met again after a step, only the line.
 * @param {Knowledge} knowledge
 * @param {string[]} [read] hazards the reader met before
 * @returns {(id: string | null | undefined, isFirstStep?: boolean) => HTMLElement | null}
 */
export function cautionsOnce(knowledge, read = []) {
  const shown = new Set();
  let last = "";
  return (id, isFirstStep = false) => {
    const hazard = knowledge.hazards[id ?? ""];
    if (!id || !hazard) return null;
    const isStillInSight = id === last || (isFirstStep && shown.has(id));
    last = id;
    if (isStillInSight) return null;
    if (shown.has(id)) {
      return el("p.caution.caution--named", nameOf(hazard), ` ${hazard.short}`);
    }
    shown.add(id);
    return shown.size === 1 && !read.includes(id) ? caution(knowledge, id) : shortCaution(hazard);
  };
}

/**
 * Draw what to know before the first step, or nothing.
 * @type {(cautions: Array<HTMLElement | null>) => HTMLElement | null}
 */
export function cautionGroup(cautions) {
  if (!cautions.some((one) => one)) return null;
  return el("div.cautions", { role: "group", "aria-label": "Before you start" }, cautions);
}
