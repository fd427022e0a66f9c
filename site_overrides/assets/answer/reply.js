/**
 * Room answer: write the reply to somebody whose case is known, short and long.
 *
 * It says what the checker would: stop lines first, then what it may be, the one next thing, what
 * not to buy yet, two questions, and the link. It advises nothing by itself.
 *
 * @import { Advice } from "../engine/triage.js"
 * @import { Case, Check, Knowledge } from "../knowledge/types.js"
 * @import { Sentences } from "./questions.js"
 */

import { triage } from "../engine/triage.js";
import { namedCauses, roundMoney, untilWords } from "../engine/words.js";
import { fractionWords, listed, lowerFirst } from "../kit/figures.js";
import { bestQuestions } from "./asking.js";
import { sayOf } from "./questions.js";
import { causesMendedBy } from "./repairs.js";

/**
 * What a reply is written with: how it begins and ends, the address of the site with its last
 * slash, the link that opens the case, and the parts that somebody thinks of buying.
 * @typedef {{greeting: string, closing: string, site: string, link: string, thought_of?: string[]}} Frame
 */
/** `asked` are the facts that its questions ask for, `questions` all that it asks. */
/**
 * @typedef {{short: string, long: string, advice: Advice, asked: string[],
 *   questions: Array<Pick<import("./asking.js").Question, "kind" | "id">>}} Reply
 */

/** The short form fits this many signs, with what matters least left out first. */
const LONGEST_SHORT = 1000;
const MOST_CAUSES = 3;
const LEAST_CAUSE = 0.05;
const MOST_HELD = { short: 1, long: 3 };
const MOST_ASKED = 2;
const MOST_OPTIONS = 4;

/**
 * Write the reply to a case. Throws what the checker's own reasoning throws.
 * @type {(knowledge: Knowledge, sentences: Sentences, car: Case, frame: Frame) => Reply}
 */
export function replyTo(knowledge, sentences, car, frame) {
  const advice = triage(knowledge, car);
  const questions = bestQuestions(knowledge, car, MOST_ASKED);
  const asks = questionLines(knowledge, sentences, questions);
  const parts = { knowledge, sentences, advice, frame, asks };
  return {
    short: shortText(parts),
    long: longText(parts),
    advice,
    asked: questions.filter(({ kind }) => kind === "contexts").map(({ id }) => id),
    questions: questions.map(({ kind, id }) => ({ kind, id })),
  };
}

/**
 * @typedef {{knowledge: Knowledge, sentences: Sentences, advice: Advice, frame: Frame,
 *   asks: string[]}} Parts
 */

/**
 * Write the short form. What gives way first stands last in the list; stop lines, the next step
 * with its cautions, and the link never do.
 * @param {Parts} parts
 */
function shortText(parts) {
  const { sentences, advice, frame, asks } = parts;
  const stop = advice.stop_now.map(({ text }) => sayOf(sentences, "reply-stop", { text }));
  const link = frame.link === "" ? "" : sayOf(sentences, "reply-link", { link: frame.link });
  const lines = [
    { text: frame.greeting, keep: 3 },
    ...stop.map((text) => ({ text, keep: 9 })),
    { text: sayOf(sentences, "reply-thanks"), keep: 1 },
    { text: likelyLine(parts), keep: 7 },
    ...nextLines(parts, false).map((text) => ({ text, keep: 9 })),
    { text: thoughtOfLines(parts, MOST_HELD.short).join(" "), keep: 8 },
    { text: holdLine(parts, MOST_HELD.short), keep: 6 },
    { text: whyHeld(parts, MOST_HELD.short).join(" "), keep: 5 },
    { text: asks.length > 0 ? [sayOf(sentences, "reply-asks"), ...asks].join(" ") : "", keep: 4 },
    { text: link, keep: 9 },
    { text: frame.closing, keep: 2 },
  ].filter(({ text }) => text !== "");
  const written = () => lines.map(({ text }) => text).join("\n");
  while (written().length > LONGEST_SHORT) {
    const least = lines.reduce((one, other) => (other.keep < one.keep ? other : one));
    if (least.keep >= 9) break;
    lines.splice(lines.indexOf(least), 1);
  }
  return written();
}

