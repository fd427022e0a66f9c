/**
 * Output room: what bears on monitors besides the readout: counters, tank, weather, volts, codes.
 *
 * @import { Readout } from "../../obd/readout.js"
 * @import { Known } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 */
import { el, folded } from "../../kit/element.js";
import { choiceEntry, codesEntry, DEGREES, numberEntry, tickEntry, YES_NO } from "../../kit/fields.js";
import { valueGiven } from "../../obd/readout.js";
import { strangeWords } from "./go-form.js";

/**
 * Take a choice from the checker's own questions, in its own words.
 * @type {(knowledge: Known, page: Teller, id: string) => HTMLElement | null}
 */
function contextChoice(knowledge, page, id) {
  const context = knowledge.contexts[id];
  if (!context?.options) return null;
  return choiceEntry(
    page,
    id,
    context.question,
    context.options.map((one) => [one.id, one.label]),
  );
}

/** @type {(page: Teller, readout: Readout) => HTMLElement[]} */
function counterFields(page, readout) {
  const fields = [];
  if (valueGiven(readout, "warm-ups-since-clear") === null) {
    fields.push(
      numberEntry(page, "warm-ups", "Warm-ups since codes were cleared", {
        range: [0, 255],
        hint: "PID 30 in the live data.",
      }),
    );
  }
  if (valueGiven(readout, "distance-since-clear") === null) {
    fields.push(
      numberEntry(page, "distance", "Distance since codes were cleared", {
        range: [0, 70_000],
        units: [
          ["mi", "miles"],
          ["km", "km"],
        ],
        hint: "PID 31.",
      }),
    );
  }
  if (valueGiven(readout, "fuel-level") === null) {
    fields.push(numberEntry(page, "fuel", "Fuel in the tank on most drives", { range: [0, 100], unit: "%" }));
  }
  return fields;
}

/** @type {(page: Teller, readout: Readout) => HTMLElement} */
function codeFields(page, readout) {
  const rows = /** @type {Array<[string, string]>} */ ([
    ["pending", "Pending codes"],
    ["confirmed", "Stored codes"],
  ]);
  const open = rows.filter(
    ([kind]) =>
      !readout.code_services.includes(kind) ||
      readout.codes.some((one) => one.ecu === "told" && one.kind === kind) ||
      page.told()[`codes-${kind}-none`] === "yes",
  );
  return el(
    "div",
    open.map(([kind, label]) =>
      el(
        "div",
        codesEntry(page, `codes-${kind}`, label, strangeWords),
        el(
          "ul.ticks.ticks--after",
          tickEntry(page, `codes-${kind}-none`, `Asked, and there are no ${label.toLowerCase()}`),
        ),
      ),
    ),
  );
}

/**
 * Draw the questions; what the readout already holds is not asked again.
 * @type {(knowledge: Known, page: Teller, readout: Readout) => HTMLElement}
 */
export function whyForm(knowledge, page, readout) {
  return folded(
    "why-facts",
    "What else you know (optional)",
    contextChoice(knowledge, page, "power-lost-lately"),
    counterFields(page, readout),
    choiceEntry(page, "fell", "Did the warm-ups or the distance start over, though nobody cleared anything?", YES_NO),
    choiceEntry(page, "soaked", "Does it usually stand overnight before a drive of 20 minutes or more?", YES_NO),
    contextChoice(knowledge, page, "trip-length"),
    numberEntry(page, "ambient", "Air temperature on the drives", { range: [-60, 140], units: DEGREES }),
    numberEntry(page, "coolant", "Coolant after 15 minutes of driving", {
      range: [-60, 300],
      units: DEGREES,
      hint: "PID 05. Let a passenger read it, or let the reader record.",
    }),
    numberEntry(page, "volts", "Lowest module voltage with the engine running", {
      range: [4, 18],
      unit: "V",
      hint: "PID 42. Leave out the start itself.",
    }),
    choiceEntry(page, "voltage-log", "A log of a drive says about low voltage", [
      ["low-seen", "Below 11 V was seen"],
      ["none-seen", "None was seen"],
    ]),
    codeFields(page, readout),
  );
}
