/**
 * Output room: the case strip: everything said and measured, each with a way to change it.
 *
 * @import { App } from "./app.js"
 * @import { State } from "../../knowledge/types.js"
 */

import {
  clearResult,
  madeChecks,
  pickCheck,
  setAbsent,
  setPast,
  setSymptom,
  settledSymptoms,
} from "../../case/case.js";
import { clearMended } from "../../case/case-repair.js";
import { HELPED } from "../../case/case-text.js";
import { button, el, folded } from "../../kit/element.js";
import { quantityText } from "../../kit/value-form.js";
import { laterQuestion } from "./ask-view.js";
import { factsForm, toolsForm } from "./facts-form.js";

/**
 * Draw one line of the strip with its controls.
 * @type {(name: string, value: string, controls: HTMLElement[]) => HTMLElement}
 */
function line(name, value, controls) {
  const text = value === "" ? el("span", name) : el("span", `${name}: `, el("b", value));
  const $ways = el("span.said__ways", controls);
  return el("li.said", el("div.said__line", text, $ways));
}

/**
 * Draw one way to change a line; its name says which line, for those who hear it alone.
 * @type {(app: App, label: string, title: string, change: (state: State) => State, focus: string) => HTMLElement}
 */
function way(app, label, title, change, focus) {
  const names = { class: "link-button", "aria-label": `${label}: ${title}` };
  return button(label, () => app.act(change, { focus }), names);
}

/**
 * Draw what was noticed, each to be called over or removed; an answer that turned it into another goes with it.
 * @type {(app: App) => HTMLElement[]}
 */
function saidLines(app) {
  return app.state().chosen.flatMap((chosen) =>
    settledSymptoms(app.knowledge, { ...app.state(), chosen: [chosen] }).map((id) => {
      const title = app.knowledge.symptoms[id]?.title ?? id;
      return line(title, "", [
        way(app, "It\u2019s gone", title, (state) => setPast(app.knowledge, state, id), "[data-main-heading]"),
        way(app, "Remove", title, (state) => withoutSymptom(state, chosen), "[data-main-heading]"),
      ]);
    }),
  );
}

/** @type {(state: State, id: string) => State} */
function withoutSymptom(state, id) {
  const left = setSymptom(state, id, false);
  return left.chosen.length === 0 ? { ...left, view: "say" } : left;
}

/** Draw the results, each to be changed or removed. @type {(app: App) => HTMLElement[]} */
function resultLines(app) {
  const { readings, outcomes } = app.state();
  return madeChecks(app.state()).map((check) => {
    const about = app.knowledge.checks[check];
    const title = about?.title ?? check;
    const reading = readings[check];
    const level = about?.levels.find((each) => each.id === outcomes[check]);
    const found = reading ? quantityText(app.knowledge, reading) : (level?.label ?? "");
    return line(title, found, [
      way(app, "Change", title, (state) => pickCheck(state, check), "[data-main-heading]"),
      way(app, "Remove", title, (state) => clearResult(state, check), '[data-keep="case"] > summary'),
    ]);
  });
}

/** Draw the checks that cannot be made here. @type {(app: App) => HTMLElement[]} */
function notPossibleLines(app) {
  return app.state().notPossible.map((check) => {
    const title = app.knowledge.checks[check]?.title ?? check;
    return line(title, "cannot be done here", [
      way(app, "I can after all", title, (state) => clearResult(state, check), "[data-main-heading]"),
    ]);
  });
}

/** Draw what is not so and what was mended, each with a way to remove it. @type {(app: App) => HTMLElement[]} */
function ruledLines(app) {
  const { absent, mended, helped, past } = app.state();
  const { symptoms, causes } = app.knowledge;
  const focus = '[data-keep="case"] > summary';
  const back = (/** @type {string} */ id) => (/** @type {State} */ state) => setSymptom(state, id, true);
  return [
    ...past.map((id) => {
      const title = symptoms[id]?.title ?? id;
      return line("Gone", title, [way(app, "It\u2019s back", title, back(id), "[data-main-heading]")]);
    }),
    ...absent.map((id) => {
      const title = symptoms[id]?.title ?? id;
      return line("Not so", title, [way(app, "Remove", title, (state) => setAbsent(state, id, false), focus)]);
    }),
    ...mended.map((id) => {
      const title = causes[id]?.title ?? id;
      return line("Repaired, no change", title, [way(app, "Remove", title, (state) => clearMended(state, id), focus)]);
    }),
    ...Object.entries(helped).map(([id, how]) => {
      const title = `${causes[id]?.title ?? id}, and ${HELPED[how]}`;
      return line("Repaired", title, [way(app, "Remove", title, (state) => clearMended(state, id), focus)]);
    }),
  ];
}

/**
 * Count the checks that were made. However many kinds of codes were looked for, they were read once.
 * @param {App} app
 */
function countMade(app) {
  const made = madeChecks(app.state());
  const others = made.filter((id) => !app.knowledge.checks[id]?.levels.some(({ codes }) => codes));
  return others.length < made.length && !others.includes(READ_CODES) ? others.length + 1 : others.length;
}

/** The check by which codes are read. */
const READ_CODES = "read-and-write-down-codes";

/**
 * Draw the strip, folded; its summary says what was said and how much was checked.
 * @type {(app: App) => HTMLElement}
 */
export function caseStrip(app) {
  const symptoms = settledSymptoms(app.knowledge, app.state());
  const titles = symptoms.map((id) => app.knowledge.symptoms[id]?.title ?? id);
  const count = countMade(app);
  const made = count === 0 ? "nothing checked yet" : count === 1 ? "1 check made" : `${count} checks made`;
  const more = titles.length > 1 ? ` and ${titles.length - 1} more` : "";
  const none = app.state().past.length > 0 ? "nothing wrong now" : "nothing said";
  const summary = `Your case: ${titles[0] ?? none}${more}, ${made}`;
  const change = button(
    "Change what you said",
    () => app.act((state) => ({ ...state, view: "say" }), { focus: "[data-main-heading]" }),
    { class: "control control--quiet" },
  );
  const ruled = ruledLines(app);
  const $strip = folded(
    "case",
    summary,
    el("ul.said-list", saidLines(app)),
    change,
    count > 0 ? laterQuestion(app) : null,
    ruled.length > 0 ? el("ul.said-list", ruled) : null,
    count > 0 ? el("h2", "What you found") : null,
    count > 0 ? el("ul.said-list", resultLines(app)) : null,
    app.state().notPossible.length > 0 ? el("ul.said-list", notPossibleLines(app)) : null,
    factsForm(app, "case"),
    toolsForm(app, "case"),
  );
  $strip.classList.add("strip", "fold--printed");
  return $strip;
}
