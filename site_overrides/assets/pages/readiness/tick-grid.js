/**
 * Output room: boxes to tick, for readers whose tool prints names instead of bytes.
 *
 * Each monitor has two boxes, complete and incomplete; ticking one clears the other, and both
 * empty means that the car has not got it.
 *
 * @import { Ticks } from "../../obd/kept-readiness.js"
 * @import { Teller } from "../../kit/fields.js"
 * @import { Tables } from "../../obd/tables.js"
 */
import { button, el, tableOf, tickSet } from "../../kit/element.js";
import { FieldRefused, numberBox, showRefusal, tick } from "../../kit/fields.js";
import { COMPRESSION, CONTINUOUS, SPARK } from "../../obd/pids.js";
import { monitorTitle } from "../../obd/tables.js";

/** Fuels a screen of names says nothing of; the others follow from the engine's kind. */
const OWN_FUELS = ["hybrid", "other"];
const ENGINES = /** @type {const} */ ([
  ["engine-spark", "spark", "", "Gasoline"],
  ["engine-hybrid", "spark", "hybrid", "Hybrid with a gasoline engine"],
  ["engine-compression", "compression", "", "Diesel"],
  ["engine-other", "spark", "other", "Another fuel"],
]);
const STATES = /** @type {const} */ (["complete", "incomplete"]);

/**
 * List the monitors an engine can have, the continuous ones last.
 * @type {(ignition: "spark" | "compression") => string[]}
 */
function monitorsOfEngine(ignition) {
  const others = (ignition === "compression" ? COMPRESSION : SPARK).filter((id) => id !== null);
  return [...others, ...CONTINUOUS];
}

/**
 * Draw the row of one monitor.
 * @type {(tables: Tables, id: string, ticks: Ticks) => HTMLElement}
 * @param ticks changed in place
 */
function monitorRow(tables, id, ticks) {
  const title = monitorTitle(tables, id);
  const boxes = STATES.map((state) => {
    const $box = el("input", {
      type: "checkbox",
      id: `tick-${id}-${state}`,
      checked: ticks.monitors[id] === state,
      "aria-label": `${title}: ${state}`,
    });
    return { state, $box };
  });
  for (const { state, $box } of boxes) {
    $box.addEventListener("change", () => {
      delete ticks.monitors[id];
      if ($box.checked) {
        ticks.monitors[id] = state;
        for (const other of boxes) if (other.state !== state) other.$box.checked = false;
      }
    });
  }
  const cells = boxes.map(({ state, $box }) =>
    el("td", el("label.box", { for: `tick-${id}-${state}` }, $box, el("span.visually-hidden", state))),
  );
  return el("tr", el("th", { scope: "row" }, title), cells);
}

/** @type {(tables: Tables, ticks: Ticks) => HTMLElement} */
function grid(tables, ticks) {
  const rows = monitorsOfEngine(ticks.ignition).map((id) => monitorRow(tables, id, ticks));
  const $caption = el("caption", "Leave both boxes empty where the tool says not available.");
  return tableOf(["Monitor", "Complete", "Incomplete"], rows, { class: "tick-grid" }, $caption);
}

/**
 * Tell which fuel beside the engine's kind was told; "" where the kind says it.
 * @type {(ticks: Ticks, told: Record<string, string>) => string}
 */
export function fuelBeside({ ignition }, told) {
  const fuel = told["fuel-kind"] ?? "";
  return ignition === "spark" && OWN_FUELS.includes(fuel) ? fuel : "";
}

/**
 * Draw the engine's kind, which tells the fuel too, the lamp and the monitors.
 * @type {(tables: Tables, ticks: Ticks, page: Teller, read: () => void) => HTMLElement}
 * @param ticks changed in place as boxes are ticked
 */
export function tickForm(tables, ticks, page, read) {
  const $grid = el("div", grid(tables, ticks));
  const beside = fuelBeside(ticks, page.told());
  const engines = ENGINES.map(([id, kind, fuel, words]) => {
    const onchange = () => {
      if (ticks.ignition !== kind) ticks.monitors = {};
      ticks.ignition = kind;
      $grid.replaceChildren(grid(tables, ticks));
      page.tell("fuel-kind", fuel);
    };
    const checked = ticks.ignition === kind && beside === fuel;
    return tick(id, words, { type: "radio", name: "ignition", checked, onchange });
  });
  const onLamp = (/** @type {Event} */ { target }) => {
    ticks.mil = /** @type {HTMLInputElement} */ (target).checked;
  };
  const $lamp = tick("lamp-on", "The tool says the check engine light is on", { checked: ticks.mil, onchange: onLamp });
  const $count = numberBox("code-count", { inputmode: "numeric", maxlength: 4, value: ticks.count });
  $count.addEventListener("input", () => {
    ticks.count = $count.value;
  });
  const $refused = el("p.refused", { id: "ticks-refused", role: "alert" });
  const readTicked = () => {
    const isNothing = Object.keys(ticks.monitors).length === 0 && !ticks.mil && ticks.count.trim() === "";
    $refused.textContent = "";
    const $first = $grid.querySelector("input");
    if (isNothing && $first)
      showRefusal($refused, new FieldRefused($first, "Tick what your tool says of one monitor or more."));
    else read();
  };
  return el(
    "div",
    tickSet("What kind of engine is it?", engines, { list: "ticks ticks--row" }),
    $grid,
    el("ul.ticks", $lamp),
    el(
      "div.entry.entry--after",
      el("label", { for: "code-count" }, "How many codes does it count? (optional)"),
      $count,
    ),
    $refused,
    button("Read these", readTicked, { class: "control", "data-read": "ticks" }),
  );
}
