/**
 * Output room: why each cause rose or fell, and the one line said aloud after a change.
 *
 * The reasoning gives the pushes, `words.js` names them; this file asks once per advice.
 *
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { EvidenceWeight } from "../../engine/trace.js"
 */
import { toCase } from "../../case/case.js";
import { trace } from "../../engine/trace.js";
import { pushesWords, reasonsWords, saidOf, supplyWords } from "../../engine/words.js";
import { fractionWords, lowerFirst } from "../../kit/figures.js";

/** @type {WeakMap<Advice, Record<string, EvidenceWeight[]>>} */
const traced = new WeakMap();

/** @type {(app: App, advice: Advice) => Record<string, EvidenceWeight[]>} */
function pushesOf(app, advice) {
  const known = traced.get(advice);
  if (known) return known;
  const posteriors = Object.fromEntries(advice.causes.map(({ id, probability }) => [id, probability]));
  const found = trace(app.knowledge, toCase(app.knowledge, app.state()), advice.findings, posteriors);
  traced.set(advice, found);
  return found;
}

/**
 * List what raised and what lowered a cause, strongest first.
 * @type {(app: App, advice: Advice, cause: string) => {raised: string[], lowered: string[]}}
 */
export function causeReasons(app, advice, cause) {
  const said = saidOf(app.knowledge, advice.findings);
  return pushesWords(app.knowledge, pushesOf(app, advice)[cause] ?? [], said);
}

/**
 * Name a repair: of a cause that is confirmed, or one that is only worth trying.
 * @param {NonNullable<Advice["repair"]>} repair
 */
export function repairName({ because }) {
  return because[0]?.kind === "confirmed" ? "What to do" : "Worth trying";
}

/**
 * Say what is behind the state of battery and charging: what it means where that is more than its
 * name says, what was found, and in one line what is open.
 * @type {(knowledge: import("../../knowledge/types.js").Knowledge, supply: Advice["supply"]) => string[]}
 */
export function supplyLines(knowledge, { state, because, proven }) {
  const found = because.filter(({ kind }) => kind !== "open");
  const aspects = because.filter(({ kind }) => kind === "open").map(({ aspect }) => aspect);
  const isUnproven = state === "unproven";
  // "Not checked yet" is its name already where nothing is proven.
  const isSaid = aspects.length === 0 || (isUnproven && Object.keys(proven).length === 0);
  const lines = reasonsWords(knowledge, isSaid ? found : [...found, { kind: "all-open", aspects }]);
  return isUnproven && lines.length > 0 ? lines : [supplyWords(state), ...lines];
}

/**
 * Say in one line how the case stands now, for those who hear the page.
 * @type {(app: App, advice: Advice) => string}
 */
export function liveSummary(app, advice) {
  const [top] = advice.causes;
  const check = app.knowledge.checks[advice.next[0]?.check ?? ""]?.title;
  const stop = advice.stop_now.length > 0 ? "Stop now: read the first lines. " : "";
  const likeliest = top ? `Most likely so far (${fractionWords(top.probability)}): ${lowerFirst(top.title)}. ` : "";
  const next = check === undefined ? "No useful check is left." : `Next check: ${lowerFirst(check)}.`;
  return (
    stop + likeliest + (advice.repair ? `${repairName(advice.repair)}: ${lowerFirst(advice.repair.action)}.` : next)
  );
}
