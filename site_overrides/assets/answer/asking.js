/**
 * Room answer: the questions that matter most, which the owner can answer without a tool.
 *
 * The value of a question is what its answer is expected to take from our doubt: the sum of the
 * entropies of all causes that the complaint can have, in bits, before less after. How likely an
 * answer is comes of the model for what can be noticed; answers about the car are taken as equally
 * likely, which is our own choice. The engine is the checker's; nothing is advised here.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 */

import { diagnose, relevantCauses } from "../engine/diagnosis.js";
import { noticedAnswers } from "../engine/findings.js";

/** A question, as the id of a circumstance or of a fact, and what its answer is worth in bits. */
/** @typedef {{kind: "symptoms" | "contexts", id: string, value: number}} Question */

/** What is learnt must be worth asking a stranger for. */
const LEAST_VALUE = 0.005;

/** @type {(posteriors: Record<string, number>, causes: Set<string>) => number} */
function doubt(posteriors, causes) {
  let bits = 0;
  for (const id of causes) {
    const p = posteriors[id] ?? 0;
    if (p > 0 && p < 1) bits -= p * Math.log2(p) + (1 - p) * Math.log2(1 - p);
  }
  return bits;
}

/**
 * List the questions worth asking, the best first.
 * @type {(knowledge: Knowledge, car: Case, most: number) => Question[]}
 */
export function bestQuestions(knowledge, car, most) {
  const now = diagnose(knowledge, car);
  const causes = relevantCauses(knowledge, car);
  const before = doubt(now.posteriors, causes);
  /** @type {Question[]} */
  const found = [];
  /** @type {(kind: Question["kind"], id: string, answers: Array<{car: Case, isLikely: boolean}>) => void} */
  const weigh = (kind, id, answers) => {
    const after = answers.flatMap(({ car: told, isLikely }) => {
      const seen = answered(knowledge, told);
      return seen ? [{ bits: doubt(seen.posteriors, causes), odds: isLikely ? Math.exp(seen.logEvidence) : 1 }] : [];
    });
    const total = after.reduce((sum, { odds }) => sum + odds, 0);
    if (after.length < answers.length || total <= 0) return;
    const value = before - after.reduce((sum, { bits, odds }) => sum + (bits * odds) / total, 0);
    if (value > LEAST_VALUE) found.push({ kind, id, value });
  };
  for (const [id, symptom] of Object.entries(knowledge.symptoms)) {
    if (symptom.role !== "circumstance" || car.symptoms.includes(id) || car.absent?.includes(id)) continue;
    const isSo = { ...car, symptoms: [...car.symptoms, id] };
    const isNot = { ...car, absent: [...(car.absent ?? []), id] };
    weigh("symptoms", id, [
      { car: isSo, isLikely: true },
      { car: isNot, isLikely: true },
    ]);
  }
  const known = { ...noticedAnswers(knowledge, car), ...car.context };
  for (const [id, context] of Object.entries(knowledge.contexts)) {
    if (context.role === "condition" || context.type !== "choice" || Object.hasOwn(known, id)) continue;
    const options = context.options ?? [];
    weigh(
      "contexts",
      id,
      options.map((option) => ({ car: { ...car, context: { ...car.context, [id]: option.id } }, isLikely: false })),
    );
  }
  found.sort((a, b) => b.value - a.value || (a.id < b.id ? -1 : 1));
  return found.slice(0, most);
}

/**
 * Return the diagnosis with an answer told, null where nothing can be said of it.
 * @param {Knowledge} knowledge
 * @param {Case} car
 */
function answered(knowledge, car) {
  try {
    return diagnose(knowledge, car);
  } catch (error) {
    if (error instanceof Error && ["ContradictoryEvidence", "FrontierTooWide"].includes(error.name)) return null;
    throw error;
  }
}
