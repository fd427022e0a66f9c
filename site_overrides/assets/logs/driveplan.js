/**
 * Room logs: a plan of drives for the monitors that are incomplete.
 *
 * The parts of a trip come with the compiled data. It never asks for more than ordinary lawful driving, and the handbook wins.
 *
 * @import { Monitor, Segment } from "../knowledge/readiness-types.js"
 * @typedef {{supply: string, fuel_percent: number|null, ambient: number|null, lamp_on: boolean,
 *   pending_code: boolean, own: string[]}} PlanFacts
 * @typedef {{segment: string, minutes: number|null, source: string, serves: string[],
 *   loads: string|null, cautions: string[]}} PlanPart
 * @typedef {{day: number, parts: PlanPart[], late: string[]}} PlanDay
 * @typedef {{state: string, first: string[], days: PlanDay[], notes: string[],
 *   cautions: string[], unserved: string[], own: string[], stops: string[]}} DrivePlan
 *   `own`: the handbook's own steps, which stand in the place of parts
 */

import { numberIn } from "../kit/untrusted.js";

const SUPPLY_STATES = ["unproven", "doubtful", "failing", "sound"];
const [QUARTER, THREE_QUARTERS] = [25, 75]; // common practice, and one official page
const COLD = -7; // 20 degF, from memory
const HOT = 35; // 95 degF, from memory
const [DAYS_WITH_SOAK, DAYS_WITHOUT] = [3, 2]; // two to three days, common practice
const MOST_OWN = 20;
const CAUTIONS = ["handbook-wins", "no-tool-while-driving", "do-not-clear"];
// The dangers of our own parts, for steps that may ask for the same.
const OWN_CAUTIONS = ["outdoors", "idling-law", "lawful-speed", "nobody-behind"];
/** What we would settle first, and how the handbook names it: what it says itself wins. @type {[string[], RegExp][]} */
const OWN_WORDS = [
  [["fuel-unknown", "fuel-to-half"], /\b(?:fuel|tank|gas level)\b/i],
  [["too-cold"], /\b(?:cold|temperature|ambient|outside)\b|\u00b0|\bdeg/i],
];
const STOPS = ["enough", "danger", "no-change"];
const ALWAYS = ["first-idle", "gentle", "stop-and-go"];

/**
 * Read facts from plain data; what is not understood counts as not told.
 * @type {(told: Record<string, unknown>) => PlanFacts}
 */
export function planFactsFrom(told) {
  const { supply } = told;
  return {
    supply: typeof supply === "string" && SUPPLY_STATES.includes(supply) ? supply : "unproven",
    fuel_percent: numberIn(told.fuel_percent, 0, 100.5),
    ambient: numberIn(told.ambient, -60, 80),
    lamp_on: told.lamp_on === true,
    pending_code: told.pending_code === true,
    own: ownSteps(told.own),
  };
}

/** Cut what was entered from the handbook into steps, a line each. @type {(text: unknown) => string[]} */
function ownSteps(text) {
  const lines = typeof text === "string" ? text.split("\n").map((line) => line.trim()) : [];
  return lines.filter((line) => line !== "").slice(0, MOST_OWN);
}

/**
 * Plan the drives for the incomplete monitors.
 *
 * With a failing supply, or with the lamp on, no drive is planned. What the handbook says wins. Names that are no monitor are left out.
 * @type {(incomplete: string[], monitors: Record<string, Monitor>, facts: PlanFacts, segments: Segment[]) => DrivePlan}
 * @param segments in driving order
 */
export function planDrives(incomplete, monitors, facts, segments) {
  const names = [...new Set(incomplete)].filter((name) => Object.hasOwn(monitors, name));
  const wanted = names.map((name) => monitors[name]);
  if (!wanted.length) return planOf("nothing-to-do");
  if (facts.supply === "failing") return planOf("hold", { first: ["supply-failing"] });
  if (facts.lamp_on) return planOf("hold", { first: ["lamp-on"] });
  const served = wanted.filter((monitor) => monitor.segments.length);
  if (facts.own.length) return ownPlan(facts, served);
  const unserved = wanted.filter((monitor) => !monitor.segments.length).map((one) => one.id);
  const first = firstThings(facts, served);
  const days = daysOf(served, facts, segments);
  return planOf(first.length ? "settle-first" : "plan", {
    first,
    days,
    notes: notesOf(served, facts, days, unserved),
    cautions: CAUTIONS,
    unserved,
    stops: STOPS,
  });
}

