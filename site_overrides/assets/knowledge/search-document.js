/**
 * Data room: the search for the commands, which hand the texts over once and name their index by its number.
 *
 * @import { SearchIndex, SearchText, Synonym } from "./types.js"
 */

import { default as lunr } from "../vendor/lunr.js";
import { askedOf, buildIndex, circumstancesIn, find } from "./search.js";
import { allWords, DENIAL, DENIED, meantBy } from "./search-words.js";

/** @type {SearchIndex[]} */
const built = [];

const indexAt = (/** @type {number} */ number) => /** @type {SearchIndex} */ (built[number]);

/**
 * Build the index of texts, and return its number.
 * @param {{texts: Record<string, SearchText>, synonyms?: Synonym[]}} texts
 */
export function indexed({ texts, synonyms }) {
  return built.push(buildIndex(lunr, texts, synonyms)) - 1;
}

/**
 * @param {number} index
 * @param {string} words
 * @param {number} limit
 */
export function found(index, words, limit) {
  return find(indexAt(index), words, limit);
}

/** @type {(index: number, words: string) => string[]} */
export function offered(index, words) {
  return circumstancesIn(indexAt(index), words);
}

/**
 * List the terms that led to an entry, as stems, the weightiest first.
 * @type {(index: number, words: string, id: string) => string[]}
 */
export function ledBy(index, words, id) {
  const { entries, synonyms, stem } = indexAt(index);
  const typed = allWords(words);
  /** @type {Map<string, number>} */
  const met = new Map();
  for (const { weight, kin } of askedOf(indexAt(index), typed, meantBy(typed, synonyms, stem))) {
    for (const [term, sure] of kin) {
      const strength = weight * sure * (entries.get(term)?.get(id) ?? 0);
      if (strength > 0) met.set(term, Math.max(met.get(term) ?? 0, strength));
    }
  }
  const led = [...met].sort(([a, most], [b, least]) => least - most || (a < b ? -1 : 1));
  return led.map(([term]) => term.replace(DENIED, `${DENIAL} `));
}
