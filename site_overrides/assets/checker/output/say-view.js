/**
 * Output room: the first view, "What is the car doing?".
 *
 * @import { App } from "./app.js"
 */
import { chosenList } from "./chosen.js";
import { button, el } from "./element.js";
import { factsForm, toolsForm } from "./facts-form.js";
import { circumstanceToggles, familyList, searchField, syncTicks } from "./picker.js";
import { stopBlock, stopLinesOf } from "./stop-block.js";

/** @typedef {{$view: HTMLElement, update: () => void}} LiveView */

/**
 * Draw the bar that leads on, always in reach of a thumb.
 * @param {App} app
 * @returns {{$bar: HTMLElement, update: () => void}}
 */
function goOnBar(app) {
  const $note = el("p", { class: "bar__note" });
  const goOn = () => {
    if (app.state().chosen.length === 0) {
      $note.textContent = "Tick at least one thing first.";
      document.getElementById("said")?.focus();
      return;
    }
    app.act((state) => ({ ...state, view: "check" }), { focus: "[data-main-heading]" });
  };
  const $go = button("Show the next check", goOn, { class: "control", id: "go-on" });
  const update = () => {
    const count = app.state().chosen.length;
    const things = count === 1 ? "1 thing ticked." : `${count} things ticked.`;
    $note.textContent = count === 0 ? "Nothing ticked yet." : things;
  };
  update();
  return { $bar: el("div", { class: "bar" }, $note, $go), update };
}

/**
 * Draw the view; `update` makes it agree with the case without losing the reader's place.
 * @param {App} app
 * @param {string} typed text to begin the search with
 * @returns {LiveView}
 */
export function sayView(app, typed) {
  const { $bar, update: updateBar } = goOnBar(app);
  const $stop = el("div", { role: "alert" });
  const $chosen = el("div");
  const $view = el(
    "section",
    { class: "say", "aria-labelledby": "say-title" },
    $stop,
    el("h2", { id: "say-title", tabindex: -1, "data-main-heading": true }, "What is the car doing?"),
    searchField(app, typed),
    $chosen,
    circumstanceToggles(app),
    familyList(app),
    el("div", { class: "optional" }, factsForm(app, "say"), toolsForm(app, "say")),
    $bar,
  );
  const update = () => {
    const block = stopBlock(stopLinesOf(app.knowledge, app.state()));
    $stop.replaceChildren(...(block ? [block] : []));
    $chosen.replaceChildren(chosenList(app));
    syncTicks($view, app.state().chosen);
    updateBar();
  };
  update();
  return { $view, update };
}
