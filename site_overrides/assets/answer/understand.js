/**
 * Room answer: read what somebody wrote about their car.
 *
 * Joins the parts of this room: words, phrases, numbers, conditions, symptoms. What is found keeps
 * its place in the message; nothing is found that is not said there. Nothing here touches a page,
 * and nothing enters a case: that is for the reader of the answer to decide.
 *
 * @import { SearchIndex } from "../knowledge/types.js"
 * @import { PhraseBook } from "./phrases.js"
 * @import { Part, Reading } from "./readings.js"
 * @import { Window } from "./symptoms.js"
 * @import { Clause, Token } from "./tokens.js"
 */

import { factsIn } from "./facts.js";
import { isAllWell, isAsked, isDenied, lampLists, mayBeMeant, setAside } from "./meant.js";
import { mentionsIn } from "./numbers.js";
import { phrasesIn } from "./phrases.js";
import { readingsOf } from "./readings.js";
import { isAdvice, standings } from "./standing.js";
import { symptomsIn } from "./symptoms.js";
import { clausesOf, LONGEST_MESSAGE, plainText, tokensOf, wordsBetween } from "./tokens.js";
import {
  codesIn,
  monitorResult,
  monitorsIn,
  replacedIn,
  resultsIn,
  thoughtOfIn,
  toolsIn,
  withPermanence,
} from "./told.js";

/** @typedef {{words: string, start: number, end: number}} Said words of the message and where they stand */
/**
 * @typedef {object} Understood
 * @property {Array<{id: string, sure: boolean} & Said>} symptoms `sure` where a phrase names it or little is apter
 * @property {Array<{id: string} & Said>} circumstances
 * @property {Array<{id: string} & Said>} [absent] circumstances that were asked about and do not fit
 * @property {Array<{quantity: string, value: number, unit: string, certain: boolean, check?: string} & Said>} readings
 *   `check` names the one it goes into where the quantity does not
 * @property {Record<string, string | number>} facts
 * @property {Array<{id: string} & Said>} fact_words
 * @property {Array<{code: string, permanent: boolean} & Said>} codes
 * @property {Array<{id: string, answer: string} & Said>} results checks that were made, with what they showed
 * @property {Array<{what: string, helped: boolean | null} & Said>} replaced
 * @property {Array<{what: string} & Said>} thought_of parts to buy that the message names
 * @property {Array<{id: string} & Said>} tools
 * @property {Record<string, string>} monitors
 * @property {Said[]} past
 * @property {Array<{id: string} & Said>} past_symptoms complaints that were there and are over
 * @property {Said[]} negated
 * @property {Said[]} not_understood
 * @property {boolean} cut whether the message was longer than is looked at
 */

/** Sentences of at most so many words are read together with the one before. */
const SHORT = 9;
/** Clauses of fewer words say nothing alone. */
const LEAST_WORDS = 2;
/** What is left over is told from so many words on. */
const LEAST_LEFT = 3;
const TOO_HIGH = 15;
const FREEZING_F = 32;
/** Phrases that belong to a reading and to no complaint. */
const OF_READING = new Set(["measure", "part", "tool", "condition", "volts", "talk", "advice"]);
/** What a phrase that names a symptom adds to its score, and each of its words. */
const CUE = 2;
const CUE_WORD = 0.5;
/** What reaches this share of the aptest is as likely meant; what a phrase names, from the other share on. */
const SURE = 0.8;
const SURE_NAMED = 0.5;
/** A complaint that carries a stop line from this share on: to miss one costs more than to ask in vain. */
const SURE_STOP = 0.6;
/** Below this score nothing else is sure: a few common words reach it by chance. */
const SURE_SCORE = 3;
const DYING = new Set(["die", "dies", "died", "dying", "quit", "quits"]);
/** So many words behind a part tell what it does. */
const NEAR_PART = 3;
/** Complaints of an engine that dies. */
const OF_ENGINE = new Set(["dies-while-driving", "stalls-after-battery-change"]);
const COLDEST = -60;
const HOTTEST = 60;

