/**
 * Output room: open a case link up to the point where it can be shown.
 *
 * It fetches the book of words, reads the link, fits the case to today's knowledge and asks for
 * advice on it. It changes nothing.
 *
 * @import { Change } from "../../case/case-adopt.js"
 * @import { About } from "../../case/case-link.js"
 * @import { Case, Knowledge } from "../../knowledge/types.js"
 * @import { Advice } from "../../engine/triage.js"
 */
import { adoptCase } from "../../case/case-adopt.js";
import { decodeCase, LinkRefused, linkIn } from "../../case/case-link.js";
import { triage } from "../../engine/triage.js";
import { linkBook } from "../../knowledge/link-words.js";
import { stuckWords } from "./stuck.js";

/**
 * What a link brought: `refused` says why it cannot be opened, else null; `stuck` says why no
 * advice can be given on it, else an empty text.
 * @typedef {object} Arrived
 * @property {Case} car
 * @property {About} about
 * @property {Change[]} changes
 * @property {boolean} isSame whether it was made with the knowledge of this page
 * @property {Advice | null} advice
 * @property {string | null} refused
 * @property {string} stuck
 */

/** @type {(refused: string) => Arrived} */
function refusedLink(refused) {
  const car = { symptoms: [], context: {}, readings: {}, outcomes: {}, not_possible: [] };
  return { car, about: { id: null, log: [] }, changes: [], isSame: true, advice: null, refused, stuck: "" };
}

/**
 * Open a link, or any text that holds one. Never throws for what the text holds.
 * @type {(knowledge: Knowledge, text: string) => Promise<Arrived>}
 */
export async function openLink(knowledge, text) {
  let book;
  try {
    book = await linkBook();
  } catch {
    return refusedLink("The list that links are read with could not be fetched. Try again with a connection.");
  }
  return arrivedFrom(knowledge, book, text);
}

/** @type {(knowledge: Knowledge, book: import("../../knowledge/link-words.js").LinkBook, text: string) => Arrived} */
export function arrivedFrom(knowledge, book, text) {
  let opened;
  try {
    opened = decodeCase(linkIn(text), book);
  } catch (error) {
    if (error instanceof LinkRefused) return refusedLink(error.message);
    throw error;
  }
  const { car, changes } = adoptCase(knowledge, book.redirects, opened.car);
  const { about } = opened;
  const isSame = knowledge.version.startsWith(opened.version);
  try {
    return { car, about, changes, isSame, advice: triage(knowledge, car), refused: null, stuck: "" };
  } catch (error) {
    const stuck = stuckWords(knowledge, error);
    if (stuck === null) throw error;
    return { car, about, changes, isSame, advice: null, refused: null, stuck };
  }
}
