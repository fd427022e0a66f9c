/**
 * Room reasoning: why monitors have not run, as one document with its sentences, for the commands.
 *
 * The page shows the same parts; both ask `whyNotRun`.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Tables } from "./tables.js"
 */

import { supplyName, supplyWords } from "../engine/words.js";
import { lowerFirst, minutesWords, moneyWords } from "../kit/figures.js";
import { ratioLevel, runFactsFrom } from "./evidence.js";
import { caseTold, readoutWith } from "./told.js";
import { quickCheck, whyNotRun } from "./why-not-run.js";

const MOST_SPOKEN = 3;

/** Say the title of what a step names. @type {(knowledge: Knowledge, id: string|null) => string} */
export function stepTitle(knowledge, id) {
  if (id === null) return "";
  const cause = knowledge.causes[id];
  return cause ? cause.repair.action : (knowledge.checks[id]?.title ?? knowledge.stop_lines[id]?.text ?? "");
}

/** Say what it takes to make a check. @type {(knowledge: Knowledge, id: string) => string} */
export function effortWords(knowledge, id) {
  const check = knowledge.checks[id];
  return check ? ` (${minutesWords(check.minutes)}, costs ${moneyWords(check.money, check.currency)})` : "";
}

/**
 * Say what made a reason more or less likely.
 * @type {(knowledge: Knowledge, levels: Record<string, string>, names: string[]) => string}
 */
export function spokenBy(knowledge, levels, names) {
  const words = names.slice(0, MOST_SPOKEN).map((name) => {
    const check = knowledge.checks[name];
    if (!check) return lowerFirst(knowledge.symptoms[name]?.title ?? knowledge.contexts[name]?.title ?? name);
    const level = check.levels.find(({ id }) => id === levels[name]);
    return `${lowerFirst(check.title)}: ${lowerFirst(level?.label ?? "")}`;
  });
  return words.join("; ");
}

/**
 * Rank what may hold the incomplete monitors, in words.
 * @param {Knowledge} knowledge
 * @param {Tables} tables
 * @param {{readout: string | Record<string, unknown>, told: Record<string, string>,
 *   facts: Record<string, unknown>, car: Case | null}} given
 */
export function whyDocument(knowledge, tables, { readout: given, told, facts, car }) {
  const readout = readoutWith(given, told);
  const asked = caseTold(car, told);
  const found = whyNotRun(knowledge, tables, { readout, facts: runFactsFrom(facts), car: asked });
  const { words } = tables;
  const { step, hint, advice } = found;
  const { advice: _, asked: __, ...plain } = found;
  const isOpen = found.monitors.length > 0;
  const levels = found.evidence ?? {};
  return {
    ...plain,
    monitors: found.monitors.map((monitor) => ({
      ...monitor,
      blockers: monitor.blockers.map((one) => {
        const check = quickCheck(knowledge, one.cause);
        return {
          ...one,
          raised_says: spokenBy(knowledge, levels, one.raised_by),
          lowered_says: spokenBy(knowledge, levels, one.lowered_by),
          check: check && `${knowledge.checks[check].title}${effortWords(knowledge, check)}`,
        };
      }),
    })),
    says: words.run_states[found.state === "ok" && !isOpen ? "nothing-open" : found.state],
    hint_says: hint === null ? null : words.hints[hint],
    step: step && isOpen && { ...step, says: words.steps[step.kind], title: stepTitle(knowledge, step.id) },
    supply: advice && {
      state: advice.supply.state,
      name: supplyName(advice.supply),
      says: supplyWords(advice.supply.state),
    },
    ratio: ratioLevel(readout),
    next: advice ? advice.next.map(({ check }) => check) : [],
  };
}