/**
 * Read a message.
 * @type {(index: SearchIndex, book: PhraseBook, message: string) => Understood}
 * @param index what the search finds symptoms by
 */
export function understand(index, book, message) {
  const text = message.slice(0, LONGEST_MESSAGE);
  const tokens = tokensOf(text);
  const clauses = clausesOf(tokens);
  const met = clauses.map((clause) => phrasesIn(book, tokens, clause));
  const standing = standings(clauses, met);
  const parts = clauses.map((clause, place) => ({ ...clause, met: met[place] ?? [], standing: standing[place] ?? "" }));
  const said = (/** @type {{from: number, to: number}} */ { from, to }) => ({
    words: wordsBetween(text, tokens, from, to),
    start: tokens[from]?.start ?? 0,
    end: tokens[to - 1]?.end ?? 0,
  });
  const readings = readingsOf(
    tokens,
    parts.map((part) => withNumbers(tokens, part)),
  );
  const replaced = replacedIn(parts);
  const facts = factsIn(tokens, parts, replaced, readings);
  const codes = withPermanence(codesIn(plainText(text)).filter(isToldNow(tokens, parts)), tokens, parts);
  const dead = deadThings(tokens, parts);
  const aside = setAside(tokens, parts);
  const isOut = (/** @type {number} */ start, /** @type {import("./phrases.js").Met} */ { value, from }) =>
    (dead.has(from) && OF_ENGINE.has(value)) || aside[from] === 1 || isDenied(tokens, start, from);
  const cues = [...cuesIn(parts.filter(isNow), isOut), ...lampLists(parts)];
  const back = new Set(parts.filter(({ met }) => met.some(isBack)).map(sentenceOf));
  const ended = parts.filter((part) => isOver(part) && !back.has(part.sentence));
  const over = cuesIn(ended, isOut);
  const words = telling(tokens, readings).map((word, place) => (aside[place] ? "" : (dead.get(place) ?? word)));
  const windows = windowsOf(quieted(tokens, parts, readings));
  if (parts.some(({ met }) => met.some(({ kind }) => kind === "cured")))
    over.push(...endedIn(index, words, ended, over));
  const monitors = monitorsIn(parts);
  const isWell = isAllWell(parts, cues.length > 0);
  const unlessWell = (/** @type {Array<{id: string, from: number, to: number}>} */ some) =>
    (isWell ? [] : some).map(({ id, ...one }) => ({ id, ...said(one) }));
  const apt = symptomsIn(index, words, windows, cues, mayBeMeant(book, tokens, parts, aside));
  const sure = surest(index, apt, new Set(cues.map(({ id }) => id)));
  const found = {
    symptoms: unlessWell(apt).map((one) => ({ ...one, sure: sure.has(one.id) })),
    circumstances: unlessWell(circumstancesOf(tokens, parts, readings, replaced)),
    readings: readings.map(({ from, to, ...one }) => ({ ...one, ...said({ from, to }) })),
    facts: { ...Object.fromEntries([...facts].map(([id, { answer }]) => [id, answer])), ...measuredFacts(readings) },
    fact_words: [...facts].map(([id, one]) => ({ id, ...said(one) })),
    codes: codes.map((one) => ({ ...one, words: text.slice(one.start, one.end) })),
    results: [...resultsIn(tokens, parts, facts), ...monitorResult(monitors)].map(({ id, answer, ...one }) => ({
      id,
      answer,
      ...said(one),
    })),
    replaced: replaced.map(({ what, helped, ...one }) => ({ what, helped, ...said(one) })),
    thought_of: thoughtOfIn(parts, replaced).map(({ what, ...one }) => ({ what, ...said(one) })),
    tools: toolsIn(tokens, parts, readings).map(({ id, ...one }) => ({ id, ...said(one) })),
    monitors: Object.fromEntries(monitors.map(({ id, state }) => [id, state])),
    past: parts.filter(isPast).map(said),
    past_symptoms: over
      .filter(({ id }) => cues.every((one) => one.id !== id))
      .map(({ id, ...one }) => ({ id, ...said(one) })),
    negated: parts.filter((one) => one.standing === "denied").map(said),
    cut: message.length > text.length,
  };
  return { ...found, not_understood: leftOver(tokens, parts, found).map(said) };
}