/** @param {Parts} parts */
function longText(parts) {
  const { sentences, advice, frame, asks } = parts;
  const stop = advice.stop_now.map(({ text, why }) => sayOf(sentences, "reply-stop-why", { text, why }));
  const link = frame.link === "" ? "" : sayOf(sentences, "reply-link", { link: frame.link });
  const paragraphs = [
    [frame.greeting],
    stop,
    [sayOf(sentences, "reply-thanks"), likelyLine(parts)],
    nextLines(parts, true),
    thoughtOfLines(parts, MOST_HELD.long),
    [holdLine(parts, MOST_HELD.long), ...whyHeld(parts, MOST_HELD.long)],
    asks.length > 0 ? [sayOf(sentences, "reply-asks"), ...asks.map((one) => `- ${one}`)] : [],
    [link],
    [sayOf(sentences, "reply-estimates")],
    [frame.closing],
  ];
  return paragraphs
    .map((lines) => lines.filter((line) => line !== "").join("\n"))
    .filter((text) => text !== "")
    .join("\n\n");
}

/** @param {Parts} parts */
function likelyLine({ sentences, advice }) {
  const named = namedCauses(advice, MOST_CAUSES).filter(
    ({ probability }, place) => place === 0 || probability >= LEAST_CAUSE,
  );
  const causes = named.map(({ title, probability }) => {
    return sayOf(sentences, "reply-cause", { cause: lowerFirst(title), odds: fractionWords(probability) });
  });
  if (causes.length === 0) return "";
  return sayOf(sentences, "reply-likely", { count: causes.length > 1 ? "several" : "one", causes: causes.join("; ") });
}

/**
 * Say the one next thing, its cautions before it, and how its result is written down.
 * @type {(parts: Parts, isLong: boolean) => string[]}
 */
function nextLines({ knowledge, sentences, advice, frame }, isLong) {
  const [first] = advice.next;
  if (first) return checkLines(knowledge, sentences, first, { isLong, site: frame.site });
  if (advice.repair) {
    const cautions = knowledge.causes[advice.repair.cause]?.repair.cautions ?? [];
    const action = lowerFirst(advice.repair.action).replace(/\.$/, "");
    return [
      cautionLine(knowledge, sentences, cautions, isLong),
      sayOf(sentences, "reply-repair", { who: advice.repair.who, action }),
    ];
  }
  if (advice.workshop) {
    const { price, currency } = advice.workshop;
    return [sayOf(sentences, "reply-workshop", { amount: roundMoney(price), currency })];
  }
  return [sayOf(sentences, "reply-nothing")];
}

/**
 * @type {(knowledge: Knowledge, sentences: Sentences, next: import("../engine/triage.js").NextCheck,
 *   how: {isLong: boolean, site: string}) => string[]}
 */
function checkLines(knowledge, sentences, next, { isLong, site }) {
  const check = /** @type {Check} */ (knowledge.checks[next.check]);
  const [wait, hours] = [next.wait_hours > 0 ? "some" : "none", next.wait_hours];
  const title = lowerFirst(check.title);
  const steps = isLong ? check.steps.map((step, number) => `${number + 1}. ${step.do}`) : [];
  return [
    cautionLine(knowledge, sentences, cautionsOf(check), isLong),
    sayOf(sentences, "reply-next", { wait, check: title, minutes: next.minutes, hours }),
    ...(steps.length > 0 ? [sayOf(sentences, "reply-steps"), ...steps] : []),
    site === "" ? "" : sayOf(sentences, "reply-how", { address: `${site}checks/${next.check}/` }),
    resultLine(knowledge, sentences, check),
  ].filter((line) => line !== "");
}

