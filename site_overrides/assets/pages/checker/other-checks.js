/**
 * Output room: checks one could make in place of the advised one.
 *
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 */
import { pickCheck } from "../../case/case.js";
import { button, el, folded } from "../../kit/element.js";
import { lowerFirst, moneyWords, timeWords } from "../../kit/figures.js";

/** Say in short what a check takes. @type {(app: App, check: string) => string} */
function effortWords(app, check) {
  const about = app.knowledge.checks[check];
  if (!about) return "";
  const tools = about.tools.map((id) => lowerFirst(app.knowledge.tools[id]?.title ?? id));
  const cost = about.money === 0 ? "no cost" : moneyWords(about.money, about.currency);
  return `${timeWords(about)}, ${cost}, ${tools.length > 0 ? tools.join(", ") : "no tools"}`;
}

/** Turn to another check. @type {(app: App, check: string) => void} */
function turnTo(app, check) {
  app.act((state) => pickCheck(state, check), { focus: "[data-main-heading]" });
}

/**
 * Say which steps are kept back, and once for all that share it, the reason.
 * @type {(app: App, advice: Advice) => HTMLElement[]}
 */
function keptBack({ knowledge }, { withheld }) {
  const reasons = [...new Set(withheld.map(({ ability }) => ability))];
  return reasons.map((reason) => {
    const titles = withheld
      .filter(({ ability }) => ability === reason)
      .map(({ check, cause }) => knowledge.checks[check ?? ""]?.title ?? knowledge.causes[cause ?? ""]?.repair.action);
    const lines = titles.flatMap((title) => [el("b", `Not now: ${title}`), el("br")]);
    return el("li", lines, el("small", knowledge.abilities?.[reason]?.without));
  });
}

/**
 * Draw the other checks the advice would accept, those kept back, and the way to any check at all.
 * @type {(app: App, advice: Advice | null, shown: string | null) => HTMLElement}
 * @param shown the check on the page
 */
export function otherChecks(app, advice, shown) {
  const others = (advice?.next ?? []).filter((item) => item.check !== shown);
  const kept = advice ? keptBack(app, advice) : [];
  const rows = others.map(({ check }) => {
    const title = app.knowledge.checks[check]?.title ?? check;
    return el(
      "li.said",
      el("div", el("b", title), el("br"), el("small", effortWords(app, check))),
      button("Do this one instead", () => turnTo(app, check), {
        class: "link-button",
        "aria-label": `Do this one instead: ${title}`,
      }),
    );
  });
  const hasRows = rows.length + kept.length > 0;
  return folded("others", "Another check", hasRows ? el("ul.said-list", [...rows, ...kept]) : null, anyCheck(app));
}

/** Draw the way to enter a result for any check at all. @type {(app: App) => HTMLElement} */
function anyCheck(app) {
  const { checks } = app.knowledge;
  const ids = Object.keys(checks).sort((a, b) => ((checks[a]?.title ?? a) < (checks[b]?.title ?? b) ? -1 : 1));
  const options = ids.map((id) => el("option", { value: id }, checks[id]?.title ?? id));
  const $select = el("select", { id: "any-check" }, options);
  return el(
    "div",
    el("div.entry", el("label", { for: "any-check" }, "Any check at all"), $select),
    button("Open this check", () => turnTo(app, $select.value), { class: "control control--quiet" }),
  );
}