/**
 * Name what is surely meant.
 * @type {(index: SearchIndex, apt: import("./symptoms.js").Found[], named: Set<string>) => Set<string>}
 * @param apt the most apt first
 * @param named what phrases of the vocabulary name
 */
function surest(index, apt, named) {
  const best = apt[0]?.score ?? 0;
  const isSure = (/** @type {import("./symptoms.js").Found} */ { id, score }) => {
    // What comes first only on a strong match is what carries a stop line.
    if (index.texts[id]?.first === "sure" && (named.has(id) || score >= best * SURE_STOP)) return true;
    return score >= Math.max(SURE_SCORE, best * (named.has(id) ? SURE_NAMED : SURE));
  };
  return new Set(apt.filter(isSure).map(({ id }) => id));
}

/**
 * Add what a message answers to questions that were asked before; it goes before what was read.
 * What does not fit goes to `absent`.
 * @type {(understood: Understood, answered: import("./asked.js").Answered[]) => Understood}
 */
export function withAnswers(understood, answered) {
  const ids = new Set(answered.map(({ id }) => id));
  const told = answered.filter(({ kind }) => kind === "contexts");
  const fits = (/** @type {string} */ word) =>
    answered.flatMap(({ kind, answer, id, words, start, end }) =>
      kind === "symptoms" && answer === word ? [{ id, words, start, end }] : [],
    );
  return {
    ...understood,
    circumstances: [...understood.circumstances.filter(({ id }) => !ids.has(id)), ...fits("yes")],
    absent: fits("no"),
    facts: { ...understood.facts, ...Object.fromEntries(told.map(({ id, answer }) => [id, answer])) },
    fact_words: [
      ...understood.fact_words.filter(({ id }) => !ids.has(id)),
      ...told.map(({ id, words, start, end }) => ({ id, words, start, end })),
    ],
  };
}

/**
 * Put in the result of the check that was asked for; what stands within its words is no denial.
 * @type {(understood: Understood, told: Understood["results"][number] | null) => Understood}
 */
export function withResult(understood, told) {
  if (told === null) return understood;
  return {
    ...understood,
    results: [...understood.results.filter(({ id }) => id !== told.id), told],
    negated: understood.negated.filter(({ start, end }) => end <= told.start || told.end <= start),
  };
}

/**
 * Add the numbers of a clause; of what is past, another car's or heard no number is a reading.
 * @type {(tokens: Token[], part: Clause & {met: import("./phrases.js").Met[], standing: string}) => Part}
 */
function withNumbers(tokens, part) {
  const mentions = mentionsIn(tokens, part, part.met).filter((mention) => !isAdvice(part.met, mention));
  return { ...part, mentions, standing: part.standing === "denied" ? "" : part.standing };
}

/**
 * Find what a message tells to be cured, where no phrase of the vocabulary names it: the aptest symptom
 * of what is over.
 * @param {SearchIndex} index
 * @param {string[]} words
 * @param {Array<Clause & {met: import("./phrases.js").Met[]}>} ended
 * @param {import("./symptoms.js").Found[]} over named already
 */
function endedIn(index, words, ended, over) {
  const isAct = (/** @type {import("./phrases.js").Met} */ { kind, value }) =>
    kind === "cured" || kind === "replaced" || (kind === "was" && value === "act");
  const windows = ended.filter(({ from, to, met }) => to - from >= LEAST_WORDS && !met.some(isAct));
  return over.length > 0 ? [] : symptomsIn(index, words, windows, [], () => true).slice(0, 1);
}

/**
 * Find where a part is said to die, as engines do on the road: a battery that dies is flat, and a
 * radio that does is dead.
 * @param {Token[]} tokens
 * @param {Array<Clause & {met: import("./phrases.js").Met[]}>} parts
 * @returns {Map<number, string>} what the word means, by its place
 */