/** @param {Check} check */
function cautionsOf({ cautions, steps }) {
  return [...new Set([...cautions, ...steps.flatMap(({ caution }) => caution ?? [])])];
}

/**
 * @type {(knowledge: Knowledge, sentences: Sentences, ids: string[], isLong: boolean) => string}
 * @param isLong whether each caution is told in full
 */
function cautionLine({ hazards }, sentences, ids, isLong) {
  const told = ids.flatMap((id) => hazards[id] ?? []);
  if (told.length === 0) return "";
  const cautions = told.map(({ title, text }) => (isLong ? text : title)).join(isLong ? " " : "; ");
  return sayOf(sentences, "reply-caution", { cautions: isLong ? cautions : `${cautions}.` });
}

/** @type {(knowledge: Knowledge, sentences: Sentences, check: Check) => string} */
function resultLine({ gauges }, sentences, { gauge, levels }) {
  const unit = gauges[gauge ?? ""]?.unit;
  if (unit !== undefined) {
    return sayOf(sentences, "reply-write-number", { unit: unit === "V" || unit === "A" ? unit : "other" });
  }
  const labels = levels.map(({ label }) => `“${lowerFirst(label)}”`);
  return labels.length > 1 ? sayOf(sentences, "reply-write-level", { levels: listed(labels, "or") }) : "";
}

/**
 * Answer for the parts they think of buying: the one to buy now and those held back are told of
 * anyway.
 * @param {Parts} parts
 * @param {number} most how many held back are told of
 */
function thoughtOfLines({ knowledge, sentences, advice, frame }, most) {
  const told = new Set([...advice.hold_off.slice(0, most), advice.repair ?? { part: null }].map(({ part }) => part));
  return (frame.thought_of ?? []).flatMap((what) => {
    const mended = causesMendedBy(knowledge, what);
    const part = knowledge.causes[mended[0] ?? ""]?.repair.part ?? "";
    if (part === "" || told.has(part)) return [];
    const found = advice.causes.filter(({ id }) => mended.includes(id));
    const odds = 1 - found.reduce((none, { probability }) => none * (1 - probability), 1);
    const stand = odds < LEAST_CAUSE ? "unlikely" : "open";
    return sayOf(sentences, "reply-thought-of", { stand, part: lowerFirst(part), odds: fractionWords(odds) });
  });
}

/** @type {(parts: Parts, most: number) => string} */
function holdLine({ sentences, advice }, most) {
  const parts = advice.hold_off.slice(0, most).map((held) => {
    const { part, price_low: low, price_high: high, currency, probability_at_fault: odds } = held;
    return sayOf(sentences, "reply-held", { part: lowerFirst(part), low, high, currency, odds: fractionWords(odds) });
  });
  return parts.length > 0 ? sayOf(sentences, "reply-hold", { parts: parts.join("; ") }) : "";
}

/** @type {(parts: Parts, most: number) => string[]} */
function whyHeld({ knowledge, sentences, advice }, most) {
  return advice.hold_off.slice(0, most).map(({ part, until }) => {
    return sayOf(sentences, "reply-hold-why", { part: lowerFirst(part), until: untilWords(knowledge, until) });
  });
}

/**
 * Write the questions that matter most.
 * @type {(knowledge: Knowledge, sentences: Sentences, questions: import("./asking.js").Question[]) => string[]}
 */
function questionLines(knowledge, sentences, questions) {
  return questions.map(({ kind, id }) => {
    if (kind === "symptoms") {
      return sayOf(sentences, "reply-ask-fits", { title: lowerFirst(knowledge.symptoms[id]?.title ?? id) });
    }
    const { question = id, options = [] } = knowledge.contexts[id] ?? {};
    const labels = options.slice(0, MOST_OPTIONS).map(({ label }) => lowerFirst(label));
    return sayOf(sentences, "reply-ask-fact", { question, options: labels.join(" / ") });
  });
}
