/**
 * Output room: what a case link brought, before anything on this device changes.
 *
 * @import { App } from "./app.js"
 * @import { Arrived } from "./arrived.js"
 */
import { isBlank, toCase } from "../../case/case.js";
import { caseDifferences } from "../../case/case-diff.js";
import { changeWords } from "../../case/diff-words.js";
import { bullets, button, el } from "../../kit/element.js";
import { caseSummary, summaryStop } from "./case-summary.js";
import { differenceList } from "./difference-list.js";
import { passOnPanel } from "./share-panel.js";

/**
 * Say how the case differs from the one kept here, when both are about the same trouble.
 * @type {(app: App, car: import("../../knowledge/types.js").Case) => HTMLElement | null}
 */
function againstMine(app, car) {
  if (isBlank(app.state())) return null;
  const mine = toCase(app.knowledge, app.state());
  if (!mine.symptoms.some((id) => car.symptoms.includes(id))) return null;
  const differences = caseDifferences(mine, car);
  return el(
    "section.summary-part",
    { id: "against-mine" },
    el("h3", "What differs from the case on this device"),
    differences.length > 0 ? differenceList(app, differences) : el("p", "Nothing: it is the same case."),
  );
}

/**
 * Say what a link from another edition of the knowledge changed, or nothing.
 * @type {(app: App, arrived: Arrived) => HTMLElement | null}
 */
function olderNote(app, { changes, isSame }) {
  if (changes.length > 0) {
    return el(
      "section.summary-part",
      { id: "link-changes" },
      el("h3", "What changed since the link was made"),
      bullets(changes.map((change) => changeWords(app.knowledge, change))),
    );
  }
  if (isSame) return null;
  return el("p.small", "The link was made with another edition of our figures. Everything in it still fits.");
}

/**
 * Draw the ways on: use it, answer it, leave it; ask before another case is replaced.
 * @type {(app: App, arrived: Arrived) => HTMLElement}
 */
function waysOn(app, { car }) {
  const $ways = el("div.ways");
  const state = app.state();
  const differs = !isBlank(state) && caseDifferences(toCase(app.knowledge, state), car).length > 0;
  const take = (/** @type {boolean} */ isAnswer) => {
    if (app.takeUp(car, { isAnswer })) return;
    const $ask = el(
      "div.summary-part",
      { role: "group", "aria-labelledby": "replace-title" },
      el("h3", { id: "replace-title", tabindex: -1 }, "This browser has no room for another case"),
      el("p", "This one would take the place of yours. “Undo the last change” brings yours back."),
      el(
        "p.ways",
        button("Replace it", () => app.takeUp(car, { isAnswer, isForced: true }), { class: "control" }),
        button("Keep mine", () => app.leaveLink(), { class: "control control--quiet" }),
      ),
    );
    $ways.replaceChildren($ask);
    $ask.querySelector("h3")?.focus();
  };
  const quiet = { class: "control control--quiet" };
  $ways.append(
    el(
      "p.small",
      differs
        ? "“Use it here” opens it in the checker. Your own case stays in your list of cases. “Answer with changes” also notes what you change, to be sent back."
        : "“Use it here” opens it in the checker. “Answer with changes” also notes what you change, to be sent back.",
    ),
    button("Use it here", () => take(false), { class: "control" }),
    button("Answer with changes", () => take(true), quiet),
    button(isBlank(state) ? "Leave it" : "Go to my own case", () => app.leaveLink(), quiet),
  );
  return $ways;
}

/**
 * Draw the view of a link: the case to be read, or why it cannot be opened.
 * @type {(app: App, arrived: Arrived) => HTMLElement}
 */
export function linkView(app, arrived) {
  const { car, advice, refused, stuck } = arrived;
  const title = refused === null ? "Someone sent you this case" : "This link cannot be opened";
  const $title = el("h2", { tabindex: -1, "data-main-heading": true, id: "link-title" }, title);
  if (refused !== null) {
    return el(
      "section.card",
      { "aria-labelledby": "link-title" },
      $title,
      el("p", { role: "alert" }, refused),
      el("p.small", "Nothing on this device was changed."),
      button("Go on without it", () => app.leaveLink(), { class: "control" }),
    );
  }
  return el(
    "div.link-view",
    summaryStop(advice),
    el(
      "section.card",
      { "aria-labelledby": "link-title" },
      $title,
      el("p.small", "Nothing on this device has changed, and nothing was sent."),
      againstMine(app, car),
      olderNote(app, arrived),
      stuck === "" ? null : el("p", stuck),
      caseSummary(app.knowledge, car, advice, waysOn(app, arrived)),
      passOnPanel(app, car, arrived.about),
    ),
  );
}
