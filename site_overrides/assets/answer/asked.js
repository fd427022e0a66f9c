/**
 * Room answer: what was asked in the reply before, answered in the words of one of its choices, or
 * by a bare yes or no: "over five years" alone tells nothing, and behind the question it tells the
 * battery's age. The same holds for the result of the check that the reply named.
 *
 * @import { Check, Context } from "../knowledge/types.js"
 * @import { Question } from "./asking.js"
 */

import { plainText } from "./tokens.js";
import { polarIn } from "./yes-or-no.js";

/** The answer is a choice of a fact, or "yes" or "no" to what can be noticed. */
/** @typedef {{kind: Question["kind"], id: string, answer: string, words: string, start: number, end: number}} Answered */

/** A choice may be answered without what stands in brackets, or by what stands before its comma. */
const NOTE = /\s*\(.*$/;
const REST = /,.*$/;
/** What a word is made of in both, whatever stands between words. */
const WORD = /[\p{L}\d]+/gu;
/** Before the words of a result they turn it round. */
const TURNED = new Set(["not", "no", "never", "isn", "wasn", "aren", "weren", "isnt", "wasnt", "arent", "werent", "t"]);
/** Alone they do not say which question they answer. */
const BARE = new Set(["yes", "no", "neither"]);

/**
 * Find what a message answers to the questions that were asked.
 * @type {(contexts: Record<string, Context>, asked: Array<Pick<Question, "kind" | "id">>, message: string) =>
 *   Answered[]}
 * @param asked in the order they were asked
 */
export function answeredIn(contexts, asked, message) {
  const chosen = choicesIn(
    contexts,
    asked.flatMap(({ kind, id }) => (kind === "contexts" ? [id] : [])),
    message,
  );
  const isOpen = ({ kind = "", id = "" }) =>
    !chosen.some((one) => one.id === id) && (kind === "symptoms" || polarOption(contexts[id], "yes") !== null);
  const open = new Set(asked.flatMap((one, place) => (isOpen(one) ? [place] : [])));
  const polar = polarIn(message, open, asked.length).flatMap(({ place, isYes, start, end }) => {
    const { kind, id } = /** @type {Question} */ (asked[place]);
    const word = isYes ? "yes" : "no";
    const answer = kind === "symptoms" ? word : polarOption(contexts[id], word);
    return answer === null ? [] : [{ kind, id, answer, words: message.slice(start, end), start, end }];
  });
  return [...chosen, ...polar];
}

/**
 * Find the result of a check that a message repeats; null where it tells none or two. One word alone
 * tells it only as a sentence of its own.
 * @type {(id: string, check: Pick<Check, "levels">, message: string) =>
 *   import("./understand.js").Understood["results"][number] | null}
 */
export function resultIn(id, { levels }, message) {
  const [found] = choicesIn({ [id]: { options: levels } }, [id], message);
  if (!found) return null;
  const before = plainText(message.slice(0, found.start)).match(WORD) ?? [];
  const isAlone =
    /(^|[.!?:\n])\s*$/.test(message.slice(0, found.start)) && /^\s*($|[.!?\n])/.test(message.slice(found.end));
  const isOneWord = (plainText(found.words).match(WORD) ?? []).length === 1;
  if (TURNED.has(before.at(-1) ?? "") || (isOneWord && !isAlone)) return null;
  const { answer, words, start, end } = found;
  return { id, answer, words, start, end };
}

/**
 * Return the one choice of a fact that begins with "yes" or "no"; null where none or several do, or
 * where the fact is not asked by yes and no.
 * @type {(context: Context | undefined, word: "yes" | "no") => string | null}
 */
function polarOption(context, word) {
  const begun = (/** @type {string} */ wanted) =>
    (context?.options ?? []).filter(({ label }) => (plainText(label).match(WORD) ?? [])[0] === wanted);
  const [options, others] = [begun(word), begun(word === "yes" ? "no" : "yes")];
  return options.length === 1 && others.length > 0 ? (options[0]?.id ?? null) : null;
}

/**
 * Find the choices of asked facts that a message repeats, the longest of each.
 * @type {(contexts: Record<string, Pick<Context, "options">>, asked: string[], message: string) => Answered[]}
 */
function choicesIn(contexts, asked, message) {
  const plain = plainText(message);
  const said = Array.from(plain.matchAll(WORD), (found) => ({
    text: found[0],
    start: found.index,
    end: found.index + found[0].length,
  }));
  return asked.flatMap((id) => {
    /** @type {Array<Answered & {length: number}>} */
    const met = [];
    for (const option of contexts[id]?.options ?? []) {
      const label = plainText(option.label).replace(NOTE, "");
      for (const words of [label.match(WORD) ?? [], label.replace(REST, "").match(WORD) ?? []]) {
        const place = words.length === 1 && BARE.has(words[0] ?? "") ? -1 : placeOf(said, words);
        const [first, last] = [said[place], said[place + words.length - 1]];
        if (!first || !last) continue;
        const at = { words: message.slice(first.start, last.end), start: first.start, end: last.end };
        met.push({ kind: "contexts", id, answer: option.id, ...at, length: words.length });
        break;
      }
    }
    met.sort((one, other) => other.length - one.length);
    const [best, second] = met;
    // Two choices told at once answer nothing.
    if (!best || second?.length === best.length) return [];
    const { length: _, ...answer } = best;
    return [answer];
  });
}

/**
 * Return where words stand in a row, -1 where they do not.
 * @type {(said: Array<{text: string}>, words: string[]) => number}
 */
function placeOf(said, words) {
  return said.findIndex((_, place) => words.every((word, step) => said[place + step]?.text === word));
}
