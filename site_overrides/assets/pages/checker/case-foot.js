/**
 * Output room: the foot of every view: send the case, undo, forget.
 *
 * @import { App } from "./app.js"
 */
import { isBlank } from "../../case/case.js";
import { button, el } from "../../kit/element.js";

/**
 * Draw the foot; the part that sends the case comes as soon as the page can make a link.
 * @param {App} app
 * @returns {HTMLElement}
 */
export function caseFoot(app) {
  const kept = app.isKept()
    ? "This case is kept on this device only, in this browser. Nothing is sent."
    : "This browser does not keep the case. It is gone when you close the page.";
  return el(
    "footer",
    { class: "case-foot" },
    isBlank(app.state()) ? null : (app.more?.sharePanel(app) ?? null),
    app.canUndo() ? button("Undo the last change", () => app.undo(), { class: "link-button", id: "undo" }) : null,
    button("Start over and forget this case", () => app.forget(), { class: "link-button", id: "forget" }),
    el("p", { class: "small" }, kept),
  );
}
