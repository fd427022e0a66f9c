/** Output room: the first view, "What is the car doing?". @import { App } from "./app.js" */

import { goOn as turnOn } from "../../case/case.js";
import { stopBlock, stopLinesOf } from "../../case/stop-block.js";
import { button, el, folded, formOf } from "../../kit/element.js";
import { chosenList } from "./chosen.js";
import { familyList, searchField, syncTicks, whenFold } from "./picker.js";

/** @typedef {{$view: HTMLElement, update: () => void}} LiveView */

/**
 * Draw the bar that leads on, always in reach of a thumb.
 * @type {(app: App) => {$bar: HTMLElement, update: () => void}}
 */
function goOnBar(app) {
  const $note = el("p.bar__note");
  const goOn = () => {
    app.act((state) => turnOn(app.knowledge, state), { focus: "[data-main-heading]" });
  };
  const $go = button("Go on", goOn, { class: "control", id: "go-on" });
  const update = () => {
    const count = app.state().chosen.length;
    $bar.hidden = count === 0;
    $note.textContent = count === 1 ? "1 thing ticked." : `${count} things ticked.`;
  };
  const $bar = el("div.bar", $note, $go);
  update();
  return { $bar, update };
}

/** Say what the address named and this page does not know, or nothing. @type {(app: App) => HTMLElement | null} */
export function unknownNote(app) {
  if (app.unknown.length === 0) return null;
  const names = app.unknown
    .map(({ name, reason }) => (reason === "" ? `“${name}”` : `“${name}” (no longer used: ${reason})`))
    .join(", ");
  return el(
    "p.caution",
    { id: "unknown" },
    `The address that led here named what this page does not know: ${names}. The rest is noted.`,
  );
}

/** Draw the way to open a link that came in a message. @type {(app: App) => HTMLElement} */
function pasteForm(app) {
  const $text = el("textarea.field", { id: "paste-link", rows: 3, autocomplete: "off", maxlength: 20000 });
  return folded(
    "paste",
    "Someone sent you a case?",
    formOf(
      { novalidate: true, "data-draft": "paste" },
      () => void app.openText($text.value),
      el("label", { for: "paste-link" }, "Paste the link, or the message it came in"),
      $text,
      el("button.control.control--quiet", { type: "submit" }, "Open the case"),
    ),
  );
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
  const $measured = el("div");
  const $view = el(
    "section.say",
    { "aria-labelledby": "say-title" },
    $stop,
    unknownNote(app),
    el("h2", { id: "say-title", tabindex: -1, "data-main-heading": true }, "What is the car doing?"),
    searchField(app, typed),
    $chosen,
    $measured,
    app.state().chosen.length > 0 ? whenFold(app) : null,
    familyList(app),
    el("div.optional", pasteForm(app)),
    $bar,
  );
  const update = () => {
    const block = stopBlock(stopLinesOf(app.knowledge, app.state()));
    $stop.replaceChildren(...(block ? [block] : []));
    const chosen = chosenList(app);
    $chosen.hidden = chosen === null;
    $chosen.replaceChildren(...(chosen ? [chosen] : []));
    const measured = app.more?.measuredPart(app) ?? null;
    $measured.hidden = measured === null;
    $measured.replaceChildren(...(measured ? [measured] : []));
    syncTicks($view, app.state().chosen);
    updateBar();
  };
  update();
  return { $view, update };
}
