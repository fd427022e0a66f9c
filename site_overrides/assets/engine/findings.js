/**
 * Turn a case into odds, evidence and stop-now lines. Twin of findings.py, in the same order of
 * arithmetic.
 *
 * @import { Case, Cause, Check, Context, Knowledge } from "../knowledge/types.js"
 * @import { Interpretation } from "../measure/gauges.js"
 * @import { Abilities } from "./abilities.js"
 * @import { How, SetAside } from "./mended.js"
 * @import { Network, NetworkFinding } from "./network.js"
 */

import { bandOfNumber, degreesTold, interpret, readCondition } from "../measure/gauges.js";
import { compareText, ReadingRefused } from "../measure/gauges-numbers.js";
import { abilitiesLeft, reached } from "./abilities.js";
import { answersAfter, checksShiftedBy, repairedOdds, repairsTold, setAside } from "./mended.js";
import { indexNetwork } from "./network.js";
import { readsCodes } from "./one-look.js";

const MOST_TIMES = 20;
/** Weight from which a level or a worse one counts as reached. */
export const REACHED = 0.5;
/** How often what caused something that is over by itself is there still: our estimate. */
const STILL_THERE = 0.5;
/** How often a second kind of code on the list goes untold: our estimate. */
const UNSAID = 0.3;

/** @typedef {Record<string, any>} Because one reason, as data: `kind` and what it speaks of */
/** @typedef {{id: string, because: Because[], until_looked: boolean}} StopNow a look may end it, or not */

/**
 * A case made ready for inference. `results` has a weight per level, adding up to 1, for every
 * check that was made, preparations included and those in `set_aside` left out, which no longer
 * stand; `repairs` says what became of the trouble after each repair, and `settled` is the cause
 * whose repair ended all of it; `unnamed` are the questions to a list of codes that nobody
 * answered, while one they have nothing to do with was; `refused` and `questions` list readings
 * that carry no weight and why.
 * @typedef {object} Findings
 * @property {Record<string, string>} answers
 * @property {Record<string, number>} odds
 * @property {Record<string, number>} times
 * @property {Record<string, number[]>} evidence
 * @property {Record<string, number[]>} results
 * @property {SetAside[]} set_aside
 * @property {Record<string, How>} repairs
 * @property {string | null} settled
 * @property {Record<string, Interpretation>} readings
 * @property {StopNow[]} stop_now
 * @property {Abilities} abilities
 * @property {string[]} unnamed
 * @property {Array<Record<string, any>>} refused
 * @property {Array<Record<string, any>>} questions
 */

/** @typedef {Pick<Findings, "answers" | "refused" | "questions">} Told */

/**
 * Give the network of the compiled knowledge.
 * @param {Knowledge} knowledge
 * @returns {Network}
 */
