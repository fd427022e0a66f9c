/**
 * Room answer: what was asked in the reply before, answered in the words of one of its choices:
 * "over five years" alone tells nothing, and behind the question it tells the battery's age.
 *
 * @import { Context } from "../knowledge/types.js"
 */

import { plainText } from "./tokens.js";

/** @typedef {{id: string, answer: string, words: string, start: number, end: number}} Answered */

/** A choice may be answered without what stands in brackets, or by what stands before its comma. */
const NOTE = /\s*\(.*$/;
const REST = /,.*$/;
/** What a word is made of in both, whatever stands between words. */
const WORD = /[\p{L}\d]+/gu;
/** Alone they do not say which question they answer. */
const BARE = new Set(["yes", "no", "neither"]);

/**
 * Find the choices of asked questions that a message repeats, the longest of each question.
 * @param {Record<string, Context>} contexts
 * @param {string[]} asked the questions, by the facts they ask for
 * @param {string} message
 * @returns {Answered[]}
 */
export function answeredIn(contexts, asked, message) {
  const plain = plainText(message);
  const said = Array.from(plain.matchAll(WORD), (found) => ({
    text: found[0],
    start: found.index,
    end: found.index + found[0].length,
  }));
  return asked.flatMap((id) => {
    /** @type {Array<Answered & {length: number}>} */
    const met = [];
    for (const option of contexts[id]?.options ?? []) {
      const label = plainText(option.label).replace(NOTE, "");
      for (const words of [label.match(WORD) ?? [], label.replace(REST, "").match(WORD) ?? []]) {
        const place = words.length === 1 && BARE.has(words[0] ?? "") ? -1 : placeOf(said, words);
        const [first, last] = [said[place], said[place + words.length - 1]];
        if (!first || !last) continue;
        const at = { words: message.slice(first.start, last.end), start: first.start, end: last.end };
        met.push({ id, answer: option.id, ...at, length: words.length });
        break;
      }
    }
    met.sort((one, other) => other.length - one.length);
    const [best, second] = met;
    // Two choices told at once answer nothing.
    if (!best || second?.length === best.length) return [];
    const { length: _, ...answer } = best;
    return [answer];
  });
}

/**
 * Return where words stand in a row, -1 where they do not.
 * @param {Array<{text: string}>} said
 * @param {string[]} words
 */
function placeOf(said, words) {
  return said.findIndex((_, place) => words.every((word, step) => said[place + step]?.text === word));
}
