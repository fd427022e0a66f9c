/**
 * Output room: facts about the car and tools at hand, all of them optional. Worth asking are those of
 * which some answer changes the next step, or brings a stop-now line.
 *
 * @import { Advice } from "../../engine/triage.js"
 * @import { Context, Fact, Knowledge, State } from "../../knowledge/types.js"
 * @import { App } from "./app.js"
 */

import { setFact, setTools, settledSymptoms, toCase } from "../../case/case.js";
import { noticedAnswers } from "../../engine/findings.js";
import { triage } from "../../engine/triage.js";
import { button, el, folded, formOf, tickSet } from "../../kit/element.js";
import { contextField, FieldRefused, showRefusal } from "../../kit/fields.js";
import { settleAll } from "../../kit/place.js";
import { say } from "../../kit/sentences.js";

/** Name the step an advice puts first. @param {Advice} advice */
function stepOf({ repair, next }) {
  return repair ? `repair ${repair.cause}` : (next[0]?.check ?? "");
}

/** List answers to try: every choice, or the two ends of what can be. @type {(context: Context) => Fact[]} */
function answersTo({ type, options, unit, plausible }) {
  if (type === "choice") return (options ?? []).map(({ id }) => id);
  return plausible ? [plausible.low, plausible.high].map((value) => ({ value, unit: unit ?? "" })) : [];
}

/**
 * Find out whether an answer to this question would change what comes first in the case.
 * @param {Knowledge} knowledge
 * @param {State} state
 * @param {string} id of the context
 * @returns {boolean} true too where no advice can be given on the case as it stands
 */
function changesTheStep(knowledge, state, id) {
  const context = knowledge.contexts[id];
  const step = (/** @type {Fact | null} */ fact) =>
    stepOf(triage(knowledge, toCase(knowledge, setFact(state, id, fact))));
  try {
    if (!context || Object.hasOwn(noticedAnswers(knowledge, toCase(knowledge, state)), id)) return false;
    if (context.options?.some(({ stop_now: stops = [] }) => stops.length > 0)) return true;
    const now = step(null);
    return answersTo(context).some((fact) => step(fact) !== now);
  } catch {
    return true;
  }
}

/**
 * List the facts worth asking: those that weigh on a cause of what was said come first.
 * @type {(app: App) => string[]}
 */
function factIds(app) {
  const { causes, contexts, symptoms } = app.knowledge;
  const linked = settledSymptoms(app.knowledge, app.state()).flatMap((id) =>
    (symptoms[id]?.causes ?? []).flatMap((link) => causes[link.cause]?.context ?? []),
  );
  const weight = new Map(Object.keys(contexts).map((id) => [id, 0]));
  for (const { when } of linked) weight.set(when, (weight.get(when) ?? 0) + 1);
  return Object.keys(contexts)
    .filter((id) => contexts[id]?.role !== "condition" || id === "battery-type")
    .sort((a, b) => (weight.get(b) ?? 0) - (weight.get(a) ?? 0) || (a < b ? -1 : 1));
}

/**
 * Put in sight the questions that can change the next step, and those answered; fold the others.
 * Each takes some advice to find out, so the page is let go between two of them.
 * @param {App} app
 * @param {{$questions: HTMLElement, fields: Array<{id: string, $field: HTMLElement}>, place: string}} form
 */
async function sortByUse(app, { $questions, fields, place }) {
  const state = app.state();
  /** @type {HTMLElement[]} */
  const useful = [];
  for (const { id, $field } of fields) {
    await new Promise((next) => setTimeout(next));
    if (state.context[id] !== undefined || changesTheStep(app.knowledge, state, id)) useful.push($field);
  }
  const others = fields.map(({ $field }) => $field).filter(($field) => !useful.includes($field));
  const $lead = el("p.small", say("facts-lead", { kind: useful.length > 0 ? "some" : "none" }));
  const $others = folded(`facts-others-${place}`, say("facts-others"), others);
  $questions.replaceChildren($lead, ...useful, ...(others.length > 0 ? [$others] : []));
}

