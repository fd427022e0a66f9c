/**
 * Room case: cases as one file, to be kept elsewhere or carried to another device.
 *
 * Anyone can write such a file: nothing in it is trusted, and what a case says is fitted to the
 * knowledge only when it is opened.
 *
 * @import { Sheet } from "./sheet.js"
 * @import { KeptCase } from "./shelf.js"
 */
import { adoptSheet } from "./sheet.js";

const FORMAT = "before-parts-cases";
const VERSION = 1;
const LARGEST_FILE = 8_000_000;
const MOST_CASES = 2000;
/** More than any case holds. */
const LARGEST_CASE = 200_000;

/** @typedef {{sheet: Sheet, state: Record<string, unknown>}} FiledCase */

/** Say why a file is no file of cases. */
export class FileRefused extends Error {}

/** Write cases as the text of a file. @param {KeptCase[]} cases */
export function casesText(cases) {
  const filed = cases.map(({ sheet, state }) => ({ sheet, state }));
  return `${JSON.stringify({ format: FORMAT, version: VERSION, cases: filed }, null, 1)}\n`;
}

/**
 * Read the text of a file: the cases that can be used, and how many cannot.
 *
 * Throws FileRefused for what is no such file.
 * @type {(text: string) => {cases: FiledCase[], broken: number}}
 */
export function casesIn(text) {
  if (text.length > LARGEST_FILE) throw new FileRefused("This file is too large for a file of cases.");
  /** @type {any} */
  let given;
  try {
    given = JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch {
    throw new FileRefused("This is not a file of cases, or it was cut short.");
  }
  if (given?.format !== FORMAT || !Array.isArray(given.cases)) throw new FileRefused("This is not a file of cases.");
  if (given.version !== VERSION)
    throw new FileRefused("A newer edition of this site wrote this file. Reload this page first.");
  if (given.cases.length > MOST_CASES) throw new FileRefused(`This file holds more than ${MOST_CASES} cases.`);
  /** @type {Map<string, FiledCase>} */
  const cases = new Map();
  let broken = 0;
  for (const one of given.cases) {
    const sheet = adoptSheet(one?.sheet);
    const { state } = one ?? {};
    const isState = state !== null && typeof state === "object" && Array.isArray(state.chosen);
    if (!sheet || !isState || JSON.stringify(one).length > LARGEST_CASE) broken += 1;
    else if (!cases.has(sheet.id) || /** @type {FiledCase} */ (cases.get(sheet.id)).sheet.changed < sheet.changed)
      cases.set(sheet.id, { sheet, state });
  }
  return { cases: [...cases.values()], broken };
}

/**
 * Lay the cases of a file beside those kept here: of one case, the copy changed last goes on.
 * @param {KeptCase[]} kept
 * @param {FiledCase[]} filed
 */
export function compared(kept, filed) {
  const here = new Map(kept.map(({ sheet }) => [sheet.id, sheet.changed]));
  const by = (/** @type {(mine: string | undefined, theirs: string) => boolean} */ fits) =>
    filed.filter(({ sheet }) => fits(here.get(sheet.id), sheet.changed));
  return {
    fresh: by((mine) => mine === undefined),
    newer: by((mine, theirs) => mine !== undefined && mine < theirs),
    same: by((mine, theirs) => mine === theirs),
    older: by((mine, theirs) => mine !== undefined && mine > theirs),
  };
}
