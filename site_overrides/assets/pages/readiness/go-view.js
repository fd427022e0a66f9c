/**
 * Output room: the verdict of a place's rule, with the rule it applied and what would change it.
 *
 * @import { Reason, Verdict } from "../../obd/inspection.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Inspection, Said } from "../../knowledge/readiness-types.js"
 * @import { Tables } from "../../obd/tables.js"
 */
import { bullets, el, folded } from "../../kit/element.js";
import { numberOf } from "../../kit/numbers.js";
import { bandOf, decide, factsFrom, vehicleFrom } from "../../obd/inspection.js";
import { monitorList, reasonSentence, yearsWords } from "../../obd/tables.js";
import { truthOf, wordsIn } from "../../obd/told.js";
import { ELSEWHERE } from "./go-form.js";

/** The fuel a readout tells by itself; a hybrid has to be told. */
const FUEL_OF = /** @type {Record<string, string>} */ ({ spark: "gasoline", compression: "diesel" });
/** With these results nothing is judged yet, so nothing is sure or unsure. */
const OPEN = ["indeterminate", "no-rule", "no-band"];
/** What the standing of such a rule has said already. */
const OWN_WORDS = "own";

/** @type {(tables: Tables, mark: string | null) => HTMLElement | null} */
function seenWords(tables, mark) {
  const words = tables.words.marks[mark ?? ""];
  return words ? el("span.small", ` (${words})`) : null;
}

/** @type {(tables: Tables, said: Said) => HTMLElement} */
function saidLine(tables, { says, mark }) {
  return el("p", says, seenWords(tables, mark));
}

/**
 * Add the fuel that the readout tells, where none was chosen: it is asked once.
 * @type {(told: Record<string, string>, readout: Readout) => Record<string, string>}
 */
function withFuel(told, { merged }) {
  const fuel = told["fuel-kind"] || FUEL_OF[merged?.ignition ?? ""];
  return fuel ? { ...told, "fuel-kind": fuel } : told;
}

/**
 * Apply a place's rule to the readout and the typed facts.
 * @type {(tables: Tables, rule: Inspection, readout: Readout, told: Record<string, string>) => Verdict}
 */
function verdictOf(tables, rule, readout, told) {
  const vehicle = vehicleFrom({
    year: numberOf(told.year),
    fuel: told["fuel-kind"],
    pounds: numberOf(told.pounds),
    now: new Date().getFullYear(),
  });
  const repaired = Object.keys(tables.monitors).filter((id) => told[`repaired-${id}`] === "yes");
  const facts = factsFrom({
    no_answer: told["no-answer"] === "yes",
    connector_dead: told["connector-dead"] === "yes",
    lamp_dark: told["lamp-dark"] === "yes",
    retest_codes: wordsIn(told["retest-codes"]),
    repaired,
    permanent_codes: numberOf(told.permanent),
    all_else_passes: truthOf(told["all-else"]),
    certificate_expired: truthOf(told.expired),
    extension_used: truthOf(told.extended),
  });
  return decide(rule, vehicle, readout, facts, tables.monitors);
}

/** @type {(tables: Tables, rule: Inspection, told: Record<string, string>) => HTMLElement} */
function rulePart(tables, rule, told) {
  const band = bandOf(rule, numberOf(told.year), told["fuel-kind"] ?? null);
  const isTold = numberOf(told.year) !== null && (told["fuel-kind"] ?? "") !== "";
  const words =
    band === null
      ? isTold
        ? "We found no limit for this model year and fuel."
        : "Say the model year and the fuel, and its limit stands here."
      : `${yearsWords(band.from_year, band.to_year)}, ${band.fuels.join(" and ")}: ${band.allowed === 0 ? "no monitor" : band.allowed} may be incomplete${band.allowed_only === null ? "" : `, and only ${monitorList(tables, band.allowed_only, "or")}`}.`;
  const { transition, not_ready: outcome, extension } = rule;
  const only = rule.bands.length > 0;
  return el(
    "div.answer-part",
    transition ? el("p", `Since ${transition.since}: ${transition.says}`, seenWords(tables, transition.mark)) : null,
    only
      ? el(
          "p",
          transition ? "Older working limit. " : "",
          words.charAt(0).toUpperCase() + words.slice(1),
          seenWords(tables, band?.mark ?? null),
        )
      : null,
    band?.note ? saidLine(tables, band.note) : null,
    rule.not_tested ? saidLine(tables, rule.not_tested) : null,
    outcome ? saidLine(tables, outcome) : null,
    extension ? saidLine(tables, extension) : null,
    el(
      "dl.facts",
      el("dt", "For"),
      el("dd", rule.scope.says, seenWords(tables, rule.scope.mark)),
      el("dt", "Text of"),
      el("dd", rule.text_date ?? "not dated"),
      el("dt", "Copy seen"),
      el("dd", rule.seen),
    ),
  );
}

