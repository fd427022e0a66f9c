/**
 * Data room: find symptoms by the words an owner types.
 *
 * The typed text is never read as query syntax: it is cut into plain words here and each
 * word becomes clauses of a query. `build_tools/output/search.py` does the same in the same
 * order, so the site, the command line and this page rank alike. Nothing here touches the page.
 */

/** Longest text looked at, and most words used: pasted essays must not stall a phone. */
const LONGEST_TEXT = 400;
const MOST_WORDS = 24;
/** A hit far below the best one is noise; the share is our own choice. */
const WEAKEST_SHARE = 0.25;

/**
 * Cut text into plain lower-case words of letters and digits.
 *
 * Accents and apostrophes go ("won't" is one word), every other sign separates. Repeated
 * words are kept once, in order.
 * @param {string} text
 * @returns {string[]}
 */
export function splitWords(text) {
  const plain = Array.from(text)
    .slice(0, LONGEST_TEXT)
    .join("")
    .normalize("NFKD")
    .toLowerCase()
    .replace(/['\u2019\u02bc`\u0300-\u036f]/g, "");
  const words = plain.match(/[a-z0-9]+/g) ?? [];
  return [...new Set(words)].slice(0, MOST_WORDS);
}

/**
 * Build an index over titles and owners' phrasings.
 *
 * The stop-word filter is left out ("on", "off" and "not" carry meaning here), the stemmer
 * is kept. Documents enter in id order, so equal input gives an equal index.
 * @param {any} lunr the lunr library
 * @param {Record<string, import("./types.js").SearchText>} texts
 * @returns {import("./types.js").SearchIndex}
 */
export function buildIndex(lunr, texts) {
  const builder = new lunr.Builder();
  builder.pipeline.add(lunr.stemmer);
  builder.searchPipeline.add(lunr.stemmer);
  builder.ref("id");
  builder.field("title", { boost: 3 });
  builder.field("says");
  for (const id of Object.keys(texts).sort()) {
    const { title, says } = /** @type {import("./types.js").SearchText} */ (texts[id]);
    const spoken = says.map((line) => splitWords(line).join(" ")).join(" ");
    builder.add({ id, title: splitWords(title).join(" "), says: spoken });
  }
  return { index: builder.build(), texts };
}

/**
 * Turn words into query clauses: the word itself, its beginning, and a near miss.
 *
 * The last word may be half typed, so its beginning counts from two letters on. Long words
 * also match two letters short, because the index keeps stems ("flashin" must find "flash").
 * @param {string[]} words
 * @returns {Array<{term: string, boost: number, usePipeline: boolean, editDistance?: number}>}
 */
export function clausesFor(words) {
  const clauses = [];
  for (const [place, word] of words.entries()) {
    const isLast = place === words.length - 1;
    clauses.push({ term: word, boost: 10, usePipeline: true });
    if (word.length >= (isLast ? 2 : 4)) {
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
 * Equal scores keep id order. Text without any letter or digit finds nothing.
 * @param {import("./types.js").SearchIndex} built
 * @param {string} text
 * @param {number} limit
 * @returns {Array<{id: string, title: string, score: number}>}
 */
export function find(built, text, limit) {
  const words = splitWords(text);
  if (words.length === 0) return [];
  const hits = built.index.query((query) => {
    for (const clause of clausesFor(words)) query.clause(clause);
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
