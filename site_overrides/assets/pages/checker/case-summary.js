/**
 * Output room: a case as it came in a link, to be read only.
 *
 * Stop-now first, then what was noticed, the next check and the likely causes: read in ten seconds.
 * Below it each reading with its conditions and what it means, the supply, what was ruled out, and
 * what is open.
 *
 * @import { Findings } from "../../engine/findings.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { Case, Knowledge } from "../../knowledge/types.js"
 */

import { factWords, helpedWords, levelWords, measuredWords } from "../../case/case-text.js";
import { stopBlock } from "../../case/stop-block.js";
import { ruledOut } from "../../engine/ruled-out.js";
import { namedCauses, reasonsWords, setAsideWords, supplyName, watchWords } from "../../engine/words.js";
import { bullets, el } from "../../kit/element.js";
import { fractionWords, minutesWords } from "../../kit/figures.js";
import { questionWords, readingWords, refusalWords } from "../../measure/words.js";
import { repairName, supplyLines } from "./reasons.js";

/** Facts asked for when they are missing, and causes shown. */
const MOST_ASKED = 2;
const MOST_CAUSES = 3;

/**
 * Draw a part of the summary, or nothing when there is nothing to say.
 * @type {(title: string, lines: Array<string | HTMLElement>) => HTMLElement | null}
 */
function part(title, lines) {
  if (lines.length === 0) return null;
  return el("section.summary-part", el("h3", title), bullets(lines));
}

/**
 * Write what a check gave, a reading with its conditions.
 * @type {(knowledge: Knowledge, car: Case, check: string) => string}
 */
export function resultValue(knowledge, car, check) {
  const reading = car.readings[check];
  return reading ? measuredWords(knowledge, reading) : levelWords(knowledge, check, car.outcomes[check] ?? "");
}

/**
 * Write what a result means, "" when it means nothing yet.
 * @type {(knowledge: Knowledge, car: Case, findings: Findings | undefined, check: string) => string}
 */
export function resultMeaning(knowledge, car, findings, check) {
  const isThis = (/** @type {Record<string, any>} */ one) => one.check === check;
  const overtaken = findings?.set_aside.find(isThis);
  if (overtaken) return setAsideWords(knowledge, overtaken);
  if (car.readings[check]) {
    const found = findings?.readings[check];
    const question = findings?.questions.find(isThis);
    const refused = findings?.refused.find(isThis);
    if (found) return readingWords(knowledge, found);
    if (question) return questionWords(knowledge, /** @type {any} */ (question));
    return refused ? refusalWords(/** @type {any} */ (refused)) : "";
  }
  return knowledge.checks[check]?.levels.find(({ id }) => id === car.outcomes[check])?.means ?? "";
}

/**
 * Draw one result: the value stands out, its conditions and its meaning follow.
 * @type {(name: string, value: string, means: string) => HTMLDivElement}
 */
function resultLine(name, value, means) {
  const [shown = "", ...rest] = value.split(" (");
  const under = rest.length > 0 ? ` (${rest.join(" (")}` : "";
  return el("div", `${name}: `, el("b", shown), under, means === "" ? null : el("p.small", means));
}

/**
 * List the readings and outcomes with what they mean.
 * @type {(knowledge: Knowledge, car: Case, advice: Advice | null) => HTMLDivElement[]}
 */
function resultLines(knowledge, car, advice) {
  return [...Object.keys(car.readings), ...Object.keys(car.outcomes)].map((check) =>
    resultLine(
      knowledge.checks[check]?.title ?? check,
      resultValue(knowledge, car, check),
      resultMeaning(knowledge, car, advice?.findings, check),
    ),
  );
}

/**
 * List what is open: slips to settle, questions nobody answered.
 * @type {(knowledge: Knowledge, car: Case, advice: Advice | null) => string[]}
 */
