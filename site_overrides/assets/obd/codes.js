/**
 * Room reasoning: trouble codes, their form and whether they point back to the supply.
 *
 * Same work as build_tools/obd/codes.py. The table of codes comes with the compiled
 * readiness data. About a code that is not in the table nothing is said.
 * @typedef {{code: string|null, suggestion: string|null, form: string}} Recognised
 * @typedef {{title: string, relation: string, aspect: string|null, note: string|null}} CodeRow
 * @typedef {{code: string, title: string|null, relation: string, leads_to: string|null,
 *   aspect: string|null, note: string|null}} CodeClass
 */

import { hexByte } from "./pids.js";

const LETTERS = "PCBU";
const CODE = /^([PCBU])([0-3])([0-9A-F]{3})$/;
const TYPED = /^([PCBU])([0-3O])([0-9A-FO]{3})(?:-?[0-9A-F]{2})?$/;
const BYTES = /^(?:0X)?([0-9A-F]{2})[ ,]*(?:0X)?([0-9A-F]{2})$/;
const ENDS = /^[ \t\r\n\f\v]+|[ \t\r\n\f\v]+$/g;
const DROPPED = /[ \t\r\n\f\v:._]+/g;
const LONGEST_TYPED = 40;

/** @type {(high: number, low: number) => string|null} */
export function codeFromBytes(high, low) {
  if (high === 0 && low === 0) return null;
  const letter = LETTERS[high >> 6];
  return `${letter}${(high >> 4) & 3}${(high & 0xf).toString(16).toUpperCase()}${hexByte(low)}`;
}

/** Recognise a code typed by hand, as letters or as two bytes. Never throws. @type {(text: string) => Recognised} */
export function recogniseCode(text) {
  const none = { code: null, suggestion: null, form: "none" };
  if (text.length > LONGEST_TYPED || !/^[\x00-\x7f]*$/.test(text)) return none;
  const plain = text.replace(ENDS, "").toUpperCase();
  const byBytes = BYTES.exec(plain);
  if (byBytes) {
    const code = codeFromBytes(parseInt(byBytes[1], 16), parseInt(byBytes[2], 16));
    return { code, suggestion: null, form: "bytes" };
  }
  const typed = TYPED.exec(plain.replace(DROPPED, ""));
  if (!typed) return none;
  const mended = `${typed[1]}${typed[2]}${typed[3]}`.replaceAll("O", "0");
  if ((typed[2] + typed[3]).includes("O")) return { code: null, suggestion: mended, form: "slip" };
  return { code: mended, suggestion: null, form: "code" };
}

/** @type {(code: string) => number|null} */
function codeNumber(code) {
  const match = CODE.exec(code);
  if (!match) return null;
  return (LETTERS.indexOf(match[1]) << 14) | (Number(match[2]) << 12) | parseInt(match[3], 16);
}

/** @type {(code: string, first: string, last: string) => boolean} */
export function inRange(code, first, last) {
  const [number, low, high] = [codeNumber(code), codeNumber(first), codeNumber(last)];
  if (number === null || low === null || high === null) return false;
  return low <= number && number <= high;
}

/** @type {(code: string, table: Record<string, CodeRow>) => CodeClass} */
export function classifyCode(code, table) {
  if (!Object.hasOwn(table, code)) {
    return { code, title: null, relation: "not-listed", leads_to: null, aspect: null, note: null };
  }
  const { title, relation, aspect, note } = table[code];
  const supply = relation === "supply" || relation === "sometimes";
  return { code, title, relation, leads_to: supply ? "supply-checks" : null, aspect, note };
}
