/**
 * Output room: the drive plan: cautions first, one trip in steps, days to tick off.
 *
 * @import { DrivePlan, PlanPart } from "../../logs/driveplan.js"
 * @import { Segment } from "../../knowledge/readiness-types.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 */

import { caution } from "../../kit/cautions.js";
import { button, el } from "../../kit/element.js";
import { minutesWords } from "../../kit/figures.js";
import { inside, monitorList, monitorTitle } from "../../obd/tables.js";

const MARKS = /** @type {Record<string, string>} */ ({
  "common-practice": "common practice, no source",
  "from-memory": "from memory",
  "our-estimate": "our estimate",
});
const STOP = [
  "Stop the plan when enough monitors are complete for your place.",
  "Stop driving when the engine lamp flashes, the red charging lamp comes on, or the engine runs hot.",
  "Stop and look for a reason when a code comes up, or when nothing has changed after the last day.",
];
const WATCH = [
  "Coolant should reach its usual warmth within a quarter of an hour.",
  "Module voltage should stay steady once the engine runs. Note the lowest value.",
  "Fuel should stay between a quarter and three quarters. Do not refuel on the way.",
];

/**
 * @typedef {object} Progress
 * @property {string[]} done
 * @property {(key: string, isDone: boolean) => void} tick
 */

/**
 * @param {Tables} tables
 * @param {string} id
 * @returns {Segment | undefined}
 */
function segmentOf(tables, id) {
  return tables.segments.find((segment) => segment.id === id);
}

/**
 * @param {Tables} tables
 * @param {PlanPart} part
 * @returns {HTMLElement}
 */
function partStep(tables, part) {
  const segment = segmentOf(tables, part.segment);
  const { cautions } = tables.words;
  const minutes = part.minutes === null ? "" : ` About ${minutesWords(part.minutes)}.`;
  const mark =
    part.minutes === null
      ? null
      : el("a", { class: "mark", href: "../guide/our-numbers/" }, MARKS[part.source] ?? part.source);
  const loads =
    part.loads === "off"
      ? " Leave lamps, heater fan, rear heater and air conditioning off."
      : part.loads === null
        ? ""
        : " Loads as the handbook says.";
  return el(
    "li",
    { class: "marked", "data-part": part.segment },
    part.cautions.map((id) => el("div", { class: "caution" }, el("p", {}, cautions[id] ?? ""))),
    el(
      "p",
      { class: "step" },
      el("b", {}, `${segment?.title ?? part.segment}. `),
      segment?.do ?? "",
      loads,
      minutes,
      " ",
      mark,
    ),
    el(
      "p",
      { class: "monitor__about" },
      segment?.why ?? "",
      part.serves.length > 0 ? ` Serves: ${monitorList(tables, part.serves)}.` : "",
    ),
  );
}

/**
 * Draw the days side by side, one box for each part of each day.
 * @param {Tables} tables
 * @param {DrivePlan["days"]} days
 * @param {Progress} progress
 * @returns {HTMLElement | null}
 */
function dayGrid(tables, days, progress) {
  const [first] = days;
  if (!first) return null;
  const lines = [
    ...first.parts.map(({ segment }) => ({ id: segment, words: segmentOf(tables, segment)?.title ?? segment })),
    { id: "read", words: "Read the monitors again" },
  ];
  const cell = (/** @type {number} */ day, /** @type {{id: string, words: string}} */ { id, words }) => {
    const key = `${day}:${id}`;
    const name = `done-${day}-${id}`;
    const $box = el("input", {
      type: "checkbox",
      id: name,
      checked: progress.done.includes(key),
      "aria-label": `Day ${day}: ${words}`,
    });
    $box.addEventListener("change", () => progress.tick(key, $box.checked));
    return el("td", {}, el("label", { class: "box", for: name }, $box));
  };
  const head = ["Part", ...days.map(({ day }) => `Day ${day}`)].map((name) => el("th", { scope: "col" }, name));
  const late = days.find((day) => day.late.length > 0);
  return el(
    "div",
    { class: "days" },
    el(
      "table",
      { class: "tick-grid" },
      el("thead", {}, el("tr", {}, head)),
      el(
        "tbody",
        {},
        lines.map((line) =>
          el(
            "tr",
            {},
            el("th", { scope: "row" }, line.words),
            days.map(({ day }) => cell(day, line)),
          ),
        ),
      ),
    ),
    late ? el("p", { class: "small" }, `From day ${late.day} on may finish: ${monitorList(tables, late.late)}.`) : null,
  );
}