export function networkOf(knowledge) {
  return /** @type {Network} */ (/** @type {unknown} */ (knowledge.network));
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {Findings}
 */
export function find(knowledge, car) {
  const told = readContext(knowledge, car);
  /** @type {Record<string, number[]>} */
  const results = {};
  /** @type {Record<string, Interpretation>} */
  const readings = {};
  for (const [name, check] of Object.entries(knowledge.checks)) {
    if (car.readings?.[name] && check.gauge) {
      const found = readCheck(knowledge, car, name, check);
      if (found instanceof ReadingRefused) told.refused.push(refusal(name, found));
      else if (found.question) told.questions.push({ check: name, ...found.question });
      else {
        readings[name] = found;
        results[name] = levelWeights(check, found);
      }
    }
    const level = car.outcomes?.[name];
    if (!results[name] && check.levels.some(({ id }) => id === level)) {
      results[name] = check.levels.map(({ id }) => (id === level ? 1 : 0));
    }
  }
  Object.assign(results, listsRead(knowledge, results));
  const overtaken = setAside(knowledge, car, results);
  for (const { check } of overtaken) delete results[check];
  const repairs = repairsTold(knowledge, car, results);
  const noticed = noticedAnswers(knowledge, car);
  told.answers = answersAfter(knowledge, car, repairs, { ...noticed, ...told.answers });
  const times = contextTimes(knowledge, told.answers);
  const odds = repairedOdds(knowledge, contextOdds(knowledge, times), repairs);
  const settled = settledBy(knowledge, car, repairs, results);
  const unnamed = unnamedBy(knowledge, results);
  return {
    ...told,
    odds,
    times,
    evidence: evidenceOf(knowledge, car, odds, { ...unsaid(knowledge, unnamed), ...results }),
    unnamed,
    results,
    set_aside: overtaken,
    repairs,
    settled,
    readings,
    ...standingNow(knowledge, car, { answers: told.answers, results, settled }),
  };
}

/**
 * Give the stop-now lines and abilities of the car as it is now: what a repair ended is over.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Pick<Findings, "answers" | "results" | "settled">} findings
 * @returns {Pick<Findings, "stop_now" | "abilities">}
 */
function standingNow(knowledge, car, { answers, results, settled }) {
  const over = settled === null ? [] : checksShiftedBy(knowledge, settled);
  const left = Object.fromEntries(Object.entries(results).filter(([name]) => !over.includes(name)));
  const now = settled === null ? car : { ...car, symptoms: [] };
  const stops = stopNow(knowledge, now, answers, left);
  const lines = stops.map(({ id }) => id);
  return { stop_now: stops, abilities: abilitiesLeft(knowledge, now, left, lines) };
}

/**
 * Return the cause whose repair ended the trouble, null while some of it may be left. What the
 * owner says holds for every result, and for the complaints its cause can have made: one still told
 * beside them goes on. A result that shows an end does so only where its cause can have made every
 * complaint and every result that is not normal.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Record<string, How>} repairs
 * @param {Record<string, number[]>} results
 * @returns {string | null}
 */
function settledBy(knowledge, car, repairs, results) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  const noticed = (car.symptoms ?? []).filter((name) => knowledge.symptoms[name]?.role === "complaint");
  const found = Object.keys(results).filter((name) => sumFrom(results[name], 1) >= REACHED);
  const having = (/** @type {How} */ how, /** @type {string[]} */ names) =>
    Object.keys(repairs).find(
      (cause) =>
        repairs[cause] === how && names.every((name) => cause in (findingById.get(name)?.links ?? { [cause]: [] })),
    );
  return having("gone", noticed) ?? having("ended", [...noticed, ...found]) ?? null;
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {Told}
 */
function readContext(knowledge, car) {
  /** @type {Told} */
  const told = { answers: {}, refused: [], questions: [] };
  const scales = { units: knowledge.units, contexts: knowledge.contexts };
  for (const name of Object.keys(car.context ?? {}).sort(compareText)) {
    const context = knowledge.contexts[name];
    if (!context) continue;
    try {
      const { value, question } = readCondition(name, car.context[name], scales);
      if (question) told.questions.push({ check: null, ...question });
      else {
        const word = typeof value === "number" ? bandOfNumber(value, context) : value;
        if (word !== null) told.answers[name] = word;
      }
    } catch (error) {
      if (!(error instanceof ReadingRefused)) throw error;
      told.refused.push(refusal(null, error));
    }
  }
  return told;
}

/**
 * Return the answers about the car that follow from what is noticed, where they agree.
 * @param {Pick<Knowledge, "symptoms">} knowledge
 * @param {{symptoms: string[], past?: string[]}} car
 * @returns {Record<string, string>}
 */
export function noticedAnswers({ symptoms }, car) {
  /** @type {Map<string, Set<string>>} */
  const words = new Map();
  for (const name of [...car.symptoms, ...(car.past ?? [])]) {
    for (const [context, word] of Object.entries(symptoms[name]?.sets ?? {})) {
      words.set(context, (words.get(context) ?? new Set()).add(word));
    }
  }
  return Object.fromEntries([...words].flatMap(([context, [word, ...more]]) => (more.length ? [] : [[context, word]])));
}

/**
 * @param {string | null} check
 * @param {ReadingRefused} refused
 */
function refusal(check, { field, reason, given, options }) {
  return { check, field, reason, given, options };
}

/**
 * @param {Knowledge} knowledge
 * @param {Record<string, string>} answers
 * @returns {Record<string, number>}
 */
export function contextTimes(knowledge, answers) {
  /** @type {Record<string, number>} */
  const times = {};
  const shared = Object.entries(knowledge.contexts).filter(
    ([id, { options }]) => answers[id] === undefined && options?.some(({ share }) => share),
  );
  for (const [name, cause] of Object.entries(knowledge.causes)) {
    let product = 1;
    for (const factor of cause.context ?? []) {
      if (answers[factor.when] === factor.is) product *= factor.times;
    }
    for (const [context, { options = [] }] of shared) product *= meanTimes(cause, context, options);
    product = Math.min(MOST_TIMES, Math.max(1 / MOST_TIMES, product));
    if (product !== 1) times[name] = product;
  }
  return times;
}

/**
 * @param {Cause} cause
 * @param {string} context
 * @param {NonNullable<Context["options"]>} options
 */
function meanTimes(cause, context, options) {
  let mean = 0;
  for (const { id, share = 0 } of options) {
    let times = share;
    for (const factor of cause.context ?? []) {
      if (factor.when === context && factor.is === id) times *= factor.times;
    }
    mean += times;
  }
  return mean;
}

/**
 * @param {Knowledge} knowledge
 * @param {Record<string, number>} times
 * @returns {Record<string, number>}
 */
export function contextOdds(knowledge, times) {
  return Object.fromEntries(
    networkOf(knowledge).causes.map(({ id, prior }) => [id, (prior / (1 - prior)) * (times[id] ?? 1)]),
  );
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {string} name
 * @param {Check} check
 * @returns {Interpretation | ReadingRefused}
 */
function readCheck(knowledge, car, name, check) {
  const gauge = knowledge.gauges[check.gauge ?? ""];
  if (!gauge) return new ReadingRefused("value", "no-gauge", check.gauge);
  const reading = car.readings[name] ?? {};
  const scales = { units: knowledge.units, contexts: knowledge.contexts };
  try {
    return interpret({ id: check.gauge ?? "", ...gauge }, reading, { ...car.context, ...reading }, scales);
  } catch (error) {
    if (error instanceof ReadingRefused) return error;
    throw error;
  }
}

/**
 * @param {Check} check
 * @param {Interpretation} found
 * @returns {number[]}
 */
function levelWeights(check, found) {
  return check.levels.map(({ bands }) => {
    let total = 0;
    for (const band of bands ?? []) total += found.band_weights[band] ?? 0;
    return total;
  });
}

/**
 * @param {Knowledge} knowledge
 * @param {Record<string, number[]>} results
 */
function listsRead({ checks }, results) {
  const named = Object.keys(results).filter((name) => readsCodes(checks[name]) && sumFrom(results[name], 1) >= REACHED);
  const lists = named.flatMap((name) => (checks[name].needs ?? []).map(({ check }) => check));
  return Object.fromEntries(
    lists
      .filter((name) => name in checks && !(name in results))
      .map((name) => [name, checks[name].levels.map((_, level, { length }) => Number(level === length - 1))]),
  );
}

/**
 * Return the questions that a list of codes has answered by naming something else: whoever reads the
 * list and tells of one code would have told of another. Questions that share a cause with what
 * was named go on from it.
 * @param {Knowledge} knowledge
 * @param {Record<string, number[]>} results
 */
function unnamedBy(knowledge, results) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  const asked = Object.keys(knowledge.checks)
    .filter((name) => readsCodes(knowledge.checks[name]))
    .sort(compareText);
  const linked = (/** @type {string} */ name) => Object.keys(findingById.get(name)?.links ?? {});
  const named = asked.filter((name) => results[name] && sumFrom(results[name], 1) >= REACHED).flatMap(linked);
  if (named.length === 0) return [];
  return asked.filter((name) => !results[name] && !linked(name).some((cause) => named.includes(cause)));
}

/**
 * @param {Knowledge} knowledge
 * @param {string[]} unnamed
 */
function unsaid({ checks }, unnamed) {
  return Object.fromEntries(unnamed.map((name) => [name, checks[name].levels.map((_, level) => (level ? UNSAID : 1))]));
}

/**
 * List the evidence in the network's order, so that no telling order matters.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Record<string, number>} odds
 * @param {Record<string, number[]>} results
 */
function evidenceOf(knowledge, car, odds, results) {
  /** @type {Record<string, number[]>} */
  const evidence = {};
  for (const finding of networkOf(knowledge).findings) {
    const { id } = finding;
    const result = results[id];
    if (result) evidence[id] = result;
    else if (car.symptoms?.includes(id)) evidence[id] = [0, 1];
    else if (car.past?.includes(id)) evidence[id] = pastWeights(finding, odds);
    else if (car.absent?.includes(id)) evidence[id] = [1, 0];
  }
  return evidence;
}

/**
 * @param {NetworkFinding} finding
 * @param {Record<string, number>} odds
 */
function pastWeights(finding, odds) {
  let quiet = finding.leak[0] ?? 1;
  for (const [cause, row] of Object.entries(finding.links)) {
    const one = odds[cause] ?? 0;
    quiet *= 1 - (one / (1 + one)) * (1 - (row[0] ?? 1));
  }
  const byChance = (1 - STILL_THERE) * (1 - quiet);
  return [byChance, STILL_THERE + byChance];
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Record<string, string>} answers
 * @param {Record<string, number[]>} results
 * @returns {StopNow[]}
 */
function stopNow(knowledge, car, answers, results) {
  /** @type {Array<{line: string, because: Because, untilLooked: boolean}>} */
  const found = [];
  /** @type {(lines: string[], because: Because, untilLooked?: boolean) => void} */
  const add = (lines, because, untilLooked = false) => {
    found.push(...lines.map((line) => ({ line, because, untilLooked })));
  };
  /** @type {(cold: {line: string, than: number} | undefined, check: string) => string[]} */
  const inCold = (cold, check) => calledForByCold(knowledge, car, { answers, results }, cold, check);
  for (const symptom of car.symptoms ?? []) {
    const { stop_now: lines = [], stop_colder: cold } = knowledge.symptoms[symptom] ?? {};
    add(lines, { kind: "symptom", symptom });
    add(inCold(cold, ""), { kind: "symptom", symptom }, true);
  }
  for (const [context, answer] of Object.entries(answers)) {
    const option = knowledge.contexts[context]?.options?.find(({ id }) => id === answer);
    add(option?.stop_now ?? [], { kind: "answer", context, answer });
  }
  for (const [check, weights] of Object.entries(results)) {
    const levels = knowledge.checks[check]?.levels ?? [];
    levels.forEach(({ id, stop_now: lines = [], stop_colder: cold }, place) => {
      const worse = levels.findIndex(({ stop_now: others = [] }, one) => one > place && others.length > 0);
      const reached = sumFrom(weights, place);
      const beyond = worse < 0 ? 0 : sumFrom(weights, worse);
      // Half of the weight at this level or a worse one: better stopped once too often. A worse level
      // with lines of its own, and half of the weight, speaks alone, unless this one has as much.
      if (reached < REACHED) return;
      const because = { kind: "level", check, level: id };
      if (reached >= 2 * beyond || beyond < REACHED) add(lines, because);
      add(inCold(cold, check), because, degreesOf(knowledge, car, check) === null);
    });
  }
  return Object.keys(knowledge.stop_lines).flatMap((id) => {
    const called = found.filter(({ line }) => line === id);
    if (called.length === 0) return [];
    const because = called.map((one) => one.because);
    return [{ id, because, until_looked: called.every(({ untilLooked }) => untilLooked) }];
  });
}

/**
 * Return the degrees told at a reading, or of the car.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {string} check
 */
function degreesOf(knowledge, car, check) {
  return degreesTold({ ...car.context, ...car.readings?.[check] }, knowledge);
}

/**
 * Return the line that a symptom, or a level of a check, calls for in this cold. A look that
 * found all well ends it, except where a reading and degrees both say so.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {{answers: Record<string, string>, results: Record<string, number[]>}} found
 * @param {{line: string, than: number} | undefined} cold
 * @param {string} check "" for a symptom
 * @returns {string[]}
 */
function calledForByCold(knowledge, car, { answers, results }, cold, check) {
  if (cold === undefined) return [];
  const told = degreesOf(knowledge, car, check);
  const taken = knowledge.stop_lines[cold.line]?.takes_away?.[0];
  const isFoundWell = Object.entries(results).some(([name, weights]) =>
    reached(knowledge.checks[name], "allows", weights).some((one) => one.name === taken),
  );
  if ((told === null || check === "") && isFoundWell) return [];
  return (told ?? coldInWords(knowledge, answers)) < cold.than ? [cold.line] : [];
}

/**
 * Return how cold the answers may mean in degC; without a word of it, no cold at all.
 * @param {Knowledge} knowledge
 * @param {Record<string, string>} answers
 */
function coldInWords(knowledge, answers) {
  const degrees = Object.entries(answers).map(
    ([name, answer]) => knowledge.contexts[name]?.options?.find(({ id }) => id === answer)?.as_cold_as ?? Infinity,
  );
  return Math.min(...degrees);
}

/**
 * Add up the weights of a level and every worse one.
 * @param {number[]} weights
 * @param {number} place
 */
export function sumFrom(weights, place) {
  let total = 0;
  for (const weight of weights.slice(place)) total += weight;
  return total;
}
