/**
 * Room reasoning: what may keep a monitor from finishing, most probable first, and what to do next.
 *
 * It asks the checker's own engine with the whole case: what is kept on the device, and what the
 * readout adds. It blames nothing: every probability is the model's.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { EvidenceWeight } from "../engine/trace.js"
 * @import { Advice } from "../engine/triage.js"
 * @import { RunFacts, Tables, WholeReadout } from "./evidence.js"
 * @typedef {{cause: string, probability: number, prior: number, why: string,
 *   raised_by: string[], lowered_by: string[]}} BlockerChance
 * @typedef {{id: string, blockers: BlockerChance[]}} BlockedMonitor
 * @typedef {{kind: "stop"|"plan"|"codes-first"|"supply-first"|"cause-first"|"repair"|"check"|"workshop"|"none", id: string|null}} Step
 * @typedef {{state: string, hint: string|null, evidence: Record<string, string>|null,
 *   symptoms: string[], monitors: BlockedMonitor[], step: Step|null, advice: Advice|null,
 *   asked: Case|null}} WhyNotRun
 */

import { networkOf } from "../engine/findings.js";
import { indexNetwork } from "../engine/network.js";
import { ContradictoryEvidence, FrontierTooWide } from "../engine/noisy-max.js";
import { trace } from "../engine/trace.js";
import { triage } from "../engine/triage.js";
import { saidOf } from "../engine/words.js";
import { caseWith, hintOf } from "./evidence.js";

const WORTH_SAYING = 0.1;
// What all three ask for is to drive; see the drive plan.
const DRIVE_CAUSES = ["monitor-conditions-not-met", "codes-cleared-lately", "memory-lost-by-disconnection"];
const DRIVE_CHECK = "drive-the-conditions";
const IN_DOUBT = ["doubtful", "failing"];
const MEASURE_CHARGING = "measure-charging-voltage";
const READ_CODES = "read-and-write-down-codes";

/**
 * Rank the possible blockers of every incomplete monitor, and say the next step.
 *
 * `state` is "ok", "no-readout" or "contradictory". `hint` is "recent-reset" (few warm-ups and
 * little distance), "blocked" (plenty of both, still incomplete), "counters-mixed" (plenty of one
 * and little of the other), "nearly-all-open" (no counters, but nearly every monitor is
 * incomplete), "keeps-resetting" or null. `evidence` gives the level of each check that was told.
 * `asked` is the whole case. Blockers that the network does not know are left out.
 * @type {(knowledge: Knowledge, tables: Tables, told: {readout: WholeReadout, facts: RunFacts, car: Case}) =>
 *   WhyNotRun}
 */
export function whyNotRun(knowledge, tables, { readout, facts, car }) {
  const { merged } = readout;
  if (readout.state !== "usable" || merged === null) return answer("no-readout", null);
  const hint = hintOf(readout, facts);
  const asked = caseWith(knowledge, tables, car, readout, facts);
  const advice = adviceOn(knowledge, asked);
  if (advice === null) return answer("contradictory", hint);
  const posteriors = Object.fromEntries(advice.causes.map(({ id, probability }) => [id, probability]));
  const weights = trace(knowledge, asked, advice.findings, posteriors);
  const open = [...merged.incomplete, ...merged.incomplete_continuous].filter((id) =>
    Object.hasOwn(tables.monitors, id),
  );
  return {
    ...answer("ok", hint),
    evidence: saidOf(knowledge, advice.findings).levels ?? {},
    symptoms: asked.symptoms,
    monitors: open.map((id) => ({ id, blockers: ranked(knowledge, tables, id, { posteriors, weights }) })),
    step: proofFirst(knowledge, asked, stepOf(advice, merged.mil || merged.count > 0)),
    advice,
    asked,
  };
}

/** @type {(state: string, hint: string|null) => WhyNotRun} */
function answer(state, hint) {
  return { state, hint, evidence: null, symptoms: [], monitors: [], step: null, advice: null, asked: null };
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} asked
 * @returns {Advice|null} null when what was told does not fit together
 */
function adviceOn(knowledge, asked) {
  try {
    return triage(knowledge, asked);
  } catch (error) {
    if (error instanceof ContradictoryEvidence || error instanceof FrontierTooWide) return null;
    throw error;
  }
}

/**
 * @type {(knowledge: Knowledge, tables: Tables, id: string, found: {posteriors: Record<string, number>,
 *   weights: Record<string, EvidenceWeight[]>}) => BlockerChance[]}
 */
function ranked(knowledge, tables, id, { posteriors, weights }) {
  const network = networkOf(knowledge);
  const { causePlace } = indexNetwork(network);
  const rows = tables.monitors[id].blockers.flatMap(({ cause, why }) => {
    const place = causePlace.get(cause);
    if (place === undefined) return [];
    const strong = (weights[cause] ?? []).filter(({ change }) => Math.abs(change) >= WORTH_SAYING);
    return {
      cause,
      probability: posteriors[cause],
      prior: network.causes[place].prior,
      why,
      raised_by: strong.filter(({ change }) => change > 0).map((one) => one.id),
      lowered_by: strong.filter(({ change }) => change < 0).map((one) => one.id),
    };
  });
  return rows.sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
}

/** Name the quickest check that confirms a cause. @type {(knowledge: Knowledge, cause: string) => string|null} */
export function quickCheck(knowledge, cause) {
  const ids = (knowledge.causes[cause]?.confirmed_by ?? []).map(({ check }) => check);
  const known = ids.filter((id) => knowledge.checks[id]);
  known.sort((a, b) => knowledge.checks[a].minutes - knowledge.checks[b].minutes);
  return known[0] ?? null;
}

/**
 * Send a cause that is only likely to the check that proves it: its repair may take a part.
 * @type {(knowledge: Knowledge, asked: Case, step: Step) => Step}
 */
function proofFirst(knowledge, asked, step) {
  if (step.kind !== "cause-first" || step.id === null) return step;
  const check = quickCheck(knowledge, step.id);
  const isMade = check === null || check in (asked.outcomes ?? {}) || check in (asked.readings ?? {});
  return isMade ? step : { ...step, id: check };
}

/**
 * Name the next step of the advice. Drives are no step while the lamp is on or a code is stored,
 * nor while the supply is in doubt: the car may not get through them, nor while something that
 * driving cannot help is likelier.
 * @type {(advice: Advice, hasCode: boolean) => Step}
 */
export function stepOf({ causes, stop_now: stop, repair, next, workshop, supply }, hasCode) {
  const [first] = next;
  const check = first?.check ?? null;
  if (stop.length > 0) return { kind: "stop", id: stop[0].id };
  if (repair ? DRIVE_CAUSES.includes(repair.cause) : check === DRIVE_CHECK) {
    if (hasCode) return { kind: "codes-first", id: READ_CODES };
    if (IN_DOUBT.includes(supply.state)) return { kind: "supply-first", id: MEASURE_CHARGING };
    if (!DRIVE_CAUSES.includes(causes[0].id)) return { kind: "cause-first", id: causes[0].id };
    return { kind: "plan", id: DRIVE_CHECK };
  }
  if (repair) return { kind: "repair", id: repair.cause };
  if (check !== null) return { kind: "check", id: check };
  return { kind: workshop ? "workshop" : "none", id: null };
}
