/**
 * Output room: what a readout says, monitor by monitor, in plain words; the counted ones as one strip of
 * cells, told apart by hatching.
 *
 * @import { Merged, Readout, UnitReadout } from "../../obd/readout.js"
 * @import { MonitorState, PidValue } from "../../obd/pids.js"
 * @import { TestResult } from "../../obd/readout-more.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 * @import { readoutOf } from "../../obd/told.js"
 * @typedef {ReturnType<typeof readoutOf>} WholeReadout
 * @typedef {(mended: {monitor: string, state: string} | null) => void} Correct null: as understood
 */

import { bullets, button, el, folded, svg } from "../../kit/element.js";
import { numberWords } from "../../kit/figures.js";
import { hatchPath } from "../../kit/hatch.js";
import { inside, monitorList, monitorTitle, upperFirst } from "../../obd/tables.js";
import { codesPart } from "./codes-view.js";

const CELL = 40;
const HEIGHT = 22;
const DENSITY = 3;

/**
 * Draw the strip: complete monitors as solid cells, incomplete ones hatched.
 * @type {(merged: Merged) => SVGSVGElement}
 */
function monitorStrip({ countable, incomplete }) {
  const done = countable.length - incomplete.length;
  const width = countable.length * CELL;
  const cells = countable.flatMap((_, place) => {
    const left = place * CELL + 1;
    const box = { x: left, y: 1, width: CELL - 4, height: HEIGHT - 2 };
    const shape = { left, top: 1, width: CELL - 4, height: HEIGHT - 2 };
    if (place < done) return [svg("rect.strip-cell.strip-cell--done", { ...box })];
    return [svg("path.strip-cell__hatch", { d: hatchPath(shape, DENSITY) }), svg("rect.strip-cell", { ...box })];
  });
  const label = `${done} of ${countable.length} counted monitors complete`;
  return svg("svg.monitor-strip", { viewBox: `0 0 ${width} ${HEIGHT}`, role: "img", "aria-label": label }, cells);
}

const UNITS = /** @type {Record<string, string>} */ ({
  percent: "%",
  count: "",
  degC: "\u00b0C",
  degree: "\u00b0",
  word: "",
});
const TOLD_STATES = /** @type {Record<string, string>} */ ({
  complete: "complete",
  incomplete: "incomplete",
  none: "not on this car",
});
const ORDER = ["incomplete", "complete", "none"];

/** @param {MonitorState} monitor */
function stateOf({ supported, complete }) {
  return !supported ? "none" : complete ? "complete" : "incomplete";
}

/** @type {(tables: Tables, monitor: MonitorState) => HTMLElement} */
function monitorRow(tables, monitor) {
  const about = tables.monitors[monitor.id];
  const trip = monitor.this_trip === null ? "" : (tables.words.this_trip[monitor.this_trip] ?? "");
  const notes = [
    monitor.continuous ? "Always running, and not counted." : "",
    monitor.apart ? "Shown, and not counted." : "",
    trip === "" ? "" : `This trip: it ${trip}.`,
  ].filter((words) => words !== "");
  return el(
    "li.monitor",
    { "data-state": stateOf(monitor), "data-monitor": monitor.id },
    el(
      "div.monitor__line",
      el("a", { href: `../monitors/${monitor.id}/` }, about?.title ?? monitor.id),
      el("span.monitor__state", stateOf(monitor)),
    ),
    notes.length > 0 ? el("p.monitor__about", notes.join(" ")) : null,
  );
}

/** @type {(tables: Tables, monitors: MonitorState[]) => HTMLElement[]} */
function monitorParts(tables, monitors) {
  const has = monitors.filter(({ supported }) => supported);
  const place = (/** @type {MonitorState} */ one) => ORDER.indexOf(stateOf(one)) + (one.continuous ? 3 : 0);
  const rows = (/** @type {boolean} */ isOpen) =>
    has
      .filter((one) => (stateOf(one) === "incomplete") === isOpen)
      .sort((a, b) => place(a) - place(b))
      .map((one) => monitorRow(tables, one));
  const lacks = monitors.filter(({ supported }) => !supported).map(({ id }) => id);
  const [open, done] = [rows(true), rows(false)];
  const $lacks = lacks.length > 0 ? el("p.small", `This car has not got: ${monitorList(tables, lacks)}.`) : null;
  return [
    ...(open.length > 0 ? [el("ul.monitors", open)] : []),
    folded("monitors-done", `Complete (${done.length})`, el("ul.monitors", done), $lacks),
  ];
}

