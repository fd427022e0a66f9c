/**
 * Room exercise: what a step does in a made-up car, what it costs, and what the checker would do.
 *
 * The rules of a car are those by which the value of our advice is measured
 * (build_tools/engine/play.py): a check comes out as the network says, by its own number; a repair
 * puts right what its part puts right, and results it may have changed are forgotten.
 *
 * @import { Case, Cause, Knowledge } from "../knowledge/types.js"
 * @import { Because } from "../engine/findings.js"
 * @import { Advice } from "../engine/triage.js"
 * @import { Car } from "./draw.js"
 */

import { checkRequires, missing, repairRequires } from "../engine/abilities.js";
import { find, networkOf } from "../engine/findings.js";
import { readsCodes } from "../engine/one-look.js";
import { hourValue, middlePrice, Offers, putsRight, WAITING_HOUR, waited, workshopBill } from "../engine/pricing.js";
import { triage } from "../engine/triage.js";
import { chanceOf } from "./chance.js";
import { causesTold, complaintCase, findingOf, toldCase } from "./draw.js";

/** Parts the checker's policy buys before it asks a workshop; as in play.py. */
const MOST_PARTS = 3;
export const MOST_STEPS = 100;
/**
 * What is left of a cause put right. With nothing left, a result that no other cause can make
 * would be a contradiction when the advice predicts it.
 */
const PUT_RIGHT = 1e-12;

/** @typedef {{kind: "check" | "repair" | "workshop", id: string}} Move */

/**
 * Sums so far. `money` includes what a workshop asks; `minutes` are the owner's and a helper's,
 * `waiting` hours beside them, up to a day for each wait. `pointless` steps could tell or mend nothing, `unsafe` ones a stop-now line
 * forbids: those are refused, and counted.
 * @typedef {object} Bill
 * @property {number} money
 * @property {number} minutes
 * @property {number} waiting
 * @property {number} checks
 * @property {number} parts
 * @property {number} in_vain
 * @property {number} pointless
 * @property {number} unsafe
 * @property {boolean} helped whether no workshop had to find it
 */

/**
 * A step as it was made. `level` is what a check was read as; `mended` whether a repair put
 * something right; `mark` says what was wrong with the step itself.
 * @typedef {object} Made
 * @property {Move} move
 * @property {string | null} level
 * @property {Record<string, string>} answered what a list of codes says of every family it could name
 * @property {boolean} mended
 * @property {"" | "pointless" | "unsafe" | "in-vain"} mark
 * @property {Because | null} because why an unsafe step is forbidden
 */

/**
 * A car in the middle of an exercise.
 * @typedef {object} Play
 * @property {Car} car
 * @property {string[]} present causes that are still there
 * @property {Record<string, string>} outcomes results that still stand
 * @property {string[]} again checks made again after a result that changed the car
 * @property {string[]} repaired causes put right, or shown to have been
 * @property {number} bought
 * @property {Made[]} made
 * @property {Bill} bill
 * @property {boolean} over
 */

/** Why a step was not taken and costs nothing: another comes first, or the car cannot do it. */
/** @typedef {{kind: "first" | "cannot", check: string, because: Because | null}} Refusal */

/** Begin an exercise. @type {(car: Car) => Play} */
export function begin(car) {
  const sums = { money: 0, minutes: 0, waiting: 0, checks: 0, parts: 0, in_vain: 0, pointless: 0, unsafe: 0 };
  const bill = { ...sums, helped: false };
  const known = { outcomes: {}, again: [], repaired: [], bought: 0 };
  return { car, present: car.causes, ...known, made: [], bill, over: false };
}

/** @type {WeakMap<Knowledge, Map<string, Knowledge>>} */
const without = new WeakMap();

/**
 * Return the knowledge with some causes as good as ruled out, made once for each set.
 * @type {(knowledge: Knowledge, repaired: string[]) => Knowledge}
 */
