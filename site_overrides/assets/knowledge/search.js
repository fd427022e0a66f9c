/**
 * Data room: find symptoms by the words an owner types.
 *
 * The typed text is never read as query syntax: it is cut into plain words and each word
 * becomes clauses of a query. `build_tools/site/search.py` does the same in the same order,
 * so the site, the command line and this page rank alike. Nothing here touches the page.
 *
 * @import { SearchIndex, SearchText, Synonym } from "./types.js"
 */
import { knownShare, LEAST_KNOWN, MOST_WORDS, meantBy, splitWords, tellingWords } from "./search-words.js";

/** A hit far below the best one is noise; the share is our own choice. */
const WEAKEST_SHARE = 0.25;
/** A word that stands for what was typed counts a little less than the word itself. */
const MEANT_BOOST = 6;
const TYPED_BOOST = 10;

/**
 * Build an index over titles and owners' phrasings.
 *
 * The stop-word filter is left out ("on", "off" and "not" carry meaning here), the stemmer
 * is kept. Documents enter in id order, so equal input gives an equal index.
 * @param {any} lunr the lunr library
 * @param {Record<string, SearchText>} texts
 * @param {Synonym[]} [synonyms]
 * @returns {SearchIndex}
 */
export function buildIndex(lunr, texts, synonyms = []) {
  const builder = new lunr.Builder();
  builder.pipeline.add(lunr.stemmer);
  builder.searchPipeline.add(lunr.stemmer);
  builder.ref("id");
  builder.field("title", { boost: 3 });
  builder.field("says");
  for (const id of Object.keys(texts).sort()) {
    const { title, says } = /** @type {SearchText} */ (texts[id]);
    const spoken = says.map((line) => splitWords(line).join(" ")).join(" ");
    builder.add({ id, title: splitWords(title).join(" "), says: spoken });
  }
  const index = builder.build();
  const list = Object.keys(index.invertedIndex);
  const known = new Set(list);
  return {
    index,
    texts,
    synonyms,
    terms: { list, has: (term) => known.has(term) },
    stem: rememberedStem(lunr),
  };
}

/**
 * Stem words as the index does; each word once, because every keystroke asks for all synonyms.
 * @param {any} lunr
 * @returns {(word: string) => string}
 */
function rememberedStem(lunr) {
  /** @type {Map<string, string>} */
  const known = new Map();
  return (word) => {
    const stem = known.get(word) ?? lunr.stemmer(new lunr.Token(word, {})).toString();
    known.set(word, stem);
    return stem;
  };
}

/**
 * Turn words into query clauses: the word itself, its beginning, and a near miss.
 *
 * The last word may be half typed, so its beginning counts from two letters on. Long words
 * also match two letters short, because the index keeps stems ("flashin" must find "flash").
 * @param {string[]} words
 * @param {string | undefined} last
 * @returns {Array<{term: string, boost: number, usePipeline: boolean, editDistance?: number}>}
 */
function clausesFor(words, last) {
  const clauses = [];
  for (const word of words) {
    clauses.push({ term: word, boost: TYPED_BOOST, usePipeline: true });
    if (word.length >= (word === last ? 2 : 4)) {
      clauses.push({ term: `${word}*`, boost: 3, usePipeline: false });
    }
    if (word.length >= 6) {
      clauses.push({ term: `${word.slice(0, -2)}*`, boost: 0.5, usePipeline: false });
    }
    if (word.length >= 4) {
      clauses.push({ term: word, boost: 1, usePipeline: true, editDistance: 1 });
    }
  }
  return clauses;
}

/**
 * Find the symptoms nearest to the words, best first.
 *
 * Equal scores keep id order. Text of which less than two fifths is known here finds nothing,
 * so that words about something else do not end in a wrong entry.
 * @param {SearchIndex} built
 * @param {string} text
 * @param {number} limit
 * @returns {Array<{id: string, title: string, score: number}>}
 */
export function find(built, text, limit) {
  const typed = splitWords(text);
  const meant = meantBy(typed, built.synonyms, built.stem);
  if (knownShare(typed, meant.explained, built.terms, built.stem) < LEAST_KNOWN) return [];
  const hits = built.index.query((query) => {
    for (const clause of clausesFor(tellingWords(typed), typed.at(-1))) query.clause(clause);
    for (const term of meant.words.slice(0, MOST_WORDS)) {
      query.clause({ term, boost: MEANT_BOOST, usePipeline: true });
    }
  });
  const scored = hits.map((hit) => ({
    id: hit.ref,
    title: built.texts[hit.ref]?.title ?? hit.ref,
    score: Math.round(hit.score * 1e6) / 1e6,
  }));
  scored.sort((a, b) => b.score - a.score || (a.id < b.id ? -1 : 1));
  const best = scored[0]?.score ?? 0;
  return scored.filter((hit) => hit.score >= best * WEAKEST_SHARE).slice(0, limit);
}

/**
 * List the circumstances that the words speak of, to be offered.
 * @param {SearchIndex} built
 * @param {string} text
 * @returns {string[]} symptom ids
 */
export function circumstancesIn(built, text) {
  const { offers } = meantBy(splitWords(text), built.synonyms, built.stem);
  return offers.filter((id) => Object.hasOwn(built.texts, id));
}