function deadThings(tokens, parts) {
  /** @type {Map<number, string>} */
  const found = new Map();
  for (const { to, met } of parts) {
    for (const part of met.filter(({ kind }) => kind === "part")) {
      for (let place = part.to; place < Math.min(part.to + NEAR_PART, to); place += 1) {
        if (DYING.has(tokens[place]?.text ?? "")) found.set(place, part.value === "battery" ? "flat" : "dead");
      }
    }
  }
  return found;
}

/**
 * List the symptoms that phrases name, each once, a longer phrase for more. None begins with what
 * a part does that dies.
 * @param {Array<{from: number, met: import("./phrases.js").Met[]}>} parts
 * @param {(start: number, cue: import("./phrases.js").Met) => boolean} isOut whether a phrase tells none
 */
function cuesIn(parts, isOut) {
  /** @type {Map<string, {id: string, score: number, from: number, to: number}>} */
  const cues = new Map();
  for (const { from: start, met } of parts) {
    for (const one of met.filter(({ kind }) => kind === "cue")) {
      const score = CUE + CUE_WORD * (one.to - one.from);
      if ((cues.get(one.value)?.score ?? 0) < score && !isOut(start, one))
        cues.set(one.value, { id: one.value, score, from: one.from, to: one.to });
    }
  }
  return [...cues.values()];
}

/**
 * Let clauses that tell no complaint stand for none: little but a reading ("the battery reads
 * 12.4"), a monitor that is done, a tool somebody owns.
 * @param {Token[]} tokens
 * @param {Array<Clause & {met: import("./phrases.js").Met[], standing: string}>} parts
 * @param {Reading[]} readings
 */
function quieted(tokens, parts, readings) {
  const readIn = inClauses(parts, readings);
  return parts.map((part, number) => {
    if (part.standing !== "") return part;
    const has = (/** @type {string} */ kind) => part.met.some((one) => one.kind === kind);
    const isDone = part.met.some(
      ({ kind, value, ...at }) =>
        kind === "stand" &&
        value === "complete" &&
        (has("monitor") || has("listed") || at.to - at.from === part.to - part.from),
    );
    const isDoneBeside = (has("monitor") || has("listed")) && isDoneNext(part, parts[number + 1]);
    if (isDone || isDoneBeside || (has("tool") && has("having"))) return { ...part, standing: "denied" };
    const read = readIn[number] ?? [];
    if (read.length === 0) return part;
    const taken = [...read, ...part.met.filter(({ kind }) => OF_READING.has(kind))];
    const isTaken = (/** @type {number} */ place) => taken.some(({ from, to }) => from <= place && place < to);
    const left = tokens
      .slice(part.from, part.to)
      .filter(({ kind }, step) => kind === "word" && !isTaken(part.from + step));
    return left.length < LEAST_LEFT ? { ...part, standing: "denied" } : part;
  });
}

/**
 * Share readings out among the clauses they begin in; both in the order of the message.
 * @type {(parts: Clause[], readings: Reading[]) => Reading[][]}
 */
function inClauses(parts, readings) {
  let next = 0;
  return parts.map(({ to }) => {
    const first = next;
    while ((readings[next]?.from ?? to) < to) next += 1;
    return readings.slice(first, next);
  });
}

/**
 * Tell whether the clause behind a monitor, in its sentence, says that it is done.
 * @type {(part: Clause, next: (Clause & {met: import("./phrases.js").Met[]}) | undefined) => boolean}
 */
function isDoneNext(part, next) {
  return (
    next?.sentence === part.sentence && next.met.some(({ kind, value }) => kind === "stand" && value === "complete")
  );
}

/**
 * Return the word of each token by which symptoms are found. Numbers are none, and of what was read
 * of a meter nothing is left: "the meter says 12.2 volts" is no complaint. What is too high is one.
 * @type {(tokens: Token[], readings: Reading[]) => string[]}
 */
