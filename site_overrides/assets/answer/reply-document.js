/**
 * Room answer: replies as plain documents for the commands.
 *
 * @import { BookFile } from "../case/link-document.js"
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Sentences } from "./questions.js"
 */

import { linkFor } from "../case/link-document.js";
import { replyTo } from "./reply.js";

/**
 * Write the reply to a case, its link included.
 * @param {Knowledge} knowledge
 * @param {{book: BookFile, sentences: Sentences}} words
 * @param {Case} car
 * @param {{greeting: string, closing: string, site: string, thought_of?: string[]}} frame
 */
export function replyDocument(knowledge, { book, sentences }, car, frame) {
  const link = `${frame.site}checker/${linkFor(book, car, knowledge.version)}`;
  const { short, long, asked, questions } = replyTo(knowledge, sentences, car, { ...frame, link });
  return { short, long, link, asked, questions };
}
