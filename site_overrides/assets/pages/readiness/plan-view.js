/**
 * Output room: the drive plan: cautions first, one trip in steps, days to tick off.
 *
 * @import { DrivePlan, PlanPart } from "../../logs/driveplan.js"
 * @import { Segment } from "../../knowledge/readiness-types.js"
 * @import { Step } from "../../obd/why-not-run.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 */

import { caution } from "../../kit/cautions.js";
import { bullets, button, el, folded, tableOf } from "../../kit/element.js";
import { minutesWords } from "../../kit/figures.js";
import { fill } from "../../kit/sentences.js";
import { inside, monitorList, monitorTitle } from "../../obd/tables.js";

/** @typedef {{done: string[], tick: (key: string, isDone: boolean) => void}} Progress */

/** @type {(tables: Tables, id: string) => Segment | undefined} */
function segmentOf(tables, id) {
  return tables.segments.find((segment) => segment.id === id);
}

/**
 * Draw one part; a caution that a part before it carried is not said again.
 * @type {(tables: Tables, parts: PlanPart[], place: number) => HTMLElement}
 */
function partStep(tables, parts, place) {
  const part = parts[place];
  if (!part) return el("li");
  const segment = segmentOf(tables, part.segment);
  const { cautions } = tables.words;
  const said = parts.slice(0, place).flatMap((one) => one.cautions);
  const minutes = part.minutes === null ? "" : ` About ${minutesWords(part.minutes)}.`;
  const loads = part.loads === null ? "" : ` ${tables.words.plan_loads[part.loads] ?? ""}`;
  return el(
    "li.marked",
    { "data-part": part.segment },
    part.cautions.filter((id) => !said.includes(id)).map((id) => el("div.caution", el("p", cautions[id] ?? ""))),
    el("p.step", el("b", `${segment?.title ?? part.segment}. `), segment?.do ?? "", loads, minutes),
  );
}

/** Say what each part is for. @type {(tables: Tables, parts: PlanPart[]) => HTMLElement} */
function reasonsPart(tables, parts) {
  const rows = parts.map(({ segment: id, serves }) => {
    const segment = segmentOf(tables, id);
    return el(
      "li",
      el("b", `${segment?.title ?? id}. `),
      segment?.why ?? "",
      serves.length > 0 ? ` For: ${monitorList(tables, serves)}.` : "",
    );
  });
  return el("ul", rows);
}

/**
 * Draw the days side by side, one box for each part of each day.
 * @type {(tables: Tables, plan: DrivePlan, progress: Progress) => HTMLElement | null}
 */
function dayGrid(tables, { days, own }, progress) {
  const [first] = days;
  if (!first) return null;
  const lines = [
    ...first.parts.map(({ segment }) => ({ id: segment, words: segmentOf(tables, segment)?.title ?? segment })),
    ...own.map((words, place) => ({ id: `own-${place + 1}`, words })),
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
    return el("td", el("label.box", { for: name }, $box));
  };
  const names = ["Part", ...days.map(({ day }) => `Day ${day}`)];
  const late = days.find((day) => day.late.length > 0);
  return el(
    "div.days",
    tableOf(
      names,
      lines.map((line) =>
        el(
          "tr",
          el("th", { scope: "row" }, line.words),
          days.map(({ day }) => cell(day, line)),
        ),
      ),
      { class: "tick-grid" },
    ),
    late ? el("p.small", `From day ${late.day} on may finish: ${monitorList(tables, late.late)}.`) : null,
  );
}

/** @type {(title: string, lines: string[]) => Array<HTMLElement>} */
function list(title, lines) {
  return lines.length === 0 ? [] : [...(title === "" ? [] : [el("h4", title)]), bullets(lines)];
}

/** Ask for the handbook's own drive, a step a line. @type {(teller: Teller) => HTMLElement} */
function ownForm(teller) {
  const $text = el("textarea", { id: "plan-own", rows: 4, maxlength: 2000, "aria-describedby": "plan-own-hint" });
  $text.value = teller.told()["plan-own"] ?? "";
  return folded(
    "plan-own",
    "My owner\u2019s manual gives its own drive",
    el("label", { for: "plan-own" }, "Its steps and its conditions, one a line"),
    $text,
    el("p.entry__hint", { id: "plan-own-hint" }, "They take the place of the plan. Empty it to have ours back."),
    button("Use these", () => teller.tell("plan-own", $text.value.trim()), { class: "control control--quiet" }),
  );
}