function telling(tokens, readings) {
  const words = tokens.map(({ kind, text }, place) => {
    const next = tokens[place + 1];
    return kind !== "word" ? "" : next?.kind === "number" && next.glued ? text + next.text : text;
  });
  for (const { from, to, unit, value } of readings) {
    if (unit !== "V" || value < TOO_HIGH) words.fill("", from, to);
  }
  return words;
}

/**
 * List the stretches in which symptoms are looked for: clauses, pairs of them, sentences, and
 * short sentences with the one before.
 * @type {(parts: Array<Clause & {standing: string}>) => Window[]}
 */
function windowsOf(parts) {
  /** @type {Window[]} */
  const windows = [];
  /** @type {Window | null} */
  let former = null;
  let place = 0;
  while (place < parts.length) {
    const sentence = parts[place]?.sentence ?? 0;
    let end = place;
    while (parts[end]?.sentence === sentence) end += 1;
    const own = parts.slice(place, end);
    const told = own.filter(({ standing }) => standing === "");
    for (const one of told) if (one.to - one.from >= LEAST_WORDS) windows.push(one);
    const run = own.filter(({ standing }) => standing === "" || standing === "denied");
    for (let each = 0; each + 1 < run.length; each += 1) {
      const [one, other] = [run[each], run[each + 1]];
      if (one && other && (one.standing === "" || other.standing === "")) {
        windows.push({ from: one.from, to: other.to, sentence });
      }
    }
    const [first, last] = [run[0], run.at(-1)];
    const whole = first && last && told.length > 0 ? { from: first.from, to: last.to, sentence } : null;
    if (whole && run.length > 2) windows.push(whole);
    if (whole && former && (isShort(whole) || isShort(former))) {
      windows.push({ from: former.from, to: whole.to, sentence });
    }
    former = whole;
    place = end;
  }
  return windows;
}

/** @param {Window} window */
function isShort({ from, to }) {
  return to - from <= SHORT;
}

/**
 * List the circumstances that are told, each with the first phrase that tells it. Degrees of frost
 * beside a morning tell one too, and "since then" behind a new battery or a jump start.
 * @param {Token[]} tokens
 * @param {Array<Clause & {met: import("./phrases.js").Met[], standing: string}>} parts
 * @param {Reading[]} readings
 * @param {import("./told.js").Replaced[]} replaced
 */
function circumstancesOf(tokens, parts, readings, replaced) {
  /** @type {Map<string, {id: string, from: number, to: number}>} */
  const found = new Map();
  /** @param {{id: string, from: number, to: number}} one */
  const tell = (one) => {
    if (!found.has(one.id)) found.set(one.id, one);
  };
  const frosts = inClauses(parts, readings.filter(isFrost));
  const mornings = new Set(
    parts.filter(({ met }) => met.some(({ kind, value }) => kind === "span" && value === "morning")).map(sentenceOf),
  );
  for (const [number, { from, standing, met, sentence }] of parts.entries()) {
    if ((standing !== "" && standing !== "denied") || isAsked(tokens, parts, number)) continue;
    const since = met.find((one) => one.kind === "span" && one.value === "since" && one.from === from);
    const before = since ? parts[number - 1] : undefined;
    if (before && sentence - before.sentence <= 1) {
      const battery = replaced.find((one) => one.what === "battery" && one.from >= before.from && one.from < before.to);
      const jump = before.met.find(({ kind, value }) => kind === "fact" && value.startsWith("flat-or-jumped"));
      if (battery) tell({ id: "after-battery-was-changed", from: battery.from, to: battery.to });
      if (jump) tell({ id: "after-jump-start", from: jump.from, to: jump.to });
    }
    const denied = met.filter(({ kind }) => kind === "denied");
    for (const one of met) {
      const isOut =
        denied.some((other) => other.from <= one.from && one.from <= other.to) || isDenied(tokens, from, one.from);
      if (one.kind === "circumstance" && one.value !== "none" && !isOut)
        tell({ id: one.value, from: one.from, to: one.to });
    }
    const frost = frosts[number]?.[0];
    if (frost && mornings.has(sentence)) tell({ id: "on-cold-mornings", from: frost.from, to: frost.to });
  }
  return [...found.values()];
}

