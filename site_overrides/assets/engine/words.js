/**
 * Output room: say what the reasoning found, in plain sentences.
 *
 * Takes the data that triage, trace and gauges give and the compiled knowledge, and makes the
 * same sentences as build_tools/output/words.py. It decides nothing and calls nothing certain.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { EvidenceWeight } from "./trace.js"
 * @import { PredictedLevel } from "./triage.js"
 */
import { fractionWords } from "../kit/figures.js";

/** @type {Record<string, [string, string]>} */
const SIDES = {
  battery: ["battery", "is"],
  connection: ["connections", "are"],
  charging: ["charging", "is"],
  drain: ["parked draw", "is"],
};
/** @type {Record<string, string>} */
const FIRST = {
  unproven: "The supply is not proven yet, so a check on it comes before any part.",
  doubtful: "The supply is in doubt, and settling that comes before any part.",
};
/** @type {Record<string, string>} */
const STATES = {
  unproven: "The supply is not proven yet.",
  doubtful: "The supply is in doubt.",
  failing: "The supply is failing: something in it is very likely not as it should be.",
  sound: "The supply is sound.",
};
const MOST_NAMED = 3;
const WORTH_SAYING = 0.1;
const LEAST_MONEY = 1;

/** @typedef {{answers?: Record<string, string>, levels?: Record<string, string>}} Said */

/**
 * Let a title go on inside a sentence: small first letter unless it is an abbreviation.
 * @param {string} text
 */
export function inSentence(text) {
  return /^.[a-z ]/.test(text) ? text.charAt(0).toLowerCase() + text.slice(1) : text;
}

/**
 * Join words the way one says them: a, b and c.
 * @param {string[]} words
 * @param {string} [joint]
 */
