/**
 * Output room: the next step, and what may hold the incomplete monitors, likeliest first, with the usual
 * needs that the drives do not meet.
 *
 * @import { Bounds } from "../../logs/triplog-timeline.js"
 * @import { ConditionResult } from "../../logs/triplog.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 * @import { BlockedMonitor, BlockerChance, WhyNotRun } from "../../obd/why-not-run.js"
 * @import { Car } from "./car.js"
 * @import { WholeReadout } from "../../obd/evidence.js"
 */

import { handOverCase } from "../../case/kept-case.js";
import { supplyName, supplyWords } from "../../engine/words.js";
import { bar } from "../../kit/bar.js";
import { button, el, folded } from "../../kit/element.js";
import { fractionWords, lowerFirst } from "../../kit/figures.js";
import { chanceOf } from "../../logs/triplog.js";
import { ratioLevel } from "../../obd/evidence.js";
import { valueGiven } from "../../obd/readout.js";
import { inside, monitorTitle } from "../../obd/tables.js";
import { celsiusOf, truthOf } from "../../obd/told.js";
import { quickCheck } from "../../obd/why-not-run.js";
import { effortWords, spokenBy, stepTitle } from "../../obd/why-told.js";

/**
 * Say which usual needs of a monitor are not met, by what the reader told of the drives.
 * @type {(tables: Tables, id: string, readout: Readout, told: Record<string, string>) => ConditionResult[]}
 */
function unmetNeeds(tables, id, readout, told) {
  const exactly = (/** @type {number | null} */ value) => ({ low: value, high: value });
  /** @type {Record<string, Bounds>} */
  const metrics = {
    "ambient-low": exactly(celsiusOf(told, "ambient")),
    "ambient-high": exactly(celsiusOf(told, "ambient")),
    "fuel-level": exactly(valueGiven(readout, "fuel-level")),
    "peak-coolant": exactly(celsiusOf(told, "coolant")),
  };
  const monitor = tables.monitors[id];
  if (!monitor) return [];
  return chanceOf(monitor, metrics).missing.filter(({ verdict }) => verdict === "not-met");
}

/**
 * Tell whether a monitor waits for a cold start that the car has not had.
 * @type {(tables: Tables, id: string, told: Record<string, string>) => boolean}
 */
function lacksSoak(tables, id, told) {
  return truthOf(told.soaked) === false && (tables.monitors[id]?.segments.includes("soak") ?? false);
}

const SHOWN = 3;
const WORTH_SHOWING = 0.02;
/** Steps whose title says all. */
const IN_THE_NAME = ["check", "repair"];
/** @type {Record<string, string>} */
const STEP_PLACE = { cause: "causes", check: "checks" };

/** Name the cheapest check that confirms a cause. @type {(knowledge: Known, cause: string) => HTMLElement | null} */
function cheapCheck(knowledge, cause) {
  const id = quickCheck(knowledge, cause);
  if (id === null) return null;
  return el(
    "span.bars__why",
    el("b", "To find out: "),
    el("a", { href: `../checks/${id}/` }, lowerFirst(knowledge.checks[id]?.title ?? id)),
    `${effortWords(knowledge, id)}. `,
  );
}

/** @type {(knowledge: Known, one: BlockerChance, levels: Record<string, string>) => HTMLElement} */
function blockerRow(knowledge, one, levels) {
  const cause = knowledge.causes[one.cause];
  const because = (/** @type {string} */ name, /** @type {string[]} */ ids) =>
    ids.length === 0 ? null : el("span.bars__why", el("b", `${name}: `), spokenBy(knowledge, levels, ids), ".");
  return el(
    "li",
    { "data-cause": one.cause },
    el(
      "div.bars__line",
      el("a", { href: `../causes/${one.cause}/` }, cause?.title ?? one.cause),
      el("span.bars__odds", fractionWords(one.probability)),
    ),
    bar(one.probability),
    el("span.bars__why", one.why),
    because("More likely because of", one.raised_by),
    because("Less likely because of", one.lowered_by),
    cheapCheck(knowledge, one.cause),
  );
}

/**
 * Draw one monitor with its likeliest blockers.
 * @type {(knowledge: Known, tables: Tables, monitor: BlockedMonitor, given: {readout: WholeReadout,
 *   told: Record<string, string>, levels: Record<string, string>}) => HTMLElement}
 */