/**
 * @param {string} title
 * @param {string[]} lines
 * @returns {Array<HTMLElement>}
 */
function list(title, lines) {
  return lines.length === 0
    ? []
    : [
        el("h4", {}, title),
        el(
          "ul",
          {},
          lines.map((line) => el("li", {}, line)),
        ),
      ];
}

/**
 * Draw the plan.
 * @param {Known} knowledge
 * @param {Tables} tables
 * @param {{plan: DrivePlan, incomplete: string[], progress: Progress}} given
 * @returns {HTMLElement}
 */
export function planView(knowledge, tables, { plan, incomplete, progress }) {
  const { words } = tables;
  const told = (/** @type {string[]} */ ids) => ids.map((id) => words.plan_notes[id] ?? id);
  if (plan.state === "nothing-to-do")
    return el("p", {}, "No counted monitor is incomplete, so there is nothing to drive for.");
  if (plan.state === "hold") {
    return el(
      "section",
      { class: "found", "aria-labelledby": "plan-title", "data-plan": "hold" },
      el("h3", { id: "plan-title", class: "verdict" }, "No drive yet."),
      el("p", {}, told(plan.first).join(" ")),
      el("p", {}, el("a", { class: "control", href: "../checker/" }, "Open the checker")),
    );
  }
  const [first] = plan.days;
  const unserved = plan.unserved.map((id) => inside(monitorTitle(tables, id))).join(", ");
  return el(
    "section",
    { class: "found plan", "aria-labelledby": "plan-title", "data-plan": plan.state },
    el(
      "h3",
      { id: "plan-title", class: "verdict" },
      first ? `One trip, driven on ${plan.days.length} days` : "No drive is known for these",
    ),
    el("p", {}, `For: ${monitorList(tables, incomplete)}.`),
    el("ul", { class: "cautions", "aria-label": "Before you drive" }, [
      el("li", {}, caution(knowledge, "road-drive")),
      ...plan.cautions.map((id) => el("li", { class: "caution" }, el("p", {}, words.cautions[id] ?? ""))),
    ]),
    list("Settle first", told(plan.first)),
    first ? el("h4", {}, "The trip") : null,
    first
      ? el(
          "ol",
          { class: "steps" },
          first.parts.map((part) => partStep(tables, part)),
        )
      : null,
    unserved !== "" ? el("p", {}, `${words.plan_notes["no-part-known"] ?? ""} (${unserved})`) : null,
    list("What to watch", WATCH),
    list("When to stop", STOP),
    list("Good to know", told(plan.notes.filter((id) => id !== "no-part-known"))),
    first ? el("h4", {}, "Tick off as you go") : null,
    dayGrid(tables, plan.days, progress),
    el("p", { class: "small", "data-progress": true, role: "status" }, progressWords(plan, progress.done)),
    el(
      "div",
      { class: "control-row" },
      button("Print the plan", () => print(), { class: "control control--quiet" }),
      el("a", { class: "control control--quiet", href: "#readout" }, "Read again and plan anew"),
    ),
  );
}

/**
 * Say how far the plan is.
 * @param {DrivePlan} plan
 * @param {string[]} done
 * @returns {string}
 */
export function progressWords(plan, done) {
  const all = plan.days.reduce((sum, { parts }) => sum + parts.length + 1, 0);
  return `${done.length} of ${all} lines ticked. Kept on this device only.`;
}
