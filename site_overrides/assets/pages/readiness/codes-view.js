/**
 * Output room: the codes of a readout: family, plain meaning, monitors held, checks behind it.
 * Codes about the supply lead back to the supply checks.
 *
 * @import { CodeAbout } from "../../obd/code-about.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 */
import { el } from "../../kit/element.js";
import { listed, lowerFirst } from "../../kit/figures.js";
import { codeAbout } from "../../obd/code-about.js";
import { monitorList } from "../../obd/tables.js";

const KINDS = /** @type {Record<string, string>} */ ({
  confirmed: "stored",
  pending: "pending",
  permanent: "permanent",
});
/** The first check of each aspect of the supply. */
const FIRST_CHECK = /** @type {Record<string, [string, string]>} */ ({
  battery: ["measure-resting-voltage", "Measure the battery at rest"],
  charging: ["measure-charging-voltage", "Measure the charging voltage"],
  connection: ["twist-battery-clamps", "Try the battery clamps"],
});
const TOO_HIGH = ["P0563", "P2504"];

/** Name the symptom that a supply code opens the checker with. @type {(code: string) => string} */
function symptomOf(code) {
  if (code.startsWith("U0")) return "several-modules-lost-communication";
  if (TOO_HIGH.includes(code)) return "charging-voltage-too-high";
  return code === "P0603" ? "clock-or-radio-resets" : "engine-lamp-steady";
}

/** @type {(knowledge: Known, tables: Tables, about: CodeAbout, kinds: string[]) => HTMLElement} */
function codeRow(knowledge, tables, about, kinds) {
  const { code, title, relation, leads_to: leads, aspect, note, family, means, monitors, checks } = about;
  const { words } = tables;
  const check = FIRST_CHECK[aspect ?? ""];
  const says = means.map((one) => one.says);
  if (means.length === 0 || relation !== "not-listed") says.push(words.relations[relation] ?? "");
  if (note) says.push(note);
  const links = checks.map((id) => [
    el("a", { href: `../checks/${id}/` }, lowerFirst(knowledge.checks[id]?.title ?? id)),
    " ",
  ]);
  return el(
    "li.code",
    { "data-code": code },
    el(
      "p.code__line",
      el("b", code),
      ` (${listed(kinds)})`,
      title ? `: ${lowerFirst(title)}. ` : ". ",
      `Family: ${words.families[family ?? ""] ?? "unknown"}.`,
    ),
    el("p.monitor__about", says.join(" ")),
    monitors.length > 0
      ? el(
          "p.monitor__about",
          `It belongs to: ${monitorList(tables, monitors)}.`,
          kinds.includes("permanent") ? ` ${words.reasons["permanent-code-gone"] ?? ""}` : "",
        )
      : null,
    leads
      ? el(
          "p.code__ways",
          el("a", { href: `../checker/#s=${symptomOf(code)}` }, "Check the supply on my car"),
          check ? el("a", { href: `../checks/${check[0]}/` }, check[1]) : null,
        )
      : null,
    links.length > 0 ? el("p.code__ways", "Tells apart what is behind it: ", ...links.flat()) : null,
  );
}

/**
 * Draw the codes, or nothing if none was asked for.
 * @type {(knowledge: Known, tables: Tables, readout: Readout) => HTMLElement | null}
 */
export function codesPart(knowledge, tables, { codes, code_services: services }) {
  if (services.length === 0) return null;
  /** @type {Map<string, string[]>} */
  const kindsOf = new Map();
  for (const { code, kind } of codes) {
    const kinds = kindsOf.get(code) ?? [];
    const words = KINDS[kind] ?? kind;
    kindsOf.set(code, kinds.includes(words) ? kinds : [...kinds, words]);
  }
  const empty = services.filter((kind) => codes.every((one) => one.kind !== kind));
  const rows = [...kindsOf].map(([code, kinds]) =>
    codeRow(knowledge, tables, codeAbout(knowledge, tables, code), kinds),
  );
  return el(
    "div.codes",
    el("h3", "Codes"),
    rows.length > 0 ? el("ul.monitors", rows) : null,
    empty.length > 0 ? el("p", `None ${empty.map((kind) => KINDS[kind] ?? kind).join(", none ")}.`) : null,
    rows.length > 0
      ? el("p.small", "Write codes down before anything is cleared. Code numbers are from memory.")
      : null,
  );
}
