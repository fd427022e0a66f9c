/**
 * Output room: write the advice on a case as plain text, for a message or a forum.
 *
 * Twin of build_tools/output/triage_text.py; it reasons about nothing.
 *
 * @import { Knowledge } from "../../knowledge/types.js"
 * @import { Advice } from "../../engine/triage.js"
 */

import { reasonsWords, untilWords } from "../../engine/words.js";
import { fractionWords } from "../../kit/figures.js";

const MOST_CAUSES = 5;

/**
 * Write the advice as paragraphs: stop now, next check, supply, causes, hold off.
 * @param {Knowledge} knowledge
 * @param {Advice} advice
 * @returns {string}
 */
export function adviceText(knowledge, advice) {
  const parts = [
    advice.stop_now.map(({ text }) => `Stop now: ${text}`),
    nextLines(knowledge, advice),
    advice.repair ? [`Now: ${advice.repair.action}`, ...indented(knowledge, advice.repair.because)] : [],
    [`Supply: ${advice.supply.state}`, ...indented(knowledge, advice.supply.because)],
    [
      "Likeliest causes:",
      ...advice.causes
        .slice(0, MOST_CAUSES)
        .map(({ title, probability }) => `  ${title}: ${fractionWords(probability)}`),
    ],
    heldLines(knowledge, advice),
  ];
  return parts
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n");
}

/**
 * @param {Knowledge} knowledge
 * @param {import("../../engine/findings.js").Because[]} because
 */
function indented(knowledge, because) {
  return reasonsWords(knowledge, because).map((line) => `  ${line}`);
}

/**
 * @param {Knowledge} knowledge
 * @param {Advice} advice
 */
function nextLines(knowledge, { next }) {
  const [first, ...others] = next;
  if (!first) return [];
  const title = (/** @type {string} */ check) => knowledge.checks[check]?.title ?? check;
  const lines = [`Next check: ${title(first.check)} (${first.minutes} min)`, ...indented(knowledge, first.because)];
  if (others.length > 0) lines.push(`Or instead: ${others.map(({ check }) => title(check)).join(", ")}`);
  return lines;
}

/**
 * @param {Knowledge} knowledge
 * @param {Advice} advice
 */
function heldLines(knowledge, { hold_off: held }) {
  if (held.length === 0) return [];
  return [
    "Hold off buying:",
    ...held.map(
      (one) =>
        `  ${one.part}, ${one.price_low} to ${one.price_high} ${one.currency}: at fault ` +
        `in ${fractionWords(one.probability_at_fault)}. ${untilWords(knowledge, one.until)}`,
    ),
  ];
}
