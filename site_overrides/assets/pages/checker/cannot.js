/** Output room: "I can't do this", which asks why before it offers something else. @import { App } from "./app.js" */
import { setNotPossible, setTools } from "../../case/case.js";
import { button, el, folded } from "../../kit/element.js";

/**
 * Draw the reasons a check may not be made; each leads on in its own way.
 * @type {(app: App, check: string) => HTMLDetailsElement}
 */
export function cannotFold(app, check) {
  const { checks, tools } = app.knowledge;
  const needed = checks[check]?.tools ?? [];
  const next = { focus: "[data-main-heading]" };
  const skip = () => app.act((state) => setNotPossible(state, check), next);
  const lacksTool = () =>
    app.act((state) => {
      const left = (state.tools ?? Object.keys(tools)).filter((id) => !needed.includes(id));
      return setTools({ ...state, picked: null }, left);
    }, next);
  const $how = el("p", { role: "status" });
  const unsure = () => {
    const $link = el("a", { href: `../checks/${check}/` }, "the full page of this check");
    $how.replaceChildren("Take the steps above one at a time, or read ", $link, ". You can change any result later.");
  };
  const reasons = [
    needed.length > 0 ? button("I don\u2019t have the tool", lacksTool) : null,
    button("I can\u2019t reach it", skip),
    button("Not now", skip),
    button("I\u2019m not sure how", unsure),
  ];
  return folded(
    `cannot-${check}`,
    "I can\u2019t do this",
    el(
      "ul.choices",
      reasons.map(($one) => ($one ? el("li", $one) : null)),
    ),
    $how,
  );
}
