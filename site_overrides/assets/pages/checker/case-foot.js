/** Output room: the foot of every view: send the case, undo, forget. @import { App } from "./app.js" */
import { isBlank } from "../../case/case.js";
import { aboutCase } from "../../case/kept-case.js";
import { allCases } from "../../case/shelf.js";
import { button, el } from "../../kit/element.js";
import { forgetControl } from "../../kit/keeping.js";

const KEPT = {
  kept: "Kept only in this browser. Nothing is sent.",
  refused: "This browser does not keep the case. It is gone when you close the page.",
  "too-large": "This case is too large to be kept. It is gone when you close the page.",
  overtaken: "What you see here is not kept yet: say above which case goes on.",
};

/**
 * Draw the foot; the part that sends the case comes as soon as the page can make a link.
 * @type {(app: App) => HTMLElement}
 */
export function caseFoot(app) {
  return el(
    "footer.case-foot",
    isBlank(app.state()) ? null : (app.more?.sharePanel(app) ?? null),
    app.canUndo() ? button("Undo the last change", () => app.undo(), { class: "link-button", id: "undo" }) : null,
    allCases().length > 0 ? el("a.link-button", { href: "../cases/" }, "All your cases") : null,
    isBlank(app.state()) ? null : el("a.link-button", { href: `../cases/#case=${aboutCase().id}` }, "Log and close"),
    forgetControl("Start over", {
      id: "forget",
      question: "Take what you said and found off this device?",
      isBlank: () => isBlank(app.state()),
      forget: () => app.forget(),
    }),
    el("p.small", KEPT[app.howKept()]),
  );
}
