/**
 * Output room: the codes of a readout. Codes about the supply lead back to the supply checks;
 * about any other code nothing is guessed.
 *
 * @import { CodeClass } from "../../obd/codes.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Tables } from "../../obd/tables.js"
 */
import { el } from "../../kit/element.js";
import { classifyCode } from "../../obd/codes.js";

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

/**
 * Name the symptom that a supply code opens the checker with.
 * @param {string} code
 * @returns {string}
 */
export function symptomOf(code) {
  if (code.startsWith("U0")) return "several-modules-lost-communication";
  if (TOO_HIGH.includes(code)) return "charging-voltage-too-high";
  return code === "P0603" ? "clock-or-radio-resets" : "engine-lamp-steady";
}

/**
 * @param {CodeClass} about
 * @returns {string}
 */
function relationWords({ relation }) {
  if (relation === "supply") return "It points back to the supply. Prove the supply before you believe any part.";
  if (relation === "sometimes") return "A weak supply can set it, and so can other things. Prove the supply first.";
  if (relation === "not-supply") return "It does not point to the supply.";
  return "It is not in our short list, so nothing is guessed about it.";
}

/**
 * @param {CodeClass} about
 * @param {string[]} kinds
 * @returns {HTMLElement}
 */
function codeRow(about, kinds) {
  const { code, title, leads_to: leads, aspect, note } = about;
  const check = FIRST_CHECK[aspect ?? ""];
  return el(
    "li",
    { class: "code", "data-code": code },
    el("p", { class: "code__line" }, el("b", {}, code), ` (${kinds.join(", ")})`, title ? `: ${title}.` : "."),
    el("p", { class: "monitor__about" }, relationWords(about), note ? ` ${note}` : ""),
    leads
      ? el(
          "p",
          { class: "code__ways" },
          el("a", { href: `../checker/#s=${symptomOf(code)}` }, "Check the supply on my car"),
          check ? el("a", { href: `../checks/${check[0]}/` }, check[1]) : null,
        )
      : null,
  );
}

/**
 * Draw the codes, or nothing if none was asked for.
 * @param {Tables} tables
 * @param {Readout} readout
 * @returns {HTMLElement | null}
 */
export function codesPart(tables, { codes, code_services: services }) {
  if (services.length === 0) return null;
  /** @type {Map<string, string[]>} */
  const kindsOf = new Map();
  for (const { code, kind } of codes) {
    const kinds = kindsOf.get(code) ?? [];
    const words = KINDS[kind] ?? kind;
    kindsOf.set(code, kinds.includes(words) ? kinds : [...kinds, words]);
  }
  const empty = services.filter((kind) => codes.every((one) => one.kind !== kind));
  const rows = [...kindsOf].map(([code, kinds]) => codeRow(classifyCode(code, tables.codes), kinds));
  return el(
    "div",
    { class: "codes" },
    el("h3", {}, "Codes"),
    rows.length > 0 ? el("ul", { class: "monitors" }, rows) : null,
    empty.length > 0 ? el("p", {}, `None ${empty.map((kind) => KINDS[kind] ?? kind).join(", none ")}.`) : null,
    rows.length > 0
      ? el(
          "p",
          { class: "small" },
          "Write codes down before anything is cleared. That a code often follows low voltage is common practice, without a source.",
        )
      : null,
  );
}
