/**
 * Output room: write the advice on a case as plain text, for a message or a forum.
 *
 * Twin of `advice_text` in build_tools/cli/triage_command.py; it reasons about nothing.
 *
 * @import { Knowledge } from "../../knowledge/types.js"
 * @import { Advice } from "../../engine/triage.js"
 */

import {
  fitWords,
  namedCauses,
  reasonsWords,
  roundMoney,
  setAsideWords,
  supplyName,
  untilWords,
  watchWords,
} from "../../engine/words.js";
import { fractionWords } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";

const MOST_CAUSES = 5;

/**
 * Write the advice as paragraphs: stop now, next check, supply, causes, parts not to buy yet.
 * @type {(knowledge: Knowledge, advice: Advice) => string}
 */
export function adviceText(knowledge, advice) {
  const parts = [
    advice.stop_now.map(({ text }) => say("advice-stop", { text })),
    advice.fit?.bad ? [fitWords(knowledge, advice.fit.least)] : [],
    advice.watch ? [watchWords(knowledge, advice.watch)] : [],
    advice.findings.set_aside.map((one) => setAsideWords(knowledge, one)),
    advice.instead.map((id) => knowledge.abilities?.[id]?.without ?? id),
    nextLines(knowledge, advice),
    advice.repair
      ? [
          say("advice-repair", { who: advice.repair.who, action: advice.repair.action }),
          ...indented(knowledge, advice.repair.because),
        ]
      : [],
    advice.workshop
      ? [
          say("advice-workshop", {
            amount: roundMoney(advice.workshop.price),
            currency: advice.workshop.currency,
          }),
        ]
      : [],
    // What was found before the trouble ended says nothing of the supply as it is now.
    advice.watch || !advice.supply.matters ? [] : supplyLines(knowledge, advice),
    advice.watch
      ? []
      : [
          say("advice-causes"),
          ...namedCauses(advice, MOST_CAUSES).map(
            ({ title, probability }) => `  ${title}: ${fractionWords(probability)}`,
          ),
        ],
    heldLines(knowledge, advice),
    advice.planned === "full" ? [] : [say("planned", { how: advice.planned })],
  ];
  return parts
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n");
}

/** @type {(knowledge: Knowledge, advice: Advice) => string[]} */
function supplyLines(knowledge, { supply }) {
  return [say("advice-supply", { state: supplyName(supply) }), ...indented(knowledge, supply.because)];
}

/** @type {(knowledge: Knowledge, because: import("../../engine/findings.js").Because[]) => string[]} */
function indented(knowledge, because) {
  return reasonsWords(knowledge, because).map((line) => `  ${line}`);
}

/** @type {(knowledge: Knowledge, advice: Advice) => string[]} */
function nextLines(knowledge, { next }) {
  const [first, ...others] = next;
  if (!first) return [];
  const title = (/** @type {string} */ check) => knowledge.checks[check]?.title ?? check;
  const heading = say("advice-next", { check: title(first.check), minutes: first.minutes });
  const lines = [heading, ...indented(knowledge, first.because)];
  if (others.length > 0) {
    lines.push(say("advice-instead", { checks: others.map(({ check }) => title(check)).join(", ") }));
  }
  return lines;
}

/** @type {(knowledge: Knowledge, advice: Advice) => string[]} */
function heldLines(knowledge, { hold_off: held }) {
  if (held.length === 0) return [];
  return [
    say("advice-hold-off"),
    ...held.map(({ part, price_low: low, price_high: high, currency, ...one }) => {
      const odds = fractionWords(one.probability_at_fault);
      return `  ${say("advice-held", { part, low, high, currency, odds, until: untilWords(knowledge, one.until) })}`;
    }),
  ];
}