/** @param {Clause} clause */
const sentenceOf = ({ sentence }) => sentence;

/** @param {Reading} reading */
function isFrost({ quantity, unit, value }) {
  return quantity === "temperature" && ((unit === "degC" && value <= 0) || (unit === "degF" && value <= FREEZING_F));
}

/** @param {{standing: string}} part */
const isNow = ({ standing }) => standing === "";

/** @param {import("./phrases.js").Met} met */
const isBack = ({ kind, value }) => kind === "helped" && value === "no";

/**
 * Tell whether a clause says that something was there on this car and is over.
 * @param {{met: import("./phrases.js").Met[], standing: string}} part
 */
function isOver({ met, standing }) {
  const isOfPast = (/** @type {import("./phrases.js").Met} */ denied) =>
    met.some(({ kind, from, to }) => kind === "past" && from <= denied.from && denied.to <= to);
  return standing === "past" && met.every((one) => one.kind !== "denied" || isOfPast(one));
}

/**
 * Tell whether a clause is over and done; of another car only where it says so.
 * @param {{met: import("./phrases.js").Met[], standing: string}} part
 */
function isPast({ met, standing }) {
  return (
    standing === "past" || (standing === "other" && met.some(({ kind, value }) => kind === "past" && value !== "not"))
  );
}

/**
 * Return a test of whether words stand in what is told of this car as it is now; asked in the
 * order of the message.
 * @type {(tokens: Token[], parts: Array<Clause & {standing: string}>) => (words: {start: number}) => boolean}
 */
function isToldNow(tokens, parts) {
  let place = 0;
  return ({ start }) => {
    while (place < parts.length && start >= (tokens[(parts[place]?.to ?? 0) - 1]?.end ?? 0)) place += 1;
    const standing = parts[place]?.standing;
    return standing !== "past" && standing !== "other";
  };
}

/**
 * Take the facts that are numbers from the readings: the temperature of the air in degrees Celsius,
 * where its scale is told, and the volts with the key on.
 * @type {(readings: Reading[]) => Record<string, number>}
 */
function measuredFacts(readings) {
  /** @type {Record<string, number>} */
  const facts = {};
  for (const { quantity, unit, value, certain } of readings) {
    if (quantity === "key-on voltage" && certain) facts["key-on-voltage"] ??= value;
    if (quantity !== "temperature" || unit === "deg") continue;
    const celsius = unit === "degF" ? ((value - 32) * 5) / 9 : value;
    if (celsius > COLDEST && celsius < HOTTEST) facts.temperature ??= Math.round(celsius * 10) / 10;
  }
  return facts;
}

/**
 * List the clauses in which nothing was found.
 * @param {Token[]} tokens
 * @param {Array<Clause & {met: import("./phrases.js").Met[], standing: string}>} parts
 * @param {Omit<Understood, "not_understood">} found
 */
function leftOver(tokens, parts, found) {
  const marks = [
    ...[found.symptoms, found.circumstances, found.readings, found.fact_words].flat(),
    ...[found.codes, found.replaced, found.tools, found.results].flat(),
  ];
  const isMarked = new Uint8Array(tokens.at(-1)?.end ?? 0);
  for (const { start, end } of marks) isMarked.fill(1, start, end);
  return parts.filter(({ from, to, standing, met }) => {
    const [start, end] = [tokens[from]?.start ?? 0, tokens[to - 1]?.end ?? 0];
    const words = tokens.slice(from, to).filter(({ kind }) => kind !== "sign").length;
    const isTalk = met.some(({ kind }) => kind === "talk");
    if (standing === "past" || standing === "denied" || words < LEAST_LEFT || isTalk) return false;
    return !isMarked.subarray(start, end).includes(1);
  });
}
