/**
 * Data room: fetch the numbers that stand for ids in case links, when a link is first needed.
 *
 * @import { LinkWords } from "../case/case-link.js"
 */
import { fetchedJson } from "../kit/fetched-json.js";

/** @typedef {string | {retired: string}} Former what took the place of an id, or why it went */
/** @typedef {LinkWords & {redirects: Record<string, Former>}} LinkBook */

/** @type {Promise<LinkBook> | null} */
let fetching = null;

/**
 * Fetch the book of words once; a failure is forgotten, so that a second try is a new one.
 * @returns {Promise<LinkBook>}
 */
export function linkBook() {
  fetching ??= fetchedJson(new URL("../data/link-words.json", import.meta.url)).then(bookFrom);
  fetching.catch(() => {
    fetching = null;
  });
  return fetching;
}

/** Make the book from its file. @type {(file: {words: string[], redirects: Record<string, Former>}) => LinkBook} */
export function bookFrom({ words, redirects }) {
  const rows = words.flatMap((word, number) => (word === "" ? [] : [/** @type {const} */ ([word, number])]));
  return { words, redirects, numbers: new Map(rows) };
}