export function listed(words, joint = "and") {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} ${joint} ${words.at(-1)}`;
}

/**
 * @param {Knowledge} knowledge
 * @param {"causes" | "checks" | "symptoms"} kind
 * @param {string} name
 */
function titleOf(knowledge, kind, name) {
  return knowledge[kind][name]?.title ?? name;
}

/**
 * @param {Knowledge} knowledge
 * @param {string} name
 */
function causeName(knowledge, name) {
  return inSentence(titleOf(knowledge, "causes", name));
}

/**
 * @param {Knowledge} knowledge
 * @param {string} check
 * @param {string} level
 */
function labelOf(knowledge, check, level) {
  const found = knowledge.checks[check]?.levels.find(({ id }) => id === level);
  return found ? inSentence(found.label) : level;
}

/**
 * @param {Knowledge} knowledge
 * @param {Because} reason
 */
function foundWords(knowledge, { check, level }) {
  const title = titleOf(knowledge, "checks", check);
  return `“${title}” came out “${labelOf(knowledge, check, level)}”`;
}

/**
 * Say one reason of an advice as a sentence; an unknown kind gives an empty text.
 * @param {Knowledge} knowledge
 * @param {Because} reason
 * @returns {string}
 */
export function reasonWords(knowledge, reason) {
  return checkReason(knowledge, reason) || supplyReason(knowledge, reason);
}

/**
 * @param {Knowledge} knowledge
 * @param {Because} reason
 * @returns {string}
 */
function supplyReason(knowledge, reason) {
  const [side, verb] = SIDES[reason.aspect] ?? ["", ""];
  switch (reason.kind) {
    case "symptom":
      return `You noticed: ${inSentence(titleOf(knowledge, "symptoms", reason.symptom))}.`;
    case "level":
    case "abnormal":
      return `${foundWords(knowledge, reason)}.`;
    case "proven": {
      const checks = reason.checks.map((/** @type {string} */ one) => titleOf(knowledge, "checks", one));
      const by = listed(checks.map((/** @type {string} */ title) => `“${title}”`));
      return `The ${side} ${verb} proven by ${by}.`;
    }
    case "open":
      return `The ${side} ${verb} not proven yet.`;
    case "supply-probability": {
      const odds = fractionWords(reason.probability);
      return `Something in the supply plays a part in ${odds} cars with these findings.`;
    }
    case "confirmed":
      return `${foundWords(knowledge, reason)}, which confirms it.`;
    case "worth-trying":
      return "No check left would tell more for its price. This is the cheapest to try for its chance, and it is not proven.";
    case "probability": {
      const odds = fractionWords(reason.probability);
      return `${titleOf(knowledge, "causes", reason.cause)}: ${odds} cars with these findings.`;
    }
    default:
      return "";
  }
}

/**
 * @param {Knowledge} knowledge
 * @param {Because} reason
 * @returns {string}
 */
function checkReason(knowledge, reason) {
  switch (reason.kind) {
    case "instead":
      return `“${titleOf(knowledge, "checks", reason.check)}” would mislead as things stand, so this comes first.`;
    case "needed-before":
      return `“${titleOf(knowledge, "checks", reason.check)}” needs its result.`;
    case "supply-first":
      return FIRST[reason.state] ?? "";
    case "proves": {
      const sides = reason.aspects.map((/** @type {string} */ one) => `the ${SIDES[one]?.[0]}`);
      return `A normal result proves ${listed(sides)}.`;
    }
    case "confirms":
      return `It can confirm the likeliest cause: ${causeName(knowledge, reason.cause)}.`;
    case "quick-look":
      return `A quick look here can confirm what is cheapest to put right: ${causeName(knowledge, reason.cause)}.`;
    case "look-alike": {
      const one = causeName(knowledge, reason.cause);
      return `It tells “${one}” from its look-alike “${causeName(knowledge, reason.other)}”.`;
    }
    case "tells-apart": {
      const named = reason.causes
        .slice(0, MOST_NAMED)
        .map((/** @type {string} */ one) => `“${causeName(knowledge, one)}”`);
      return `Its result decides which is likeliest: ${listed(named, "or")}.`;
    }
    default:
      return "";
  }
}

/**
 * Say each reason as a sentence, leaving out what has no words.
 * @param {Knowledge} knowledge
 * @param {Because[]} reasons
 */
export function reasonsWords(knowledge, reasons) {
  return reasons.map((one) => reasonWords(knowledge, one)).filter((words) => words !== "");
}

/**
 * Say the state of the supply in one sentence.
 * @param {string} state
 */
export function supplyWords(state) {
  return STATES[state] ?? "";
}

/**
 * Say how long to hold off on a part.
 * @param {Knowledge} knowledge
 * @param {Because} until
 */
export function untilWords(knowledge, until) {
  if (until.kind === "supply-sound") return "Hold off until the supply is sound.";
  if (until.kind !== "check") return "Hold off until a workshop has confirmed it.";
  const level = labelOf(knowledge, until.check, until.level);
  return `Hold off until “${titleOf(knowledge, "checks", until.check)}” shows “${level}” or worse.`;
}

/**
 * Say what a check is expected to save, or nothing when it is too little to speak of.
 * @param {number} amount
 * @param {string} currency
 */
export function savingWords(amount, currency) {
  if (amount < LEAST_MONEY) return "";
  return `Expected to save about ${roundMoney(amount)} ${currency} against buying by guess.`;
}

/**
 * Round to whole units, and to tens from 100 up: our estimates carry no more digits.
 * @param {number} amount
 */
export function roundMoney(amount) {
  const step = amount >= 100 ? 10 : 1;
  return Math.floor(amount / step + 0.5) * step;
}

/**
 * Say how likely an outcome is and which cause would then lead.
 * @param {Knowledge} knowledge
 * @param {string} check
 * @param {PredictedLevel} outcome
 */
export function outcomeWords(knowledge, check, outcome) {
  const label = labelOf(knowledge, check, outcome.level);
  if (outcome.top_cause === null) return `If “${label}”, the next check can follow.`;
  const odds = fractionWords(outcome.probability);
  return `If “${label}” (${odds}), “${causeName(knowledge, outcome.top_cause)}” is likeliest.`;
}

/**
 * Name what pushed a cause, as part of a list: a symptom, a result, an answer.
 * @param {Knowledge} knowledge
 * @param {EvidenceWeight} push
 * @param {Said} said
 */
export function pushWords(knowledge, push, said) {
  if (push.kind === "symptom") return inSentence(titleOf(knowledge, "symptoms", push.id));
  if (push.kind === "absent") {
    return `not so: ${inSentence(titleOf(knowledge, "symptoms", push.id))}`;
  }
  if (push.kind === "context") return answerWords(knowledge, push.id, said.answers?.[push.id]);
  const title = inSentence(titleOf(knowledge, "checks", push.id));
  const level = said.levels?.[push.id];
  return level === undefined ? title : `${title} (${labelOf(knowledge, push.id, level)})`;
}

/**
 * @param {Knowledge} knowledge
 * @param {string} name
 * @param {string | undefined} answer
 */
function answerWords(knowledge, name, answer) {
  const context = knowledge.contexts[name];
  const title = inSentence(context?.title ?? name);
  const option = context?.options?.find(({ id }) => id === answer);
  if (option) return `${title} (${inSentence(option.label)})`;
  return answer === undefined ? title : `${title} (${answer})`;
}

/**
 * Return what raised and what lowered a cause, up to three each, strongest first.
 * @param {Knowledge} knowledge
 * @param {EvidenceWeight[]} pushes
 * @param {Said} said
 */
export function pushesWords(knowledge, pushes, said) {
  /** @type {string[]} */
  const raised = [];
  /** @type {string[]} */
  const lowered = [];
  for (const push of pushes) {
    if (Math.abs(push.change) < WORTH_SAYING) continue;
    const side = push.change > 0 ? raised : lowered;
    if (side.length < MOST_NAMED) side.push(pushWords(knowledge, push, said));
  }
  return { raised, lowered };
}

/**
 * Give what `pushWords` needs of a case: answers, and the level each check most likely shows.
 * @param {Knowledge} knowledge
 * @param {Findings} findings
 * @returns {Said}
 */
export function saidOf(knowledge, findings) {
  /** @type {Record<string, string>} */
  const levels = {};
  for (const [check, weights] of Object.entries(findings.results)) {
    const level = knowledge.checks[check]?.levels[weights.indexOf(Math.max(...weights))];
    if (level) levels[check] = level.id;
  }
  return { answers: findings.answers, levels };
}
