/**
 * Output room: what was read of a log: columns, rows used, rows that cannot be used and why.
 *
 * @import { Child } from "../../kit/element.js"
 * @import { LogResult } from "../../logs/log-work.js"
 */
import { bullets, el, folded, titled } from "../../kit/element.js";
import { entry } from "../../kit/fields.js";

/**
 * Shorten a column's name; it is the file's own text and may be anything.
 * @type {(name: string, place: number, longest: number) => string}
 */
export function columnName(name, place, longest) {
  const short = name.length > longest ? `${name.slice(0, longest)}\u2026` : name;
  return short.trim() === "" ? `column ${place + 1}` : short;
}

/**
 * Say why a log cannot be read.
 * @type {(id: string, words: Child | Child[], $more?: Child) => HTMLElement}
 * @param id of the heading
 */
export function refusedLog(id, words, $more) {
  const $title = el("h2", { id, tabindex: -1 }, "This log cannot be read yet");
  return titled("section.log-refused", $title, el("p", { role: "alert" }, words), $more);
}

/**
 * Draw the choice of one column.
 * @type {(which: "time" | "volts", label: string, result: LogResult, change: () => void) => HTMLElement}
 */
function columnField(which, label, { document, chosen }, change) {
  const id = `log-column-${which}`;
  const now = chosen?.[which] ?? -1;
  const $select = el(
    "select",
    { id, onchange: () => change() },
    now < 0 ? el("option", { value: "", selected: true }, "Choose") : null,
    document.header.map((name, place) =>
      el("option", { value: place + 1, selected: place === now }, columnName(name, place, 60)),
    ),
  );
  return entry(id, label, $select);
}

/**
 * Draw both choices; `change` gets the columns, counted from 1.
 * @param {LogResult} result
 * @param {(columns: {time: string | null, volts: string | null}) => void} change
 * @returns {HTMLElement | null} null when no columns were found
 */
export function columnChoice(result, change) {
  if (result.document.header.length === 0) return null;
  const changed = () => {
    const value = (/** @type {string} */ which) => {
      const $select = document.getElementById(`log-column-${which}`);
      return $select instanceof HTMLSelectElement && $select.value !== "" ? $select.value : null;
    };
    change({ time: value("time"), volts: value("volts") });
  };
  return el(
    "div.columns",
    columnField("time", "Column with the time", result, changed),
    columnField("volts", "Column with the volts", result, changed),
  );
}

/**
 * List the rows that cannot be used: how many for each reason, and where the first ones stand.
 * @type {(result: LogResult) => HTMLElement | null}
 */
export function badRows({ document: { rows } }) {
  if (rows.bad === 0) return null;
  const title = rows.bad === 1 ? "1 row cannot be used" : `${rows.bad} rows cannot be used`;
  const places = rows.first_bad.map(({ line, row, why }) =>
    el("li", `${line === undefined ? `Row ${row} of the table` : `Line ${line}`}: ${why}.`),
  );
  const more = rows.bad - places.length;
  const $fold = folded(
    "bad-rows",
    title,
    bullets(rows.reasons.map(({ why, count }) => `${count} with ${why}.`)),
    el("h3", "The first of them"),
    el("ul.plain-lines", places),
    more > 0 ? el("p", `And ${more} more.`) : null,
  );
  $fold.classList.add("bad-rows");
  return $fold;
}
