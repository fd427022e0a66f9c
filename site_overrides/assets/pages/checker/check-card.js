/**
 * Output room: one check as the page: why, what it takes, cautions, steps, result.
 *
 * @import { App } from "./app.js"
 * @import { NextCheck } from "../../engine/triage.js"
 */
import { setNotPossible } from "../../case/case.js";
import { caution, cautionList } from "../../kit/cautions.js";
import { drawing } from "../../kit/drawing.js";
import { button, el } from "../../kit/element.js";
import { fractionWords, lowerFirst, moneyWords, SKILL_WORDS, timeWords } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";
import { resultForm } from "./result-form.js";

/**
 * Draw what the check takes: time, money, tools, skill, a second person.
 * @param {App} app
 * @param {string} check
 * @returns {HTMLElement}
 */
function effortList(app, check) {
  const about = app.knowledge.checks[check];
  if (!about) return el("dl");
  const tools = about.tools.map((id) => lowerFirst(app.knowledge.tools[id]?.title ?? id));
  const mark = say("mark", { mark: about.source });
  const row = (/** @type {string} */ name, /** @type {string} */ value, /** @type {string | undefined} */ from) =>
    el("div", {}, el("dt", {}, name), el("dd", {}, value, from ? el("span", { class: "mark" }, from) : null));
  return el(
    "dl",
    { class: "effort" },
    row("Time", timeWords(about), mark),
    row("Cost", moneyWords(about.money, about.currency), mark),
    row("Tools", tools.length > 0 ? tools.join(", ") : "none", undefined),
    row("Skill", SKILL_WORDS[about.skill] ?? about.skill, undefined),
    about.needs_helper ? row("Helper", "a second person", undefined) : null,
  );
}

/**
 * Draw the steps; a caution stands before the step it belongs to.
 * @param {App} app
 * @param {string} check
 * @returns {HTMLElement}
 */
function stepList(app, check) {
  const steps = app.knowledge.checks[check]?.steps ?? [];
  return el(
    "ol",
    { class: "steps" },
    steps.map((step) => el("li", {}, caution(app.knowledge, step.caution), el("p", { class: "step" }, step.do))),
  );
}

/**
 * Draw what each result would mean, with how likely it is now.
 * @param {App} app
 * @param {string} check
 * @param {NextCheck | undefined} item the advice's word on this check, if it has one
 * @returns {HTMLElement}
 */
function levelList(app, check, item) {
  const { checks, causes } = app.knowledge;
  const levels = checks[check]?.levels ?? [];
  if (levels.length < 2) return el("div");
  const rows = levels.map((level) => {
    const outcome = item?.outcomes?.find((each) => each.level === level.id);
    const top = outcome?.top_cause ? causes[outcome.top_cause]?.title : null;
    return el(
      "div",
      {},
      el(
        "dt",
        {},
        el("span", {}, level.label),
        outcome ? el("span", { class: "odds" }, fractionWords(outcome.probability)) : null,
      ),
      el("dd", {}, level.means, top ? ` Likeliest cause then: ${lowerFirst(top)}.` : ""),
    );
  });
  return el(
    "section",
    { class: "card-part" },
    el("h3", {}, "What each result would mean"),
    item?.outcomes.length ? el("p", { class: "small" }, "How likely each is now, by our estimates.") : null,
    el("dl", { class: "levels" }, rows),
  );
}

/**
 * Name the checks that must come before this one.
 * @param {App} app
 * @param {string} check
 * @returns {HTMLElement | null}
 */
function needsLine(app, check) {
  const { readings, outcomes } = app.state();
  const open = (app.knowledge.checks[check]?.needs ?? []).filter(
    (need) => readings[need.check] === undefined && outcomes[need.check] === undefined,
  );
  if (open.length === 0) return null;
  const titles = open.map((need) => lowerFirst(app.knowledge.checks[need.check]?.title ?? need.check));
  return el("p", { class: "before" }, el("b", {}, "First: "), `${titles.join(", then ")}.`);
}

/**
 * Draw a check with everything needed to make it and to enter its result.
 * @param {App} app
 * @param {string} check
 * @param {{kicker: string, why: string[], item: NextCheck | undefined}} words
 * @returns {HTMLElement}
 */
export function checkCard(app, check, { kicker, why, item }) {
  const about = app.knowledge.checks[check];
  const title = about?.title ?? check;
  const inSteps = (about?.steps ?? []).flatMap((step) => step.caution ?? []);
  const toResult = () => {
    const $first = document.querySelector("#result input, #result button");
    if ($first instanceof HTMLElement) $first.focus();
  };
  const cannot = () => app.act((state) => setNotPossible(state, check), { focus: "[data-main-heading]" });
  return el(
    "article",
    { class: "card", "aria-labelledby": "check-title" },
    el("p", { class: "kicker" }, kicker),
    el("h2", { id: "check-title", tabindex: -1, "data-main-heading": true }, title),
    why.length > 0 ? el("p", { class: "why" }, why.join(" ")) : null,
    needsLine(app, check),
    effortList(app, check),
    el(
      "p",
      { class: "control-row" },
      button("I already did this", toResult, { class: "link-button" }),
      button("I can\u2019t do this", cannot, { class: "link-button" }),
    ),
    cautionList(app.knowledge, about?.cautions ?? [], inSteps),
    el("section", { class: "card-part" }, el("h3", {}, "How to do it"), drawing(about?.drawing), stepList(app, check)),
    el(
      "section",
      { class: "card-part result-part", id: "result" },
      el("h3", {}, "Enter the result"),
      resultForm(app, check),
    ),
    levelList(app, check, item),
    about?.cannot_tell ? el("p", { class: "small" }, el("b", {}, "What it cannot tell. "), about.cannot_tell) : null,
    el("p", {}, el("a", { href: `../checks/${check}/` }, "The full page of this check")),
  );
}
