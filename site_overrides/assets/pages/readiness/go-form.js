/**
 * Output room: what a place's rule asks about: place, year, fuel, and the facts of a retest.
 *
 * Only what the chosen rule uses is asked. It applies no rule.
 *
 * @import { Inspection } from "../../knowledge/readiness-types.js"
 * @import { Tables } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 */
import { el, folded } from "../../kit/element.js";
import { choiceEntry, codesEntry, entry, numberEntry, tickEntry, YES_NO } from "../../kit/fields.js";
import { settle } from "../../kit/place.js";
import { inside, monitorTitle } from "../../obd/tables.js";
import { codesIn } from "../../obd/told.js";

export const ELSEWHERE = "elsewhere";
const FUELS = /** @type {Array<[string, string]>} */ ([
  ["gasoline", "Gasoline"],
  ["hybrid", "Hybrid with a gasoline engine"],
  ["diesel", "Diesel"],
  ["other", "Another fuel"],
]);

/** Say what is no code among typed words. @type {(typed: string) => string} */
export function strangeWords(typed) {
  const { strange } = codesIn(typed);
  if (strange.length === 0) return "";
  return `Not a code: ${strange.join(", ")}. A code is one letter and four signs, for example P0420.`;
}

/** @type {(tables: Tables, page: Teller) => HTMLElement} */
function placeEntry(tables, page) {
  const chosen = page.told().place ?? "";
  const rules = Object.values(tables.inspections).sort((a, b) => (a.title < b.title ? -1 : 1));
  const countries = [...new Set(rules.map(({ country }) => country))];
  countries.sort((a, b) => Number(b === "United States") - Number(a === "United States") || (a < b ? -1 : 1));
  const line = (/** @type {Inspection} */ { id, title, standing }) =>
    el(
      "option",
      { value: id, selected: id === chosen },
      standing === "no-sourced-rule" ? `${title} (no limit found)` : title,
    );
  const $select = el(
    "select",
    { id: "told-place" },
    el("option", { value: "" }, "Choose"),
    countries.map((country) =>
      el("optgroup", { label: country }, rules.filter((rule) => rule.country === country).map(line)),
    ),
    el("option", { value: ELSEWHERE, selected: chosen === ELSEWHERE }, "Another place"),
  );
  $select.addEventListener("change", () => {
    page.tell("place", $select.value);
    settle($select);
  });
  return entry("told-place", "Where is it inspected?", $select);
}

/**
 * Draw the questions that hang on the rule.
 * @type {(tables: Tables, page: Teller, rule: Inspection | null) => HTMLElement}
 */
export function ruleQuestions(tables, page, rule) {
  const forced = rule?.forced_ready ?? [];
  const byCode = forced.some(({ when }) => when === "code" || when === "lamp-code");
  const repaired = [...new Set(forced.filter(({ when }) => when === "repair").flatMap(({ monitors }) => monitors))];
  return folded(
    "retest",
    "Retest, permanent codes and what else counts",
    byCode ? codesEntry(page, "retest-codes", "It failed before: which codes lit the light?", strangeWords) : null,
    repaired.length > 0
      ? el(
          "ul.ticks",
          repaired.map((id) =>
            tickEntry(page, `repaired-${id}`, `Repaired since: ${inside(monitorTitle(tables, id))}`),
          ),
        )
      : null,
    rule?.scope.takes.some((taken) => taken.most_pounds !== null)
      ? numberEntry(page, "pounds", "Gross weight rating (lb)", {
          range: [500, 100_000],
          hint: "GVWR on the label in the door frame. This rule holds up to a weight.",
        })
      : null,
    numberEntry(page, "permanent", "Permanent codes stored", {
      range: [0, 100],
      hint: "A third list beside stored and pending codes. Zero if the tool says none.",
    }),
    rule?.extension
      ? el(
          "div",
          choiceEntry(page, "all-else", "Does everything but the monitors pass?", YES_NO),
          choiceEntry(page, "expired", "Has the old certificate expired?", YES_NO),
          choiceEntry(page, "extended", "Was an extension given before?", YES_NO),
        )
      : null,
    el(
      "ul.ticks",
      tickEntry(page, "lamp-dark", "The check engine light stays dark even with the key just on"),
      tickEntry(page, "connector-dead", "The diagnostic connector is missing or dead"),
      tickEntry(page, "no-answer", "The computer answers no reader"),
    ),
  );
}

/** Draw place, year and fuel. @type {(tables: Tables, page: Teller) => HTMLElement} */
export function goForm(tables, page) {
  return el(
    "div.ask-rule",
    placeEntry(tables, page),
    numberEntry(page, "year", "Model year", {
      range: [1960, 2100],
      hint: "It is on the label in the door frame, or in the papers.",
    }),
    el("div", { "data-fuel": true }, choiceEntry(page, "fuel-kind", "Fuel", FUELS, "As read above")),
  );
}
