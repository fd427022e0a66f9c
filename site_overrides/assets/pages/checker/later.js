/**
 * Fetch what the first view does not need, when it is first needed, and once.
 *
 * Two parts: the search (its texts and its library), and what advises (reasoning, the views of
 * advice, the later part of the knowledge). A failure is forgotten, so asking again tries again.
 *
 * @import { Knowledge } from "../../knowledge/types.js"
 * @import { Search } from "./app.js"
 */
import { completeKnowledge } from "../../knowledge/knowledge.js";

/** @typedef {typeof import("./advice.js")} More */

/** Keep what was fetched; null stands for what nobody has asked for yet. */
export class Later {
  /** @param {Knowledge} knowledge its first part, completed in place */
  constructor(knowledge) {
    this.knowledge = knowledge;
    /** @type {Search | null} */
    this.search = null;
    /** @type {More | null} */
    this.more = null;
    /** @type {Promise<More> | null} */
    this.fetching = null;
  }

  /** Fetch the search. */
  async fetchSearch() {
    if (this.search) return;
    const [answer, { default: lunr }, search] = await Promise.all([
      fetch(new URL("../../data/search.json", import.meta.url)),
      import("../../vendor/lunr.js"),
      import("../../knowledge/search.js"),
    ]);
    const { texts, synonyms } = await answer.json();
    const readings = await (await fetch(new URL("../../data/reading-texts.json", import.meta.url))).json();
    this.search ??= { ...search, readings, index: search.buildIndex(lunr, texts, synonyms) };
  }

  /** Fetch what advises. @returns {Promise<More>} */
  fetchMore() {
    this.fetching ??= Promise.all([
      import("./advice.js"),
      completeKnowledge(this.knowledge, new URL("../../data/checker-later.json", import.meta.url)),
    ]).then(([more]) => (this.more = more));
    this.fetching.catch(() => {
      this.fetching = null;
    });
    return this.fetching;
  }
}