/** @type {(tables: Tables, rule: Inspection, title: string, reasons: Reason[]) => HTMLElement | null} */
function reasonsPart(tables, rule, title, reasons) {
  const rows = reasons.map((reason) =>
    el(
      "li",
      reason.id === "readout-empty"
        ? "Nothing is read yet. Read the monitors above first."
        : reasonSentence(tables, rule, reason),
      seenWords(tables, reason.mark),
      reason.id === "drive-plan" ? el("span", " ", el("a", { href: "#plan" }, "Go to the plan")) : null,
    ),
  );
  return rows.length === 0 ? null : el("div.answer-part", el("h4", title), el("ul", rows));
}

/**
 * Say what not ready costs in a place, how to get ready there and what else to ask for.
 * @type {(tables: Tables, rule: Inspection) => HTMLElement}
 */
function placePart(tables, rule) {
  const { words } = tables;
  const parts = /** @type {const} */ (["costs", "get_ready", "ways_out"]);
  const $parts = parts.map((name) => [
    el("h4", words.place_parts[name] ?? ""),
    rule[name].length > 0 ? rule[name].map((one) => saidLine(tables, one)) : el("p", words.gaps[name] ?? ""),
  ]);
  return el("div.answer-part", ...$parts.flat(2));
}

/** @type {(authority: string, questions: readonly string[]) => HTMLElement} */
function askPart(authority, questions) {
  return el("div.answer-part", el("h4", "What to ask"), el("p", `Ask: ${authority}.`), bullets(questions));
}

/** Say what a place without a rule of ours leaves to do. @type {(tables: Tables) => HTMLElement} */
function elsewhereView(tables) {
  return el(
    "section.found",
    { "aria-labelledby": "go-title", "data-result": "no-rule" },
    el("h3.verdict", { id: "go-title" }, "We have no sourced rule for this place. Ask the authority."),
    el(
      "p",
      "Limits quoted without a place and a model year are worth nothing. Get it from the office that runs the test.",
    ),
    askPart("the office that runs the inspection", tables.words.ask_anywhere),
  );
}

/**
 * Draw the verdict, or what is needed first.
 * @type {(tables: Tables, readout: Readout, given: Record<string, string>) => HTMLElement}
 * @param given what was typed
 */
export function goView(tables, readout, given) {
  const told = withFuel(given, readout);
  if (told.place === ELSEWHERE) return elsewhereView(tables);
  const rule = tables.inspections[told.place ?? ""];
  if (!rule) return el("p", "Choose the place. Then we apply the rule we know for it.");
  const found = verdictOf(tables, rule, readout, told);
  const { words } = tables;
  // What the standing of the rule says is not said again.
  const flags = found.flags.filter((flag) => flag !== rule.standing).map((flag) => words.flags[flag] ?? flag);
  const unsure =
    found.result === "no-rule" || (found.result === "indeterminate" && rule.standing === "no-sourced-rule");
  return el(
    "section.found",
    { "aria-labelledby": "go-title", "data-result": found.result },
    el("h3.verdict", { id: "go-title" }, `${rule.title}: ${words.results[found.result] ?? ""}`),
    el(
      "p",
      found.result === "no-rule" ? "" : (words.standings[rule.standing] ?? ""),
      OPEN.includes(found.result) || found.confidence === OWN_WORDS
        ? ""
        : ` Where it comes from: ${words.marks[found.confidence] ?? found.confidence}.`,
    ),
    reasonsPart(tables, rule, "Why", found.why),
    reasonsPart(
      tables,
      rule,
      found.result === "pass" ? "What would undo it" : "What would change it",
      found.would_change,
    ),
    el(
      "p",
      el("b", "Check the live text before you go. "),
      el("a", { href: `../inspections/${rule.id}/` }, "All that was seen of this rule"),
    ),
    flags.length > 0 ? bullets(flags, { class: "noticed" }) : null,
    folded("go-place", "If it is not ready: cost, getting ready, ways out", placePart(tables, rule)),
    folded("go-rule", "The rule, its scope, status and date", rulePart(tables, rule, told)),
    unsure
      ? askPart(rule.authority, [...new Set([...rule.ask, ...words.ask_anywhere])])
      : folded("go-ask", "What to ask the authority", askPart(rule.authority, rule.ask)),
  );
}
