/**
 * Output room: how two cases differ, as a list.
 *
 * @import { Difference } from "../../case/case-diff.js"
 * @import { App } from "./app.js"
 */
import { differenceWords } from "../../case/diff-words.js";
import { el } from "../../kit/element.js";

/**
 * Draw a list of differences, each with how it differs.
 * @type {(app: App, differences: Difference[]) => HTMLElement}
 */
export function differenceList(app, differences) {
  return el(
    "ul.differences",
    differences.map((each) => {
      const { how, words } = differenceWords(app.knowledge, each);
      return el("li", el("b", `${how}: `), words);
    }),
  );
}
