/**
 * Room case: case links as plain documents for the commands: written and opened.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Former } from "../knowledge/link-words.js"
 */

import { bookFrom } from "../knowledge/link-words.js";
import { adoptCase } from "./case-adopt.js";
import { decodeCase, encodeCase, LinkRefused, linkIn } from "./case-link.js";
import { changeWords } from "./diff-words.js";

/** @typedef {{words: string[], redirects: Record<string, Former>}} BookFile what `link-words.json` holds */

/**
 * Write a case as the fragment of an address, `#c=` included.
 * @param {BookFile} file
 * @param {Case} car
 * @param {string} version of the knowledge
 */
export function linkFor(file, car, version) {
  return `#c=${encodeCase(car, bookFrom(file), version)}`;
}

/**
 * Open the case link in a text: the case as it can be used today, and what that changed; or why
 * it cannot be opened.
 * @param {Knowledge} knowledge
 * @param {BookFile} file
 * @param {string} text
 */
export function openedLink(knowledge, file, text) {
  try {
    const { car: sent, version } = decodeCase(linkIn(text), bookFrom(file));
    const { car, changes } = adoptCase(knowledge, file.redirects, sent);
    return {
      case: car,
      changes: changes.map((change) => ({ ...change, words: changeWords(knowledge, change) })),
      made_with: version,
      same_knowledge: knowledge.version.startsWith(version),
    };
  } catch (error) {
    if (error instanceof LinkRefused) return { refused: error.reason, says: error.message };
    throw error;
  }
}
