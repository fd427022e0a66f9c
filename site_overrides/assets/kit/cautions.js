/**
 * Output room: cautions, each before the thing it belongs to.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 */
import { el } from "./element.js";

/**
 * Draw one caution by its hazard id; nothing for an id the knowledge lacks.
 * @param {Knowledge} knowledge
 * @param {string | null | undefined} id
 * @returns {HTMLElement | null}
 */
export function caution(knowledge, id) {
  const hazard = knowledge.hazards[id ?? ""];
  if (!hazard) return null;
  return el(
    "div",
    { class: "caution" },
    el("p", {}, el("span", { class: "caution__name" }, `${hazard.title}.`), " ", hazard.text),
  );
}

/**
 * Draw what to know before the first step, or nothing.
 *
 * A caution that belongs to a step stands in full before that step; here it is announced by
 * name. The others stand here in full.
 * @param {Knowledge} knowledge
 * @param {string[]} ids
 * @param {string[]} [later] hazards that stand before a step further down
 * @returns {HTMLElement | null}
 */
export function cautionList(knowledge, ids, later = []) {
  const here = ids.filter((id) => !later.includes(id)).flatMap((id) => caution(knowledge, id) ?? []);
  const names = [...new Set(later)].flatMap((id) => knowledge.hazards[id]?.title.toLowerCase() ?? []);
  const list = names.join(", ");
  if (here.length + names.length === 0) return null;
  return el(
    "div",
    { class: "cautions", role: "group", "aria-label": "Before you start" },
    here,
    names.length > 0
      ? el(
          "div",
          { class: "caution" },
          el("p", {}, el("span", { class: "caution__name" }, "Read each caution before its step: "), `${list}.`),
        )
      : null,
  );
}
