/** Output room: a labelled list to choose from, for the forms of an exercise. @import { Options } from "./words.js" */

import { el } from "../../kit/element.js";

/**
 * Draw a labelled list to choose from.
 * @param {string} id
 * @param {string} label
 * @param {Options} options
 */
export function chooser(id, label, options) {
  const $choice = el("select.field", { id });
  const fill = (/** @type {Options} */ next) =>
    $choice.replaceChildren(...next.map((one) => el("option", { value: one.id }, one.title)));
  fill(options);
  return { $choice, fill, $parts: [el("label", { for: id }, label), $choice] };
}