/** @type {(facts: PlanFacts, served: Monitor[]) => DrivePlan} */
function ownPlan(facts, served) {
  const text = facts.own.join("\n");
  const told = OWN_WORDS.filter(([, words]) => words.test(text)).flatMap(([ids]) => ids);
  const first = firstThings(facts, served).filter((id) => !told.includes(id));
  const days = Array.from({ length: DAYS_WITHOUT }, (_, place) => ({ day: place + 1, parts: [], late: [] }));
  const cautions = [...CAUTIONS.filter((id) => id !== "handbook-wins"), ...OWN_CAUTIONS];
  return planOf("own", { first, days, notes: ["own-wins", "read-again"], cautions, own: facts.own, stops: STOPS });
}

/** @type {(state: string, more?: Partial<DrivePlan>) => DrivePlan} */
function planOf(state, more = {}) {
  return { state, first: [], days: [], notes: [], cautions: [], unserved: [], own: [], stops: [], ...more };
}

/** Name what should be settled before the first drive. @type {(facts: PlanFacts, served: Monitor[]) => string[]} */
function firstThings(facts, served) {
  const first = [];
  const fuel = facts.fuel_percent;
  if (facts.pending_code) first.push("pending-code");
  if (served.length && fuel === null) first.push("fuel-unknown");
  else if (fuel !== null && !(fuel >= QUARTER && fuel <= THREE_QUARTERS)) first.push("fuel-to-half");
  if (facts.ambient !== null && facts.ambient < COLD) first.push("too-cold");
  return first;
}

/** @type {(served: Monitor[], facts: PlanFacts, segments: Segment[]) => PlanDay[]} */
function daysOf(served, facts, segments) {
  const parts = partsOf(served, facts, segments);
  if (!parts.length) return [];
  const soaks = parts.some((part) => part.segment === "soak");
  const names = served.map((monitor) => monitor.id);
  const waiting = served.filter((monitor) => monitor.after.some((name) => names.includes(name)));
  const late = waiting.map((monitor) => monitor.id);
  return Array.from({ length: soaks ? DAYS_WITH_SOAK : DAYS_WITHOUT }, (_, place) => ({
    day: place + 1,
    parts,
    late: place > 0 ? late : [],
  }));
}

/**
 * List the parts of one trip in driving order; every trip starts with an idle.
 * @type {(served: Monitor[], facts: PlanFacts, segments: Segment[]) => PlanPart[]}
 */
function partsOf(served, facts, segments) {
  const parts = [];
  const long = served.some((monitor) => monitor.segments.includes("long-steady"));
  for (const { id, minutes, source, cautions } of segments) {
    let serves = served.filter((monitor) => monitor.segments.includes(id)).map((one) => one.id);
    if (!serves.length && !(ALWAYS.includes(id) && served.length)) continue;
    // A longer stretch at speed serves what a shorter one does.
    if (id === "steady" && long) continue;
    if (id === "long-steady") {
      const fast = served.filter(({ segments: own }) => own.includes("steady") || own.includes(id));
      serves = fast.map((one) => one.id);
    }
    const idleLoads = facts.supply === "sound" ? "as-handbook" : "off";
    const loads = id === "first-idle" ? idleLoads : null;
    parts.push({ segment: id, minutes, source, serves, loads, cautions });
  }
  return parts;
}

/** @type {(served: Monitor[], facts: PlanFacts, days: PlanDay[], unserved: string[]) => string[]} */
function notesOf(served, facts, days, unserved) {
  const notes = [];
  if (days.length && facts.supply === "sound") notes.push("official-idles-with-loads");
  else if (days.length) notes.push("loads-off-first", "differs-from-official");
  const vapor = served.some((monitor) => monitor.id === "evaporative-system");
  if (vapor && facts.ambient !== null && facts.ambient > HOT) notes.push("too-hot-for-vapor");
  if (days.length && days[days.length - 1].late.length) notes.push("late-ones");
  if (days.length) notes.push("several-cold-starts", "read-again");
  if (unserved.length) notes.push("no-part-known");
  return notes;
}