function knowing(knowledge, repaired) {
  if (repaired.length === 0) return knowledge;
  const kept = without.get(knowledge) ?? new Map();
  without.set(knowledge, kept);
  const key = [...repaired].sort().join(" ");
  if (!kept.has(key)) {
    const { causes, findings } = networkOf(knowledge);
    const left = causes.map((one) => (repaired.includes(one.id) ? { ...one, prior: PUT_RIGHT } : one));
    kept.set(key, { ...knowledge, network: { causes: left, findings } });
  }
  return kept.get(key);
}

/** Return what the student knows, as a case; causes put right are left to the network. @type {(play: Play) => Case} */
function caseOf({ car, outcomes, again }) {
  return { ...toldCase(car), outcomes, again };
}

/**
 * Return the lines that stand, and what the car can and may do now.
 * @param {Knowledge} knowledge
 * @param {Play} play
 */
export function standing(knowledge, play) {
  return find(knowing(knowledge, play.repaired), caseOf(play));
}

/**
 * Return how a check is read in the car as it is now.
 * @type {(knowledge: Knowledge, car: Car, present: string[], check: string) => string}
 */
export function resultOf(knowledge, car, present, check) {
  const levels = knowledge.checks[check].levels.map(({ id }) => id);
  const place = trueLevel(knowledge, car, present, check);
  if (!car.misread.includes(check) || levels.length === 1) return levels[place] ?? "";
  return levels[Math.abs(place - 1)] ?? "";
}

/** @type {(knowledge: Knowledge, car: Car, present: string[], check: string) => number} */
function trueLevel(knowledge, car, present, check) {
  const finding = findingOf(knowledge, check);
  if (!finding) return 0;
  const chance = chanceOf(car.seed, check);
  const linked = present.filter((name) => name in finding.links).sort();
  const reached = (/** @type {number} */ atMost, /** @type {number} */ level) =>
    linked.reduce((product, name) => product * finding.links[name][level], atMost);
  const place = finding.leak.findIndex((atMost, level) => chance < reached(atMost, level));
  return place < 0 ? finding.levels.length - 1 : place;
}

/**
 * Tell whether a check can say anything about the complaint, mend something, or lead to one that can.
 * @type {(knowledge: Knowledge, causes: string[], check: string) => boolean}
 */
export function bearsOn(knowledge, causes, check) {
  const entry = knowledge.checks[check];
  const links = findingOf(knowledge, check)?.links ?? {};
  if (causes.some((name) => name in links)) return true;
  if (entry.levels.some(({ mends, ends, resets }) => mends ?? ends ?? resets)) return true;
  return Object.entries(knowledge.checks).some(
    ([name, { needs = [] }]) =>
      needs.some((need) => need.check === check || need.otherwise === check) &&
      causes.some((cause) => cause in (findingOf(knowledge, name)?.links ?? {})),
  );
}

/**
 * Take a step. A step the car or its state does not allow is handed back and changes nothing.
 * @type {(knowledge: Knowledge, play: Play, move: Move) => {play: Play, refused: Refusal | null}}
 */
export function take(knowledge, play, move) {
  if (play.over) return { play, refused: null };
  if (move.kind === "workshop") return { play: toWorkshop(knowledge, play), refused: null };
  const isCheck = move.kind === "check";
  const requires = isCheck ? checkRequires(knowledge.checks[move.id]) : repairRequires(causeOf(knowledge, move.id));
  const findings = standing(knowledge, play);
  const lost = missing(findings.abilities, requires);
  if (lost?.because.kind === "stop") {
    return { play: noted(play, { move, mark: "unsafe", because: lost.because }), refused: null };
  }
  if (lost) return { play, refused: { kind: "cannot", check: "", because: lost.because } };
  if (!isCheck) return { play: repair(knowledge, play, move), refused: null };
  const offers = new Offers(knowledge, caseOf(play), findings, () => 0);
  const check = knowledge.checks[move.id];
  const isRepeat = Boolean(findings.results[move.id]);
  if (!isRepeat && offers.fits(check)) {
    const first = offers.path(move.id, [])?.steps[0];
    if (first === undefined) return { play, refused: { kind: "cannot", check: move.id, because: null } };
    if (first !== move.id) return { play, refused: { kind: "first", check: first, because: null } };
  }
  return { play: makeCheck(knowledge, play, move, isRepeat), refused: null };
}

