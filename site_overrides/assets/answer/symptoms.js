/**
 * Room answer: the symptoms a message speaks of, by the same index and synonyms as the search.
 *
 * The search is asked about one wish; a message holds many things, most of them none of ours. So
 * every clause, and clauses that stand together, are held against each phrasing of owners: what
 * counts is how much of a phrasing is said, and how telling its words are.
 *
 * @import { SearchIndex } from "../knowledge/types.js"
 * @import { Token } from "./tokens.js"
 */

import { askedOf, metBy } from "../knowledge/search.js";
import { allWords, MOST_WORDS, meantBy } from "../knowledge/search-words.js";

/** A stretch of a message to be looked at. */
/** @typedef {{from: number, to: number, sentence: number}} Window */
/** @typedef {{id: string, score: number, from: number, to: number}} Found */

// All weights are our own choice, tried on phrasings of owners set into talk.
/** How much the share of the phrasing counts, and the share of what was said. */
const OF_LINE = 0.7;
const OF_SAID = 0.45;
/** How much of the score is of the entry as a whole. */
const WHOLE = 0.75;
/** A second place in the message that speaks of the same adds this much of its score. */
const SECOND = 0.25;
/** Below this score nothing is meant; below this share of the best one it is noise. */
const LEAST = 1;
const LEAST_SHARE = 0.35;
/** What may come first only on a strong match needs this share of a phrasing. */
const SURE = 0.5;
/** What a word weighs that no entry knows: talk is full of them. */
const UNKNOWN = 1;
const MOST_FOUND = 6;
const MOST_MEANT = 24;

/**
 * Find the symptoms in stretches of a message, the most apt first.
 * @param {SearchIndex} index
 * @param {string} text the message, with blanks where its numbers were read
 * @param {Token[]} tokens
 * @param {Window[]} windows
 * @param {Found[]} cued symptoms that a phrase of the vocabulary names
 * @returns {Found[]}
 */
export function symptomsIn(index, text, tokens, windows, cued) {
  /** @type {Map<string, Map<number, Found>>} the best of each sentence by entry */
  const found = new Map();
  for (const window of windows) {
    for (const one of scored(index, text, tokens, window)) {
      const bySentence = found.get(one.id) ?? new Map();
      found.set(one.id, bySentence);
      if ((bySentence.get(window.sentence)?.score ?? 0) < one.score) bySentence.set(window.sentence, one);
    }
  }
  /** @type {Map<string, Found>} */
  const ranking = new Map();
  for (const [id, bySentence] of found) {
    const [best, second] = [...bySentence.values()].sort((a, b) => b.score - a.score);
    ranking.set(id, { .../** @type {Found} */ (best), score: (best?.score ?? 0) + SECOND * (second?.score ?? 0) });
  }
  for (const { id, score, from, to } of cued) {
    const known = ranking.get(id);
    if (known) ranking.set(id, { ...known, score: known.score + score });
    else if (index.texts[id]) ranking.set(id, { id, score: score + LEAST, from, to });
  }
  const ranked = [...ranking.values()];
  ranked.sort((a, b) => b.score - a.score || (a.id < b.id ? -1 : 1));
  const least = Math.max(LEAST, (ranked[0]?.score ?? 0) * LEAST_SHARE);
  return ranked.filter(({ score }) => score >= least).slice(0, MOST_FOUND);
}

/**
 * Hold a stretch of the message against every phrasing.
 * @param {SearchIndex} index
 * @param {string} text
 * @param {Token[]} tokens
 * @param {Window} window
 * @returns {Found[]}
 */
function scored(index, text, tokens, window) {
  const start = tokens[window.from]?.start ?? 0;
  const end = tokens[window.to - 1]?.end ?? start;
  // Counts of miles, days and volts tell no symptom.
  const words = allWords(text.slice(start, end)).filter((word) => !/^\d/.test(word));
  if (words.length === 0) return [];
  const meant = meantBy(words, index.synonyms, index.stem);
  const asked = askedOf(index, words, { ...meant, terms: meant.terms.slice(0, MOST_MEANT) }).slice(0, 2 * MOST_WORDS);
  const said = asked.reduce(
    (sum, { isTyped, kin, weight }) => sum + (isTyped ? (kin.length > 0 ? weight : UNKNOWN) : 0),
    0,
  );
  /** @type {Map<string, {score: number, line: number}>} */
  const best = new Map();
  for (const [line, met] of metBy(asked, index.lines)) {
    const id = index.owners[line] ?? "";
    const first = index.texts[id]?.first;
    const share = Math.min(1, met / (index.lineWeights[line] || 1));
    if (first === "never" || (first === "sure" && share < SURE && met < SURE * said)) continue;
    const score = met * share ** OF_LINE * Math.min(1, met / said) ** OF_SAID;
    if (score > (best.get(id)?.score ?? 0)) best.set(id, { score, line });
  }
  const whole = metBy(asked, index.entries);
  return [...best].map(([id, { score }]) => ({
    id,
    score: (1 - WHOLE) * score + WHOLE * (whole.get(id) ?? 0) * Math.min(1, (whole.get(id) ?? 0) / said) ** OF_SAID,
    from: window.from,
    to: window.to,
  }));
}