function openLines(knowledge, car, advice) {
  const settled = [...car.symptoms, ...(car.absent ?? [])];
  const splits = car.symptoms.flatMap((id) =>
    (knowledge.symptoms[id]?.ask_first ?? []).flatMap(({ question, answers }) => {
      const others = answers.flatMap(({ symptom }) => (symptom && symptom !== id ? symptom : []));
      if (others.some((one) => settled.includes(one))) return [];
      settled.push(...others); // two symptoms may ask about the same third
      return question;
    }),
  );
  const causes = advice ? namedCauses(advice, MOST_CAUSES) : [];
  const asked = causes.flatMap(({ id }) => knowledge.causes[id]?.context ?? []).map(({ when }) => when);
  const facts = [...new Set(asked)].filter((id) => car.context[id] === undefined).slice(0, MOST_ASKED);
  const findings = advice?.findings;
  return [
    ...(findings?.questions ?? []).map((one) => questionWords(knowledge, /** @type {any} */ (one))),
    ...(findings?.refused ?? []).map((one) => refusalWords(/** @type {any} */ (one))),
    ...splits,
    ...facts.flatMap((id) => knowledge.contexts[id]?.question ?? []),
  ];
}

/** @type {(knowledge: Knowledge, advice: Advice) => (string | HTMLElement)[]} */
function nextLines(knowledge, { next, repair, watch }) {
  if (watch) return [watchWords(knowledge, watch)];
  if (repair) return [`${repair.action}. ${reasonsWords(knowledge, repair.because).join(" ")}`];
  const [first] = next;
  if (!first) return ["No useful check is left. A licensed technician goes on from here."];
  const title = knowledge.checks[first.check]?.title ?? first.check;
  // That battery and charging are not checked yet stands over its own part.
  const because = first.because.filter(({ kind, state }) => kind !== "supply-first" || state !== "unproven");
  const more = `, ${minutesWords(first.minutes)}. ${reasonsWords(knowledge, because).join(" ")}`;
  return [el("span", el("b", title), more)];
}

/**
 * Draw what somebody in a hurry reads: what to do next, and what it may be.
 * @type {(knowledge: Knowledge, advice: Advice) => (HTMLElement | null)[]}
 */
function inShort(knowledge, advice) {
  return [
    part(advice.repair ? repairName(advice.repair) : "Next check", nextLines(knowledge, advice)),
    part(
      "Likely causes, by our estimates",
      namedCauses(advice, MOST_CAUSES).map(({ title, probability }) => `${title}: ${fractionWords(probability)}`),
    ),
  ];
}

/**
 * Draw the state of battery and charging, and what is as good as ruled out.
 * @type {(knowledge: Knowledge, car: Case, advice: Advice) => (HTMLElement | null)[]}
 */
function standing(knowledge, car, advice) {
  const { supply } = advice;
  const out = ruledOut(knowledge, car, advice);
  return [
    supply.matters ? part(`Battery and charging: ${supplyName(supply)}`, supplyLines(knowledge, supply)) : null,
    part(
      "As good as ruled out",
      out.map(({ title, before, now }) => `${title}: ${fractionWords(now)}, was ${fractionWords(before)}`),
    ),
  ];
}

/**
 * Draw the whole summary; without an advice only what was told.
 * Draw the whole summary, in its midst `$ways`, what can be done with the case; without an advice only what was told.
 * @type {(knowledge: Knowledge, car: Case, advice: Advice | null, $ways: HTMLElement) => HTMLElement}
 */
export function caseSummary(knowledge, car, advice, $ways) {
  const title = (/** @type {string} */ id) => knowledge.symptoms[id]?.title ?? id;
  const told = Object.entries(car.context).map(([id, fact]) => factWords(knowledge, id, fact));
  const not = (car.not_possible ?? []).map((id) => knowledge.checks[id]?.title ?? id);
  const tools = car.tools?.map((id) => knowledge.tools[id]?.title ?? id);
  return el(
    "div.case-summary",
    part("What was noticed", car.symptoms.map(title)),
    advice ? inShort(knowledge, advice) : null,
    $ways,
    part("What was there, and is over", (car.past ?? []).map(title)),
    part("What is not so", (car.absent ?? []).map(title)),
    part("Measured and found", resultLines(knowledge, car, advice)),
    advice ? standing(knowledge, car, advice) : null,
    part("Open questions", openLines(knowledge, car, advice)),
    part("The car", told),
    part(
      "Repaired already, and the trouble stayed",
      (car.mended ?? []).map((id) => knowledge.causes[id]?.title ?? id),
    ),
    part("Repaired", helpedWords(knowledge, car)),
    part("Cannot be done there", not),
    tools ? part("Tools at hand", tools.length > 0 ? tools : ["none"]) : null,
  );
}

/** Draw the stop-now lines of a case that came in a link. @param {Advice | null} advice */
export function summaryStop(advice) {
  return advice ? stopBlock(advice.stop_now) : null;
}