/** @type {(knowledge: Knowledge, name: string) => Cause} */
function causeOf(knowledge, name) {
  return /** @type {Cause} */ (knowledge.causes[name]);
}

/**
 * Note a step and add up what it took.
 * @type {(play: Play, step: Partial<Made> & {move: Move},
 *   took?: Partial<Record<"money" | "minutes" | "waiting" | "checks" | "parts" | "in_vain", number>>) => Play}
 */
function noted(play, step, took = {}) {
  const made = {
    level: null,
    answered: {},
    mended: false,
    because: null,
    mark: /** @type {Made["mark"]} */ (""),
    ...step,
  };
  const bill = { ...play.bill };
  for (const [name, amount] of Object.entries(took)) bill[/** @type {"money"} */ (name)] += amount;
  if (made.mark === "pointless") bill.pointless += 1;
  if (made.mark === "unsafe") bill.unsafe += 1;
  return { ...play, made: [...play.made, made], bill };
}

/**
 * @type {(knowledge: Knowledge, play: Play, move: Move, isRepeat: boolean) => Play}
 * @param isRepeat whether its result still stands
 */
function makeCheck(knowledge, play, move, isRepeat) {
  const check = knowledge.checks[move.id];
  const level = resultOf(knowledge, play.car, play.present, move.id);
  const found = check.levels.find(({ id }) => id === level);
  const answered = answeredBy(knowledge, play, move.id);
  const isIdle = isRepeat || !bearsOn(knowledge, causesTold(knowledge, play.car), move.id);
  const took = {
    money: check.money,
    minutes: check.needs_helper ? check.minutes * 2 : check.minutes,
    waiting: waited(check.wait_hours),
    checks: 1,
  };
  const again = move.id in play.outcomes ? [...new Set([...play.again, move.id])] : play.again;
  const ended = found?.ends ?? [];
  const known = {
    ...noted(play, { move, level, answered, mark: isIdle ? "pointless" : "" }, took),
    outcomes: { ...play.outcomes, [move.id]: level },
    again: again.filter((name) => !found?.resets?.includes(name)),
  };
  const put = ended.length > 0 ? putRight(knowledge, known, ended) : known;
  const next = { ...put, outcomes: { ...put.outcomes, ...answered } };
  return settled(clear(next, [...ended, ...(found?.mends ?? [])]));
}

/** @type {(knowledge: Knowledge, play: Play, reading: string) => Record<string, string>} */
function answeredBy(knowledge, { car, present }, reading) {
  const asked = Object.entries(knowledge.checks).filter(
    ([, check]) => readsCodes(check) && check.needs?.some((need) => need.check === reading),
  );
  return Object.fromEntries(
    asked.map(([name, { levels }]) => [name, levels[trueLevel(knowledge, car, present, name)].id]),
  );
}

/** @type {(knowledge: Knowledge, play: Play, move: Move) => Play} */
function repair(knowledge, play, move) {
  const cause = causeOf(knowledge, move.id);
  const { part, who, minutes, wait_hours: waiting } = cause.repair;
  const fixed = Object.keys(knowledge.causes).filter((name) => putsRight(cause, causeOf(knowledge, name)));
  const mended = fixed.some((name) => play.present.includes(name));
  const parts = part === null ? 0 : 1;
  const money = who === "workshop" ? workshopBill(cause) : middlePrice(cause);
  // Trying something that needs no part and does not help is no mistake; trying it twice is.
  /** @type {Made["mark"]} */
  const mark = play.repaired.includes(move.id) ? "pointless" : mended || part === null ? "" : "in-vain";
  const took = {
    money,
    minutes: who === "workshop" ? 0 : minutes,
    waiting: waited(waiting),
    parts,
    in_vain: mended ? 0 : parts,
  };
  const known = putRight(knowledge, noted(play, { move, mended, mark }, took), fixed);
  return settled(clear({ ...known, bought: play.bought + parts }, fixed));
}

