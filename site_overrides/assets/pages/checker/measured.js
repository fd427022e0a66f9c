/**
 * Output room: what was measured before anything was ticked, so that it is not lost from sight.
 *
 * @import { App } from "./app.js"
 */
import { clearResult, madeChecks, toCase } from "../../case/case.js";
import { find } from "../../engine/findings.js";
import { button, el } from "../../kit/element.js";
import { resultMeaning, resultValue } from "./case-summary.js";

/**
 * Draw the results noted so far with what each means, or nothing when there are none.
 * @type {(app: App) => HTMLElement | null}
 */
export function measuredPart(app) {
  const checks = madeChecks(app.state());
  if (checks.length === 0) return null;
  const { knowledge } = app;
  const car = toCase(knowledge, app.state());
  const findings = find(knowledge, car);
  const rows = checks.map((check) => {
    const title = knowledge.checks[check]?.title ?? check;
    const remove = () => app.act((state) => clearResult(state, check), { focus: "#said" });
    const $remove = button("Remove", remove, { class: "link-button", "aria-label": `Remove: ${title}` });
    const means = resultMeaning(knowledge, car, findings, check);
    return el(
      "li.said",
      el("div.said__line", el("span", `${title}: `, el("b", resultValue(knowledge, car, check))), $remove),
      means === "" ? null : el("p.small", means),
    );
  });
  const isAlone = app.state().chosen.length === 0;
  return el(
    "section.chosen",
    { id: "measured", "aria-labelledby": "measured-title" },
    el("h3", { id: "measured-title" }, "You found"),
    el("ul.said-list", rows),
    isAlone ? el("p.small", "Noted. Tick what the car does as well, and it counts in the next check.") : null,
  );
}