function monitorPart(knowledge, tables, { id, blockers }, { readout, told, levels }) {
  const unmet = unmetNeeds(tables, id, readout, told).map(({ metric }) =>
    lowerFirst(tables.metrics[metric]?.title ?? metric),
  );
  if (lacksSoak(tables, id, told)) unmet.unshift("a cold start after standing overnight");
  const shown = blockers.filter(({ probability }, place) => place < SHOWN || probability >= 0.2);
  const rest = blockers.filter((one) => !shown.includes(one) && one.probability >= WORTH_SHOWING);
  return el(
    "div.held-monitor",
    { "data-monitor": id },
    unmet.length > 0 ? el("p", el("b", "Not met, by what you told us: "), `${[...new Set(unmet)].join("; ")}.`) : null,
    el(
      "ol.bars",
      shown.map((one) => blockerRow(knowledge, one, levels)),
    ),
    rest.length > 0
      ? el(
          "p.small",
          `Less likely: ${rest.map(({ cause }) => lowerFirst(knowledge.causes[cause]?.title ?? cause)).join(", ")}.`,
        )
      : null,
    el("p", el("a", { href: `../monitors/${id}/` }, `What the ${inside(monitorTitle(tables, id))} monitor needs`)),
  );
}

/**
 * Draw the next step, with the likeliest reason beside it.
 * @type {(knowledge: Known, tables: Tables, answer: WhyNotRun) => HTMLElement}
 */
function stepPart(knowledge, tables, { step, advice, hint }) {
  const { kind = "none", id = null } = step ?? {};
  const title = stepTitle(knowledge, id);
  const place = id !== null && knowledge.causes[id] ? STEP_PLACE.cause : STEP_PLACE.check;
  const isPage = id !== null && (knowledge.causes[id] || knowledge.checks[id]);
  const [top] = advice?.causes ?? [];
  return el(
    "div",
    { "data-step": kind, "data-step-id": id },
    el(
      "p",
      el("b", kind === "plan" ? "Next: drive the plan below. " : `Next: ${title === "" ? "" : `${title}. `}`),
      IN_THE_NAME.includes(kind) ? "" : (tables.words.steps[kind] ?? ""),
      kind === "plan" ? null : effortWords(knowledge, id ?? ""),
      " ",
      kind === "plan"
        ? el("a", { href: "#plan" }, "Go to the plan")
        : isPage
          ? el("a", { href: `../${place}/${id}/` }, "How to")
          : null,
    ),
    top
      ? el(
          "p",
          { "data-first": top.id },
          "Most likely reason: ",
          el("a", { href: `../causes/${top.id}/` }, lowerFirst(top.title)),
          `, ${fractionWords(top.probability)}.`,
        )
      : null,
    hint === null ? null : el("p", tables.words.hints[hint] ?? ""),
  );
}

/** Say what the case on this device says of the supply. @type {(answer: WhyNotRun, car: Car) => HTMLElement} */
function supplyPart({ advice }, { isEmpty }) {
  const supply = advice?.supply ?? { state: /** @type {const} */ ("unproven"), proven: {} };
  return el(
    "p.small",
    { "data-supply": supply.state },
    el("b", `Battery and charging: ${supplyName(supply)}. `),
    isEmpty ? "No case is kept on this device. " : "The case kept on this device counts here too. ",
    advice && supply.state !== "unproven" ? supplyWords(supply.state) : "",
    " That a weak battery holds monitors back is our reasoning and common practice. The official texts we have seen name only lost power.",
  );
}

/** @type {(knowledge: Known, answer: WhyNotRun) => HTMLElement | null} */
function goOnPart(knowledge, { asked }) {
  if (asked === null) return null;
  const $note = el("p.small", { role: "status" });
  const goOn = () => {
    if (handOverCase(knowledge, asked)) location.assign("../checker/");
    else $note.textContent = "This browser keeps nothing on the device. Open the checker and enter it there.";
  };
  return el("div", button("Go on in the checker with this", goOn, { class: "control", "data-go-on": true }), $note);
}

/**
 * Draw the answer.
 * @type {(knowledge: Known, tables: Tables, given: {answer: WhyNotRun, car: Car, readout: WholeReadout,
 *   told: Record<string, string>}) => HTMLElement}
 */
export function whyView(knowledge, tables, { answer, car, readout, told }) {
  const { words } = tables;
  if (answer.state !== "ok") return el("p", words.run_states[answer.state] ?? "");
  if (answer.monitors.length === 0) return el("p", words.run_states["nothing-open"] ?? "");
  const given = { readout, told, levels: answer.evidence ?? {} };
  const ratio = ratioLevel(readout);
  const [first, ...others] = answer.monitors;
  const part = (/** @type {BlockedMonitor} */ one) =>
    folded(
      `why-${one.id}`,
      `${monitorTitle(tables, one.id)}: likely reasons`,
      monitorPart(knowledge, tables, one, given),
    );
  return el(
    "section.found",
    { "aria-labelledby": "why-title", "data-hint": answer.hint ?? "" },
    el("h3.verdict", { id: "why-title" }, words.run_states.ok ?? ""),
    stepPart(knowledge, tables, answer),
    ratio === null ? null : el("p", { "data-ratio": ratio }, words.ratios[ratio] ?? ""),
    first ? part(first) : null,
    others.map(part),
    supplyPart(answer, car),
    el("p.small", "Chances, minutes and prices are our estimates. Two reasons can be there at once."),
    goOnPart(knowledge, answer),
  );
}
