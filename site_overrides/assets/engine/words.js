/**
 * Output room: say what the reasoning found, in plain sentences.
 *
 * Takes the data that triage, trace and gauges give and the compiled knowledge, and makes the
 * same sentences as build_tools/engine/words.py. It decides nothing and calls nothing certain.
 *
 * @import { SetAside } from "./mended.js"
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { Because, Findings } from "./findings.js"
 * @import { Supply } from "./supply.js"
 * @import { EvidenceWeight } from "./trace.js"
 * @import { Advice } from "./triage.js"
 */
import { fractionWords, listed, lowerFirst } from "../kit/figures.js";
import { say } from "../kit/sentences.js";

const MOST_NAMED = 3;
const WORTH_SAYING = 0.1;
const LEAST_MONEY = 1;

/** @typedef {{answers?: Record<string, string>, levels?: Record<string, string>, repairs?: Record<string, string>}} Said */

/** @type {(knowledge: Knowledge, kind: "causes" | "checks" | "contexts" | "symptoms", name?: string) => string} */
function titleOf(knowledge, kind, name = "") {
  return knowledge[kind][name]?.title ?? name;
}

/** @type {(knowledge: Knowledge, name?: string) => string} */
function causeName(knowledge, name) {
  return lowerFirst(titleOf(knowledge, "causes", name));
}

/** @type {(knowledge: Knowledge, check?: string, level?: string) => string} */
function labelOf(knowledge, check = "", level = "") {
  const found = knowledge.checks[check]?.levels.find(({ id }) => id === level);
  return found ? lowerFirst(found.label) : level;
}

/** @type {(knowledge: Knowledge, reason: Because) => string} */
function reasonWords(knowledge, reason) {
  const { kind, state, known, aspect, aspects, check, level, checks, context, symptom } = reason;
  const { free, cause, causes, probability } = reason;
  const quoted = (/** @type {string[]} */ names) => names.map((name) => `“${name}”`);
  return say("reason", {
    kind,
    free,
    state,
    known,
    aspect,
    side: say("side", { aspect }),
    sides: listed((aspects ?? []).map((/** @type {string} */ one) => `the ${say("side", { aspect: one })}`)),
    check: titleOf(knowledge, "checks", check),
    level: labelOf(knowledge, check, level),
    checks: listed(quoted((checks ?? []).map((/** @type {string} */ one) => titleOf(knowledge, "checks", one)))),
    context: lowerFirst(titleOf(knowledge, "contexts", context)),
    symptom: lowerFirst(titleOf(knowledge, "symptoms", symptom)),
    cause: causeName(knowledge, cause),
    causes: listed(
      quoted((causes ?? []).slice(0, MOST_NAMED).map((/** @type {string} */ one) => causeName(knowledge, one))),
      "or",
    ),
    title: titleOf(knowledge, "causes", cause),
    odds: fractionWords(probability ?? 0),
  });
}

/** @type {(knowledge: Knowledge, reasons: Because[]) => string[]} */
export function reasonsWords(knowledge, reasons) {
  return reasons.map((one) => reasonWords(knowledge, one)).filter((words) => words !== "");
}

/** Say the state of the supply in one sentence. @param {string} state */
export function supplyWords(state) {
  return say("supply-state", { state });
}

/** Name the state of battery and charging in everyday words. @param {Pick<Supply, "state" | "proven">} supply */
export function supplyName({ state, proven }) {
  return say("supply-name", { state, known: Object.keys(proven).length > 0 ? "some" : undefined });
}

/** @type {(knowledge: Knowledge, least: string | null) => string} */
export function fitWords(knowledge, least) {
  return say("hardly-fit", { check: least === null ? "" : titleOf(knowledge, "checks", least) });
}

/** @type {(knowledge: Knowledge, watch: Because) => string} */
export function watchWords(knowledge, { kind, cause = "" }) {
  return say("watch", { kind, cause: causeName(knowledge, cause) });
}

/** Say why a result no longer counts. @type {(knowledge: Knowledge, one: SetAside) => string} */
export function setAsideWords(knowledge, { check, by }) {
  return say("set-aside", { check: titleOf(knowledge, "checks", check), by: titleOf(knowledge, "checks", by) });
}

/** Say how long to wait before buying a part. @type {(knowledge: Knowledge, until: Because) => string} */
export function untilWords(knowledge, until) {
  const { kind, check, level } = until;
  const entry = knowledge.checks[check ?? ""];
  // Only a scale has a "worse"; what is seen or not seen has none.
  const worse = entry?.gauge && entry.levels.at(-1)?.id !== level;
  return say("hold-off-until", {
    kind,
    check: titleOf(knowledge, "checks", check),
    level: labelOf(knowledge, check, level),
    worse: worse ? "yes" : "no",
  });
}

/**
 * Say what a check is expected to save, or nothing when it is too little to speak of.
 * @type {(amount: number, currency: string) => string}
 */
export function savingWords(amount, currency) {
  if (amount < LEAST_MONEY) return "";
  return say("saving", { amount: roundMoney(amount), currency });
}

/** Round to whole units, and to tens from 100 up: our estimates carry no more digits. @param {number} amount */
export function roundMoney(amount) {
  const step = amount >= 100 ? 10 : 1;
  return Math.floor(amount / step + 0.5) * step;
}

/** @type {(knowledge: Knowledge, push: EvidenceWeight, said: Said) => string} */
function pushWords(knowledge, push, said) {
  if (push.kind === "symptom") return lowerFirst(titleOf(knowledge, "symptoms", push.id));
  if (push.kind === "absent") {
    return say("was-not-so", { symptom: lowerFirst(titleOf(knowledge, "symptoms", push.id)) });
  }
  if (push.kind === "past") {
    return say("was-there", { symptom: lowerFirst(titleOf(knowledge, "symptoms", push.id)) });
  }
  if (push.kind === "repair") {
    return say("repair-made", { cause: causeName(knowledge, push.id), how: said.repairs?.[push.id] });
  }
  if (push.kind === "context") return answerWords(knowledge, push.id, said.answers?.[push.id]);
  const title = lowerFirst(titleOf(knowledge, "checks", push.id));
  const level = said.levels?.[push.id];
  return level === undefined ? title : `${title} (${labelOf(knowledge, push.id, level)})`;
}

/** @type {(knowledge: Knowledge, name: string, answer: string | undefined) => string} */
function answerWords(knowledge, name, answer) {
  const context = knowledge.contexts[name];
  const title = lowerFirst(context?.title ?? name);
  const option = context?.options?.find(({ id }) => id === answer);
  if (option) return `${title} (${lowerFirst(option.label)})`;
  return answer === undefined ? title : `${title} (${answer})`;
}

/**
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
 * @type {(knowledge: Knowledge, findings: Findings) => Said}
 */
export function saidOf(knowledge, findings) {
  /** @type {Record<string, string>} */
  const levels = {};
  for (const [check, weights] of Object.entries(findings.results)) {
    const level = knowledge.checks[check]?.levels[weights.indexOf(Math.max(...weights))];
    if (level) levels[check] = level.id;
  }
  return { answers: findings.answers, levels, repairs: findings.repairs };
}

/**
 * @param {Advice} advice
 * @param {number} most
 */
export function namedCauses(advice, most) {
  return advice.causes.filter(({ explains }) => explains).slice(0, most);
}