/** Say in one sentence how many are complete. @type {(tables: Tables, readout: Readout) => string} */
export function countSentence(tables, readout) {
  const { merged, state } = readout;
  if (state !== "usable" || merged === null) return tables.words.states[state] ?? "";
  const { countable, incomplete } = merged;
  if (incomplete.length === 0) return `All ${countable.length} counted monitors are complete.`;
  const done = countable.length - incomplete.length;
  if (done === 0) return `None of the ${countable.length} counted monitors is complete.`;
  const verb = incomplete.length === 1 ? "is" : "are";
  return `${done} of ${countable.length} counted monitors ${done === 1 ? "is" : "are"} complete. ${upperFirst(monitorList(tables, incomplete))} ${verb} not.`;
}

/** @type {(readout: Readout) => HTMLElement | null} */
function lampLine({ merged }) {
  if (merged === null) return null;
  const codes = merged.count === 0 ? "No code is counted." : `Codes counted: ${merged.count}.`;
  if (!merged.mil) return el("p", `The computer says the check engine light is off. ${codes}`);
  return el(
    "p",
    `The computer says the check engine light is on. ${codes} If it flashes while you drive, `,
    el("a", { href: "../symptoms/flashing-engine-lamp/" }, "ease off and stop soon"),
    ".",
  );
}

/** @type {(tables: Tables, values: PidValue[]) => HTMLElement} */
function valueList(tables, values) {
  const rows = values.flatMap(({ name, value, unit, text, at_limit: atLimit }) => {
    const read = value === null ? (text ?? "") : `${numberWords(value, 1)} ${UNITS[unit] ?? unit}`.trim();
    const words = value !== null && unit === "degC" ? `${numberWords(value * 1.8 + 32, 0)} \u00b0F (${read})` : read;
    return [
      el("dt", tables.words.values[name] ?? upperFirst(name.replaceAll("-", " "))),
      el("dd", words, atLimit ? " or more: the counter stops here" : ""),
    ];
  });
  return el("dl.facts", rows);
}

/**
 * Draw what came beside the monitors: values, freeze frames, test results, counts of past runs.
 * @type {(tables: Tables, readout: WholeReadout) => HTMLElement[]}
 */
function morePart(tables, { values, freeze, tests, ratios }) {
  const told = values.filter(({ ecu }) => ecu !== "told");
  const frames = freeze.map(({ code, values: frozen, raw }) =>
    el(
      "div",
      { "data-freeze": code ?? "none" },
      el("p", code === null ? "It names no code." : `At the moment ${code} was set:`),
      valueList(tables, frozen),
      raw.length > 0 ? el("p.small", `Raw, we know no scale for it: ${raw.join("; ")}.`) : null,
    ),
  );
  const counts = ratios.map(({ monitor, part, runs, trips }) =>
    el(
      "li",
      { "data-ratio-of": monitor },
      `${monitorTitle(tables, monitor)}${part === "" ? "" : ` (${part})`}: finished ${runs} times, on ${trips} drives that counted.`,
    ),
  );
  return [
    ...(told.length > 0 ? [folded("values", "Values that came with it", valueList(tables, told))] : []),
    ...(frames.length > 0 ? [folded("freeze", "Freeze frame: how it was driven when a code was set", ...frames)] : []),
    ...(tests.length > 0 ? [folded("tests", `Test results (${tests.length})`, el("ul", tests.map(testRow)))] : []),
    ...(counts.length > 0 ? [folded("ratios", "How often each test has finished", el("ul", counts))] : []),
  ];
}

/** @type {(test: TestResult) => HTMLElement} */
function testRow({ about, test, unit, value, least, most, passed }) {
  const number = (/** @type {number | null} */ one) => (one === null ? "\u2013" : numberWords(one, 3));
  const words = passed === null ? "not run since codes were cleared" : passed ? "inside" : "outside its limits";
  return el(
    "li",
    { "data-test": test, "data-passed": passed === null ? "unknown" : String(passed) },
    `${about}, test ${test}: ${number(value)} ${unit ?? "(raw)"}, limits ${number(least)} to ${number(most)}: ${words}.`,
  );
}

