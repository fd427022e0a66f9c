/**
 * Output room: what is asked between the symptom and the first step: one question a screen, then
 * when it happens and what there is to work with.
 *
 * @import { App } from "./app.js"
 * @import { State } from "../../knowledge/types.js"
 */
import {
  answerSplit,
  goOn,
  MOST_FIRST,
  madeChecks,
  NOT_SURE,
  nextQuestion,
  setTools,
  toCase,
} from "../../case/case.js";
import { stopBlock, stopLinesOf } from "../../case/stop-block.js";
import { triage } from "../../engine/triage.js";
import { bullets, button, el, folded } from "../../kit/element.js";
import { toolsForm } from "./facts-form.js";
import { whenFold } from "./picker.js";
import { unknownNote } from "./say-view.js";

const FOCUS = { focus: "[data-main-heading]" };
/** What every owner has or can borrow in a minute: a phone's light, the forecast, the spare key. */
const AT_HAND = ["torch", "thermometer", "second-key"];
const METER = [...AT_HAND, "multimeter"];
const KITS = /** @type {const} */ ([
  ["Nothing yet", AT_HAND],
  ["A multimeter", METER],
  ["A multimeter and a battery charger", [...METER, "battery-charger", "hand-tools"]],
]);

/** Draw answers of which a tap on one leads on. @param {Array<[string, () => void]>} answers words and what follows */
function answerList(answers) {
  return bullets(
    answers.map(([words, act]) => button(words, act)),
    { class: "choices" },
  );
}

/**
 * Draw the frame of every screen here: stop-now lines first, the way back last.
 * @type {(app: App, title: string, parts: Array<HTMLElement | null>) => HTMLElement}
 */
function screen(app, title, parts) {
  const change = () => app.act((state) => ({ ...state, view: "say" }), FOCUS);
  const titles = app.state().chosen.map((id) => app.knowledge.symptoms[id]?.title ?? id);
  return el(
    "section.say",
    { "aria-labelledby": "ask-title" },
    el("div", { role: "alert" }, stopBlock(stopLinesOf(app.knowledge, app.state()))),
    unknownNote(app),
    el("p.kicker", titles.join(" \u00b7 ")),
    el("h2", { id: "ask-title", tabindex: -1, "data-main-heading": true }, title),
    ...parts,
    el("p.control-row", button("Change what you said", change, { class: "link-button" })),
  );
}

/**
 * Draw the answers to a splitting question.
 * @param {App} app
 * @param {{id: string, number: number}} asked
 * @param {(state: State) => State} then what follows an answer
 */
function splitAnswers(app, { id, number }, then) {
  const question = app.knowledge.symptoms[id]?.ask_first?.[number];
  const answer = (/** @type {number} */ place) => () =>
    app.act((state) => then(answerSplit(state, id, number, place)), FOCUS);
  const answers = (question?.answers ?? []).map(
    ({ says }, place) => /** @type {[string, () => void]} */ ([says, answer(place)]),
  );
  // Some questions bring their own way to say so, with a place to go on from.
  const own = answers.some(([says]) => says.startsWith("Not sure"));
  const all = own ? answers : [...answers, /** @type {[string, () => void]} */ (["Not sure", answer(NOT_SURE)])];
  return answerList(all);
}

/** @type {(app: App, asked: {id: string, number: number}) => HTMLElement} */
function questionScreen(app, asked) {
  const question = app.knowledge.symptoms[asked.id]?.ask_first?.[asked.number]?.question ?? "";
  return screen(app, question, [splitAnswers(app, asked, (state) => goOn(app.knowledge, state))]);
}

/** Draw a question that can wait, folded under its own words; null when none is left. @param {App} app */
export function laterQuestion(app) {
  const asked = nextQuestion(app.knowledge, app.state());
  const question = asked && app.knowledge.symptoms[asked.id]?.ask_first?.[asked.number];
  return asked && question
    ? folded(
        "later-question",
        question.question,
        splitAnswers(app, asked, (state) => state),
      )
    : null;
}

/** @param {App} app */
function toolsScreen(app) {
  const take = (/** @type {readonly string[] | null} */ tools) => () =>
    app.act((/** @type {State} */ state) => ({ ...setTools(state, tools && [...tools]), view: "check" }), FOCUS);
  const kits = KITS.map(([words, tools]) => /** @type {[string, () => void]} */ ([words, take(tools)]));
  const more = () => {
    $more.open = true;
    $more.querySelector("input")?.focus();
  };
  const $more = toolsForm(app, "say");
  $more.hidden = true;
  $more.addEventListener("toggle", () => {
    $more.hidden = !$more.open;
  });
  return screen(app, "What can you work with today?", [
    answerList([...kits, ["More than that", more]]),
    $more,
    whenFold(app),
  ]);
}

/**
 * Tell whether the first step is the same with bare hands and with every tool. It is looked at
 * only where a stop line stands: nobody who must stop is asked about tools for nothing.
 * @param {App} app
 */
function toolsMatter(app) {
  if (madeChecks(app.state()).length > 0) return false; // a step was taken: its result comes first
  if (stopLinesOf(app.knowledge, app.state()).length === 0) return true;
  const firstStep = (/** @type {string[] | null} */ tools) =>
    triage(app.knowledge, toCase(app.knowledge, { ...app.state(), tools })).next[0]?.check;
  try {
    return firstStep([...AT_HAND]) !== firstStep(null);
  } catch {
    return false; // What contradicts itself has no first step; the page of the advice says why.
  }
}

/** Draw the question that is next; null when all are answered. @type {(app: App) => HTMLElement | null} */
export function askView(app) {
  const asked = nextQuestion(app.knowledge, app.state(), MOST_FIRST);
  if (asked) return questionScreen(app, asked);
  return app.state().toolsAsked || !toolsMatter(app) ? null : toolsScreen(app);
}
