/**
 * Room answer: what has to be asked back before a number can be used.
 *
 * The sentences are data (symptoms/sentences/answers.yml); they come with the answer's words.
 */

import { fill } from "../kit/sentences.js";

/** @typedef {[Record<string, string>, string]} Form */
/** @typedef {Record<string, Form[]>} Sentences forms by name, as the build writes them */

/**
 * Say a sentence in the first of its forms that fits; "" when none does.
 * @type {(sentences: Sentences, name: string, places?: Record<string, string | number | null | undefined>) => string}
 */
export function sayOf(sentences, name, places = {}) {
  const form = (sentences[name] ?? []).find(([when]) =>
    Object.entries(when).every(([place, value]) => places[place] === value),
  );
  return form ? fill(form[1], places) : "";
}

/**
 * List the questions that a message leaves open, each once.
 * @type {(sentences: Sentences, understood: {readings: Array<{unit: string, certain: boolean, value: number,
 *   quantity: string}>, symptoms: object[]}) => string[]}
 */
export function questionsOf(sentences, { readings, symptoms }) {
  const asked = readings.flatMap(({ unit, certain, value, quantity }) => {
    if (quantity === "temperature") return unit === "deg" ? [sayOf(sentences, "ask-scale", { value })] : [];
    return certain ? [] : [sayOf(sentences, "ask-condition", { unit, value })];
  });
  if (symptoms.length === 0) asked.push(sayOf(sentences, "ask-complaint"));
  return [...new Set(asked)];
}