/**
 * Count causes as put right, and forget results that this may have changed.
 * @type {(knowledge: Knowledge, play: Play, fixed: string[]) => Play}
 */
function putRight(knowledge, play, fixed) {
  const isKept = (/** @type {string} */ name) => {
    const links = findingOf(knowledge, name)?.links ?? {};
    return !fixed.some((cause) => cause in links);
  };
  const outcomes = Object.fromEntries(Object.entries(play.outcomes).filter(([name]) => isKept(name)));
  return { ...play, outcomes, repaired: [...new Set([...play.repaired, ...fixed])] };
}

/** @type {(play: Play, fixed: string[]) => Play} */
function clear(play, fixed) {
  return { ...play, present: play.present.filter((name) => !fixed.includes(name)) };
}

/**
 * End the exercise once none of the hidden causes is left: all of them made the complaint.
 * @type {(play: Play) => Play}
 */
function settled(play) {
  return play.present.length > 0 ? play : { ...play, over: true, bill: { ...play.bill, helped: true } };
}

/**
 * Stop: a workshop asks its price to find out, and puts right whatever is left.
 * @param {Knowledge} knowledge
 * @param {Play} play
 */
function toWorkshop(knowledge, play) {
  const bills = play.present.map((name) => workshopBill(causeOf(knowledge, name)));
  const money = knowledge.settings.unresolved_cost + bills.reduce((sum, one) => sum + one, 0);
  return { ...noted(play, { move: { kind: "workshop", id: "" } }, { money }), over: true };
}

/**
 * Return what the checker's policy does next, with the advice it follows.
 * @type {(knowledge: Knowledge, play: Play) => {move: Move, advice: Advice}}
 */
function bestMove(knowledge, play) {
  const advice = triage(knowing(knowledge, play.repaired), caseOf(play));
  const { repair: advised, next, workshop } = advice;
  /** @type {Move} */
  let move = { kind: "workshop", id: "" };
  if (advised && !play.repaired.includes(advised.cause)) {
    if (advised.part === null || play.bought < MOST_PARTS) move = { kind: "repair", id: advised.cause };
  } else if (next[0] && !workshop) move = { kind: "check", id: next[0].check };
  return { move, advice };
}

/**
 * Play a car as the checker would, to its end.
 * @param {Knowledge} knowledge
 * @param {Car} car
 * @returns {{play: Play, why: Because[][]}} and the reasons of each step
 */
export function bestPlay(knowledge, car) {
  let play = begin(car);
  /** @type {Because[][]} */
  const why = [];
  while (!play.over) {
    const { move, advice } = bestMove(knowledge, play);
    const isLong = play.made.length >= MOST_STEPS - 1;
    const { play: after, refused } = take(knowledge, play, isLong ? { kind: "workshop", id: "" } : move);
    if (refused) throw new Error(`the advised step "${move.id}" was refused: ${refused.kind}`);
    play = after;
    why.push((move.kind === "repair" ? advice.repair?.because : advice.next[0]?.because) ?? []);
  }
  return { play, why };
}

/** Play given steps again, as far as they go. @type {(knowledge: Knowledge, car: Car, moves: Move[]) => Play} */
export function replay(knowledge, car, moves) {
  return moves.reduce((play, move) => take(knowledge, play, move).play, begin(car));
}

/**
 * Return money, minutes and waiting together, in money, as the planner weighs them.
 * @type {(knowledge: Knowledge, bill: Bill) => number}
 */
export function costOf(knowledge, { money, minutes, waiting }) {
  return money + (minutes * hourValue(knowledge, complaintCase(""))) / 60 + waiting * WAITING_HOUR;
}