/**
 * Draw the folded form of facts.
 * @param {App} app
 * @param {string} place keeps ids on a page apart
 * @returns {HTMLElement}
 */
export function factsForm(app, place) {
  const given = app.state().context;
  const fields = factIds(app).flatMap((id) => {
    const field = contextField(app.knowledge, id, { place, given: given[id] });
    return field ? [{ id, ...field }] : [];
  });
  const $message = el("p.refused", { id: `${place}-refused`, role: "alert" });
  const save = () => {
    $message.textContent = "";
    try {
      const facts = fields.map(({ id, read }) => /** @type {const} */ ([id, read()]));
      app.act((state) => facts.reduce((now, [id, fact]) => setFact(now, id, fact), state), {
        focus: `[data-keep="facts-${place}"] > summary`,
        say: "The facts about the car are saved.",
      });
    } catch (error) {
      if (!(error instanceof FieldRefused)) throw error;
      showRefusal($message, error);
    }
  };
  // Each fact is kept as soon as its field is left; sending the form draws what they change.
  for (const { id, $field, read } of fields)
    $field.addEventListener("change", () => {
      try {
        const fact = read();
        $message.textContent = "";
        app.note((state) => setFact(state, id, fact));
        settleAll($field);
      } catch (error) {
        if (!(error instanceof FieldRefused)) throw error;
        $message.textContent = error.message;
      }
    });
  // In the form from the start, so that what was half typed finds its field again.
  const $fields = el(
    "div",
    { hidden: true },
    fields.map(({ $field }) => $field),
  );
  const $questions = el("div", el("p.small", { role: "status" }, say("facts-wait")), $fields);
  const count = fields.filter(({ id }) => given[id] !== undefined).length;
  const $form = formOf(
    { class: "facts-form", "data-draft": place, novalidate: true },
    save,
    $questions,
    el("button.control.control--quiet", { type: "submit" }, "Save"),
    $message,
  );
  const noted = count === 0 ? "none given" : `${count} given`;
  const $fold = folded(`facts-${place}`, `Facts about the car (optional, ${noted})`, $form);
  $fold.addEventListener("toggle", () => void sortByUse(app, { $questions, fields, place }), { once: true });
  return $fold;
}

/** Draw the folded list of tools. @type {(app: App, place: string) => HTMLDetailsElement} */
export function toolsForm(app, place) {
  const tools = app.state().tools;
  const all = Object.keys(app.knowledge.tools).sort();
  const boxes = all.map((id) => {
    const name = `${place}-tool-${id}`;
    const $box = el("input", { type: "checkbox", id: name, checked: tools === null || tools.includes(id) });
    const label = el("label", { for: name }, app.knowledge.tools[id]?.title ?? id);
    return { id, $box, $row: el("li.tick", $box, label) };
  });
  const have = (/** @type {State} */ state) => {
    const ticked = boxes.filter(({ $box }) => $box.checked).map(({ id }) => id);
    return setTools(state, ticked.length === all.length ? null : ticked);
  };
  for (const { $box } of boxes) $box.addEventListener("change", () => app.note(have));
  const save = () => {
    const isFirst = app.state().view === "ask"; // then the advice that follows is told, and not the saving
    const told = { focus: `[data-keep="tools-${place}"] > summary`, say: "Your tools are saved." };
    const next = { focus: "[data-main-heading]" };
    app.act((state) => ({ ...have(state), view: /** @type {const} */ ("check") }), isFirst ? next : told);
  };
  const noted = tools === null ? "any" : tools.length === 0 ? "none" : `${tools.length} of ${all.length}`;
  return folded(
    `tools-${place}`,
    `Tools at hand (optional, ${noted})`,
    tickSet(
      "Tick what you have at hand",
      boxes.map(({ $row }) => $row),
    ),
    button("Save the tools", save, { class: "control control--quiet" }),
  );
}