/**
 * Say why there is no plan now, and what comes first.
 * @type {(tables: Tables, words: string[], step: Step | null) => HTMLElement}
 */
function holdView(tables, words, step) {
  return el(
    "section.found",
    { "aria-labelledby": "plan-title", "data-plan": "hold" },
    el("h3.verdict", { id: "plan-title" }, tables.words.plan_states.hold ?? ""),
    el("p", words.join(" ")),
    step && step.kind !== "plan" ? el("p", tables.words.steps[step.kind] ?? "") : null,
    el("p", el("a.control", { href: "#why" }, "See what comes first")),
  );
}

/**
 * Draw the plan; folded where something comes before any drive.
 * @type {(knowledge: Known, tables: Tables, given: {plan: DrivePlan, incomplete: string[], step: Step | null,
 *   teller: Teller, progress: Progress}) => HTMLElement}
 */
export function planView(knowledge, tables, { plan, incomplete, step, teller, progress }) {
  const { words } = tables;
  const told = (/** @type {string[]} */ ids) => ids.map((id) => words.plan_notes[id] ?? id);
  if (plan.state === "nothing-to-do") return el("p", words.plan_states[plan.state] ?? "");
  if (plan.state === "hold") return holdView(tables, told(plan.first), step);
  const isFirst = step === null || ["plan", "check", "none"].includes(step.kind);
  const body = planBody(knowledge, tables, { plan, incomplete, teller, progress });
  if (isFirst) return body;
  return el(
    "div",
    el("p", "Something comes before the drives: ", el("a", { href: "#why" }, "see above"), "."),
    folded("plan-anyway", "Show the drives for later", body),
  );
}

/**
 * @type {(knowledge: Known, tables: Tables, given: {plan: DrivePlan, incomplete: string[], teller: Teller,
 *   progress: Progress}) => HTMLElement}
 */
function planBody(knowledge, tables, { plan, incomplete, teller, progress }) {
  const { words } = tables;
  const told = (/** @type {string[]} */ ids) => ids.map((id) => words.plan_notes[id] ?? id);
  const [first] = plan.days;
  const unserved = plan.unserved.map((id) => inside(monitorTitle(tables, id))).join(", ");
  const steps = first
    ? [
        ...first.parts.map((_, place) => partStep(tables, first.parts, place)),
        ...plan.own.map((step) => el("li", step)),
      ]
    : [];
  return el(
    "section.found.plan",
    { "aria-labelledby": "plan-title", "data-plan": plan.state },
    el(
      "h3.verdict",
      { id: "plan-title" },
      fill(words.plan_states[first ? "trip" : "no-drive"] ?? "", { days: plan.days.length }),
    ),
    el(
      "p",
      `For: ${monitorList(tables, incomplete)}. Parts and minutes: `,
      el("a.mark", { href: "../guide/our-numbers/" }, "common practice, no source"),
    ),
    el("ul.cautions", { "aria-label": "Before you drive" }, [
      el("li", caution(knowledge, "road-drive")),
      ...plan.cautions.map((id) => el("li.caution", el("p", words.cautions[id] ?? ""))),
    ]),
    list("Do this first", told(plan.first)),
    steps.length > 0 ? el("ol.steps", steps) : null,
    unserved !== "" ? el("p", `${words.plan_notes["no-part-known"] ?? ""} (${unserved})`) : null,
    list(
      "When to stop",
      plan.stops.map((id) => words.plan_stops[id] ?? id),
    ),
    folded(
      "plan-notes",
      "Good to know, and why these parts",
      list("", told(plan.notes.filter((id) => id !== "no-part-known"))),
      first ? reasonsPart(tables, first.parts) : null,
    ),
    ownForm(teller),
    folded("plan-days", "Tick off as you go", dayGrid(tables, plan, progress)),
    el("p.small", { "data-progress": true, role: "status" }, progressWords(plan, progress.done)),
    el(
      "div.control-row",
      button("Print the plan", () => print(), { class: "control control--quiet" }),
      el("a.control.control--quiet", { href: "#readout" }, "Read again and plan again"),
    ),
  );
}

/** Say how far the plan is. @type {(plan: DrivePlan, done: string[]) => string} */
export function progressWords(plan, done) {
  const all = plan.days.reduce((sum, { parts }) => sum + parts.length + plan.own.length + 1, 0);
  return `${done.length} of ${all} lines ticked. Kept on this device only.`;
}
