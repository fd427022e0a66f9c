/**
 * Room kit: the one way in which a page reads a number that somebody typed.
 *
 * It is the reader of the gauges, so "1,500" is ambiguous everywhere and one and a half nowhere.
 */
import { ReadingRefused, readNumber } from "../measure/gauges-numbers.js";
import { refusalWords } from "../measure/words.js";

/**
 * Read what stands in a field: its number, or why there is none.
 * @param {string | undefined} typed
 * @returns {{number: number | null, reason: string, words: string}} no words for an empty field
 */
export function readTyped(typed) {
  const text = (typed ?? "").trim();
  if (text === "") return { number: null, reason: "empty", words: "" };
  try {
    return { number: readNumber(text, "value"), reason: "", words: "" };
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    return { number: null, reason: error.reason, words: refusalWords(error) };
  }
}

/**
 * Read a number; null for nothing, or for what is no number or could be two.
 * @type {(typed: string | undefined) => number | null}
 */
export function numberOf(typed) {
  return readTyped(typed).number;
}
