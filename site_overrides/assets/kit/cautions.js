/**
 * Output room: cautions, each before the thing it belongs to, in full once and then by name.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 */
import { button, el } from "./element.js";

/**
 * Draw one caution by its hazard id; nothing for an id the knowledge lacks.
 * @param {Knowledge} knowledge
 * @param {string | null | undefined} id
 * @returns {HTMLElement | null}
 */
export function caution(knowledge, id) {
  const hazard = knowledge.hazards[id ?? ""];
  if (!hazard) return null;
  const $name = el("span", { class: "caution__name" }, `${hazard.title}.`);
  return el("div", { class: "caution" }, el("p", {}, $name, " ", hazard.text));
}

/**
 * Draw a caution of an earlier check: its name, with the whole of it one tap away.
 * @param {Knowledge} knowledge
 * @param {string} id
 * @returns {HTMLElement | null}
 */
function cautionAgain(knowledge, id) {
  const hazard = knowledge.hazards[id];
  if (!hazard) return null;
  const $name = el("span", { class: "caution__name" }, hazard.title);
  return el("details", { class: "caution caution--again" }, el("summary", {}, $name), el("p", {}, hazard.text));
}

/**
 * Make what draws each caution of a page: in full the first time it is met, folded when a check
 * before showed it, and by a name that leads back to it where it stands higher on the same page.
 * @param {Knowledge} knowledge
 * @param {string[]} [read] hazards the reader met before
 * @returns {(id: string | null | undefined) => HTMLElement | null}
 */
export function cautionsOnce(knowledge, read = []) {
  /** @type {Map<string, HTMLElement | null>} */
  const shown = new Map();
  let last = "";
  return (id) => {
    const hazard = knowledge.hazards[id ?? ""];
    if (!id || !hazard) return null;
    const isRightAbove = id === last;
    last = id;
    if (isRightAbove) return null;
    if (shown.has(id)) {
      const back = () => {
        const $first = shown.get(id);
        if ($first instanceof HTMLDetailsElement) $first.open = true;
        $first?.scrollIntoView({ block: "center" });
      };
      return el(
        "p",
        { class: "caution caution--named" },
        "As above: ",
        button(hazard.title, back, { class: "link-button" }),
      );
    }
    shown.set(id, read.includes(id) ? cautionAgain(knowledge, id) : caution(knowledge, id));
    return shown.get(id) ?? null;
  };
}

/**
 * Draw what to know before the first step, or nothing.
 * @param {Array<HTMLElement | null>} cautions
 * @returns {HTMLElement | null}
 */
export function cautionGroup(cautions) {
  if (!cautions.some((one) => one)) return null;
  return el("div", { class: "cautions", role: "group", "aria-label": "Before you start" }, cautions);
}
