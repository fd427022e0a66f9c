/**
 * Output room: which column is what, in which unit, recognised first, then confirmed; and how it is drawn.
 *
 * @import { Column } from "../../logs/triplog-columns.js"
 * @import { Quantity } from "./plot.js"
 * @import { TripResult } from "../../logs/trip-work.js"
 */

import { button, el } from "../../kit/element.js";
import { ROLE_WORDS, STRETCH_NAMES, UNIT_WORDS } from "../../logs/trip-words.js";
import { ROLES } from "../../logs/triplog-columns.js";
import { columnName } from "./read-report.js";

/** @type {(role: string, result: TripResult, change: () => void) => HTMLElement} */
function roleField(role, { table, trip }, change) {
  const used = trip.mapping[role];
  const { name, units } = ROLE_WORDS[role] ?? { name: role, units: [] };
  const isAssumed = trip.assumed.includes(role);
  const id = `column-${role}`;
  const $column = el(
    "select",
    { id, "data-role": role },
    el("option", { value: -1, selected: used === undefined }, "Not in this log"),
    table.header.map((header, place) =>
      el("option", { value: place, selected: used?.column === place }, columnName(header, place, 40)),
    ),
  );
  const chosen = units.includes(used?.unit ?? "") ? used?.unit : units[0];
  const $unit = el(
    "select.unit",
    { id: `${id}-unit`, "aria-label": `Unit: ${name}`, disabled: used === undefined },
    units.map((unit) => el("option", { value: unit, selected: unit === chosen }, UNIT_WORDS[unit] ?? unit)),
  );
  for (const $each of [$column, $unit]) $each.addEventListener("change", change);
  return el(
    "div.entry",
    el("label", { for: id }, name),
    el("div.entry__pair", $column, $unit),
    isAssumed && used !== undefined ? el("p.entry__hint", "The log names no unit that fits. Is this one right?") : null,
  );
}

/** Read the choices back. @type {($form: HTMLElement) => Record<string, Column>} */
function chosenIn($form) {
  /** @type {Record<string, Column>} */
  const mapping = {};
  for (const $select of $form.querySelectorAll("select[data-role]")) {
    if (!($select instanceof HTMLSelectElement)) continue;
    const role = $select.dataset.role ?? "";
    const $unit = $form.querySelector(`#column-${role}-unit`);
    const unit = $unit instanceof HTMLSelectElement ? $unit.value : null;
    mapping[role] = { column: Number($select.value), unit };
  }
  return mapping;
}

/**
 * Draw the columns. `take` gets the columns with their units, column -1 for none.
 * @param {TripResult} result
 * @param {(mapping: Record<string, Column>) => void} take
 * @returns {HTMLElement | null} null when the text has no columns
 */
export function columnsForm(result, take) {
  const { table, trip } = result;
  if (table.header.length === 0) return null;
  const found = ROLES.filter((role) => trip.mapping[role]);
  const open = trip.assumed.length > 0 || trip.state !== "ok";
  const $body = el("div.fold__body.columns-grid");
  const change = () => take(chosenIn($body));
  $body.append(
    ...ROLES.map((role) => roleField(role, result, change)),
    ...(trip.assumed.length > 0
      ? [button("These units are right", change, { class: "control control--quiet", "data-confirm": true })]
      : []),
  );
  const names = found.map((role) => (ROLE_WORDS[role]?.name ?? role).toLowerCase()).join(", ");
  const summary =
    trip.assumed.length > 0
      ? `Columns found: ${names}. Some units need your word`
      : `Columns found: ${names === "" ? "none" : names}`;
  return el("details.fold", { "data-keep": "columns", open }, el("summary", summary), $body);
}

const CANONICAL = /** @type {Record<string, string>} */ ({
  speed: "km/h",
  rpm: "rpm",
  coolant: "\u00b0C",
  ambient: "\u00b0C",
  voltage: "V",
  fuel: "%",
  pressure: "kPa",
  "run-time": "s",
});
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
const DENSITY = { idle: 0, cruise: 2, "coast-down": 3, "low-voltage": 4 };

/** Say how a channel is drawn. @type {(role: string) => Quantity} */
export function quantityOf(role) {
  const isVolts = role === "voltage";
  return {
    name: ROLE_WORDS[role]?.name ?? role,
    unit: CANONICAL[role] ?? "",
    decimals: isVolts ? 2 : 0,
    steps: STEPS,
    least: isVolts ? 0.4 : role === "rpm" ? 500 : 10,
    empty: [0, 100],
    names: STRETCH_NAMES,
    density: DENSITY,
  };
}