/** @type {(tables: Tables, units: UnitReadout[]) => HTMLElement | null} */
function unitsPart(tables, units) {
  if (units.length < 2) return null;
  const rows = units.map(({ ecu, bytes, monitors }) => {
    const open = monitors.filter(({ complete, apart }) => complete === false && !apart).map(({ id }) => id);
    const has = monitors.some(({ supported }) => supported);
    const words = !has
      ? "reports no monitors"
      : open.length === 0
        ? "all complete"
        : `incomplete: ${monitorList(tables, open)}`;
    return el("li", `${ecu} (${bytes ?? "ticked"}): ${words}.`);
  });
  return folded("units", `${units.length} control units answered`, el("ul", rows));
}

/** Say what a readout leaves open. @returns {HTMLElement} */
function limitsPart() {
  return folded(
    "readout-limits",
    "What it does not tell",
    el("p", "Incomplete means not yet run. It does not mean that the part is bad."),
    el("p", "Complete means that the test has run. It does not mean that nothing is wrong."),
    el("p", "The meaning of the bits is from memory of the open standard, and was compared with a public library."),
  );
}

/**
 * Show line by line what words were taken for, with the way to correct it.
 * @type {(tables: Tables, readout: Readout, correct: Correct) => HTMLElement | null}
 */
function understoodPart(tables, { origin, understood }, correct) {
  if (origin !== "words" || understood.length === 0) return null;
  const rows = understood.map(({ line, monitor, state }) =>
    el(
      "li",
      { "data-understood": monitor, "data-state": state ?? "unclear" },
      `Line ${line}: ${inside(monitorTitle(tables, monitor))}, `,
      el("b", state === null ? "unclear" : TOLD_STATES[state]),
      el(
        "span.control-row",
        Object.entries(TOLD_STATES)
          .filter(([other]) => other !== state)
          .map(([other, words]) =>
            button(upperFirst(words), () => correct({ monitor, state: other }), {
              class: "control control--quiet",
              "aria-label": `${monitorTitle(tables, monitor)}: ${words}`,
            }),
          ),
      ),
    ),
  );
  const $part = folded(
    "understood",
    `What was understood: ${understood.length} lines`,
    el("ul", rows),
    button("Correct it by ticking", () => correct(null), { class: "control control--quiet", "data-correct": true }),
  );
  $part.open = understood.some(({ state }) => state === null);
  return $part;
}

/**
 * Draw a readout.
 * @type {(data: {knowledge: Known, tables: Tables}, readout: WholeReadout, former: string[] | null, correct: Correct) =>
 *   HTMLElement}
 * @param former what was incomplete before
 * @param correct goes to the boxes, with what was understood in them
 */
export function readoutView({ knowledge, tables }, readout, former, correct) {
  const { merged, warnings, units, state } = readout;
  const isUsable = state === "usable" && merged !== null;
  const now = merged?.incomplete ?? [];
  const since = isUsable && former !== null ? former.filter((id) => !now.includes(id)) : [];
  return el(
    "section.found",
    { "aria-labelledby": "found-title", "data-state": state },
    el("h3.verdict", { id: "found-title", tabindex: -1 }, countSentence(tables, readout)),
    understoodPart(tables, readout, correct),
    isUsable ? monitorStrip(merged) : null,
    since.length > 0 ? el("p", `Complete since the last readout: ${monitorList(tables, since)}.`) : null,
    lampLine(readout),
    merged !== null && isUsable ? monitorParts(tables, merged.monitors) : null,
    warnings.length > 0
      ? bullets(
          warnings.map(({ id, ecu }) => [
            tables.words.warnings[id] ?? id,
            ecu && units.length > 1 ? ` (${ecu})` : "",
            id === "monitor-not-of-this-engine" && ecu ? ` (${inside(monitorTitle(tables, ecu))})` : "",
          ]),
          { class: "noticed" },
        )
      : null,
    codesPart(knowledge, tables, readout),
    morePart(tables, readout),
    unitsPart(tables, units),
    limitsPart(),
  );
}
