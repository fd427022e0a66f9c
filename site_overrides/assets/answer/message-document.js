/**
 * Room answer: messages as plain documents for the commands. What they are read with is handed
 * over once.
 *
 * @import { Case, Knowledge, SearchText, Synonym } from "../knowledge/types.js"
 * @import { PhraseItem } from "./phrases.js"
 * @import { Sentences } from "./questions.js"
 */

import { buildIndex } from "../knowledge/search.js";
import { default as lunr } from "../vendor/lunr.js";
import { surestCase } from "./offers.js";
import { phraseBook } from "./phrases.js";
import { questionsOf } from "./questions.js";
import { understand } from "./understand.js";

/** What messages are read with. */
const ready = {
  index: buildIndex(lunr, {}),
  book: phraseBook([]),
  sentences: /** @type {Sentences} */ ({}),
  knowledge: /** @type {Knowledge | undefined} */ (undefined),
};

/**
 * Take what messages are read with, and the knowledge where cases are made of them.
 * @type {(search: {texts: Record<string, SearchText>, synonyms: Synonym[]}, words: {phrases: PhraseItem[],
 *   sentences: Sentences}, knowledge?: Knowledge) => void}
 */
export function prepare({ texts, synonyms }, { phrases, sentences }, knowledge) {
  Object.assign(ready, { index: buildIndex(lunr, texts, synonyms), book: phraseBook(phrases), sentences, knowledge });
}

/**
 * Write the case that a message makes, see `surestCase`. Throws where no knowledge was handed over.
 * @type {(message: string) => Case}
 */
export function messageCase(message) {
  if (!ready.knowledge) throw new Error("no knowledge to make a case with");
  return surestCase(ready.knowledge, understand(ready.index, ready.book, message));
}

/** Read a message: what it says, what is open, what was not understood. @param {string} message */
export function messageDocument(message) {
  const found = understand(ready.index, ready.book, message);
  return {
    ...found,
    questions: questionsOf(ready.sentences, found),
    not_understood: found.not_understood.map(({ words }) => words),
  };
}
