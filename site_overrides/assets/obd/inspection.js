/**
 * Room reasoning: what a place's rule makes of a readout.
 *
 * Twin of build_tools/obd/inspection.py, in the same order of work, on the compiled data. A readout
 * that cannot be used never passes. It knows no rule by heart.
 *
 * @import { Merged, Readout } from "./readout.js"
 * @import { ForcedReady, Inspection, Monitor, YearBand } from "../knowledge/readiness-types.js"
 * @typedef {{year: number|null, fuel: string|null, pounds: number|null,
 *   now?: number|null}} Vehicle `now`: the year of the test
 * @typedef {{no_answer: boolean, connector_dead: boolean, lamp_dark: boolean,
 *   retest_codes: string[], unread_codes: string[], repaired: string[], permanent_codes: number|null,
 *   pending_codes: number|null, warm_ups: number|null, distance_km: number|null,
 *   all_else_passes: boolean|null, certificate_expired: boolean|null,
 *   extension_used: boolean|null}} Facts
 * @typedef {{id: string, mark: string|null, monitors: string[], number: number|null,
 *   limit: number|null}} Reason
 * @typedef {{rule: string, result: string, confidence: string, why: Reason[],
 *   would_change: Reason[], flags: string[], allowed: number|null, allowed_only: string[]|null,
 *   incomplete: string[], forced: string[]}} Verdict
 * @typedef {{rule: Inspection, vehicle: Vehicle, facts: Facts,
 *   monitors: Record<string, Monitor>, flags: string[], marks: string[]}} Case
 */

import { numberIn, texts } from "../kit/untrusted.js";
import { inRange, recogniseCode } from "./codes.js";
import { monitorsOfCode } from "./evidence.js";
import { codesOf, valueGiven } from "./readout.js";

export const FUELS = ["gasoline", "diesel", "hybrid", "other"];
const FIRST_YEAR = 1960;
const LAST_YEAR = 2100;

/** @type {(told: Record<string, unknown>) => Vehicle} */
export function vehicleFrom(told) {
  const { fuel } = told;
  return {
    year: yearOf(told.year),
    fuel: typeof fuel === "string" && FUELS.includes(fuel) ? fuel : null,
    pounds: numberIn(told.pounds, 1, 1_000_000),
    now: yearOf(told.now),
  };
}

/** @param {unknown} told */
function yearOf(told) {
  const year = numberIn(told, FIRST_YEAR, LAST_YEAR);
  return Number.isInteger(year) ? year : null;
}

/** @type {(told: Record<string, unknown>) => Facts} */
export function factsFrom(told) {
  const typed = texts(told.retest_codes);
  const codes = typed.map((code) => recogniseCode(code).code);
  return {
    no_answer: told.no_answer === true,
    connector_dead: told.connector_dead === true,
    lamp_dark: told.lamp_dark === true,
    retest_codes: codes.filter((code) => code !== null),
    unread_codes: typed.filter((_, place) => codes[place] === null),
    repaired: texts(told.repaired),
    permanent_codes: countOf(told.permanent_codes),
    pending_codes: countOf(told.pending_codes),
    warm_ups: numberIn(told.warm_ups, 0, 65535),
    distance_km: numberIn(told.distance_km, 0, 10_000_000),
    all_else_passes: truth(told.all_else_passes),
    certificate_expired: truth(told.certificate_expired),
    extension_used: truth(told.extension_used),
  };
}

/** Fill in from the readout what the owner did not tell himself. @type {(facts: Facts, readout: Readout) => Facts} */
function withReadout(facts, readout) {
  return {
    ...facts,
    permanent_codes: facts.permanent_codes ?? codesOf(readout, "permanent")?.length ?? null,
    pending_codes: facts.pending_codes ?? codesOf(readout, "pending")?.length ?? null,
    warm_ups: facts.warm_ups ?? valueGiven(readout, "warm-ups-since-clear"),
    distance_km: facts.distance_km ?? valueGiven(readout, "distance-since-clear"),
  };
}

/** @type {(id: string, more?: Partial<Reason>) => Reason} */
function reason(id, more = {}) {
  return { id, mark: null, monitors: [], number: null, limit: null, ...more };
}

/** @param {unknown} value */
function countOf(value) {
  const number = numberIn(value, 0, 1000);
  return Number.isInteger(number) ? number : null;
}

/** @param {unknown} value */
function truth(value) {
  return typeof value === "boolean" ? value : null;
}

export const MARKS = ["own", "own-mirror", "programme", "second-hand", "from-memory"];

/** Return the least sure of the marks; with none of them, "from-memory". @type {(marks: string[]) => string} */
function worstMark(marks) {
  const places = marks.map((mark) => MARKS.indexOf(mark)).filter((place) => place >= 0);
  return places.length ? MARKS[Math.max(...places)] : "from-memory";
}

/** @type {(told: Case, result: string, ...why: Reason[]) => Verdict} */
function verdict(told, result, ...why) {
  const marks = [...told.marks, ...why.flatMap((one) => (one.mark ? [one.mark] : []))];
  return {
    rule: told.rule.id,
    result,
    confidence: worstMark(marks),
    why,
    would_change: [],
    flags: [],
    allowed: null,
    allowed_only: null,
    incomplete: [],
    forced: [],
  };
}

/** @type {(found: Verdict, ...ids: string[]) => Verdict} */
function changed(found, ...ids) {
  return { ...found, would_change: [...found.would_change, ...ids.map((id) => reason(id))] };
}

// With these states the lamp and the codes are known, though the monitors are not.
const LAMP_KNOWN = ["usable", "nothing-supported", "continuous-only"];
const SHOWN_STANDINGS = ["historic", "guidance", "in-transition"];

/**
 * @type {(rule: Inspection, vehicle: Vehicle, readout: Readout, facts: Facts, monitors: Record<string, Monitor>) =>
 *   Verdict}
 */
export function decide(rule, vehicle, readout, facts, monitors) {
  /** @type {Case} */
  const told = {
    rule,
    vehicle,
    facts: withReadout(facts, readout),
    monitors,
    flags: [],
    marks: [],
  };
  if (SHOWN_STANDINGS.includes(rule.standing)) told.flags.push(rule.standing);
  const found = outside(told) ?? beforeMonitors(told, readout) ?? byMonitors(told, readout.merged);
  return { ...found, flags: [...new Set([...found.flags, ...told.flags])] };
}

/** Say that the program does not take this vehicle; what is not told may fit. @type {(told: Case) => Verdict|null} */
function outside(told) {
  const { scope } = told.rule;
  const { year, fuel, pounds, now = null } = told.vehicle;
  const age = year === null || now === null ? null : now - year;
  if (!scope.takes.length) return null;
  const fuels = fuel === "hybrid" ? ["hybrid", "gasoline"] : [fuel];
  const fitting = scope.takes.filter(
    (taken) =>
      (fuel === null || !taken.fuels.length || taken.fuels.some((one) => fuels.includes(one))) &&
      (year === null || (taken.from_year ?? 0) <= year) &&
      (pounds === null || pounds <= (taken.most_pounds ?? pounds)) &&
      (age === null || ((taken.from_age ?? age) <= age && age <= (taken.to_age ?? age))),
  );
  if (!fitting.length) {
    return changed(verdict(told, "out-of-scope", reason("outside", { mark: scope.mark })), "ask-scope");
  }
  if (pounds === null && fitting.every((taken) => taken.most_pounds !== null)) {
    told.flags.push("weight-not-told");
  }
  return null;
}

/** @type {(told: Case, readout: Readout) => Verdict|null} */
function beforeMonitors(told, readout) {
  const { rule, facts } = told;
  const { merged, state } = readout;
  if (facts.connector_dead && (rule.lamp.federal || rule.standing !== "no-sourced-rule")) {
    return verdict(told, "fail", reason("connector-dead", { mark: rule.lamp.mark }));
  }
  if ((facts.no_answer || state === "no-answer") && rule.no_answer) {
    told.flags.push("their-tool-may-differ");
    const { result, mark } = rule.no_answer;
    return verdict(told, result, reason("no-answer", { mark }));
  }
  if (facts.no_answer) return verdict(told, "communication-failure", reason("no-answer"));
  if (merged !== null && LAMP_KNOWN.includes(state)) {
    const found = lampVerdict(told, merged) ?? noCount(told, merged);
    if (found !== null || state === "usable") return found;
  }
  return noCount(told, null) ?? verdict(told, "indeterminate", reason(`readout-${state}`));
}

/** @type {(told: Case, merged: Merged|null) => Verdict|null} */
function noCount(told, merged) {
  const { rule } = told;
  if (rule.standing !== "no-sourced-rule" || rule.not_tested) return null;
  const lacking = (merged?.monitors ?? []).filter((one) => !one.supported).map(({ id }) => id);
  if (!rule.counts_unsupported || !lacking.length) return verdict(told, "no-rule", reason("no-rule"));
  return verdict(told, "no-rule", reason("no-rule"), reason("unsupported-counts", { monitors: lacking }));
}

/** @type {(told: Case, merged: Merged) => Verdict|null} */
function lampVerdict(told, merged) {
  const { lamp, standing, not_tested: notTested } = told.rule;
  const { mark } = lamp;
  if (standing === "no-sourced-rule" && !lamp.federal && !notTested) return null;
  if (merged.mil && lamp.federal) told.flags.push("federal-lamp");
  if (merged.mil && told.facts.lamp_dark) {
    return changed(verdict(told, "fail", reason("lamp-dark", { mark })), "lamp-repair");
  }
  if (merged.mil && merged.count > 0) {
    const why = reason("lamp-on", { mark, number: merged.count });
    return changed(verdict(told, "fail", why), "lamp-off");
  }
  if (merged.mil) {
    const why = reason("lamp-without-code", { mark });
    return changed(verdict(told, lamp.without_code, why), "read-again");
  }
  if (merged.count > 0) told.flags.push("code-without-lamp");
  return null;
}

/** @type {(told: Case, merged: Merged|null) => Verdict} */
function byMonitors(told, merged) {
  if (merged === null) return verdict(told, "indeterminate", reason("readout-no-status"));
  if (told.rule.not_tested) {
    told.flags.push("unverified");
    const { mark } = told.rule.not_tested;
    return verdict(told, "pass-on-this-item", reason("not-tested", { mark }));
  }
  if (told.vehicle.year === null || told.vehicle.fuel === null) {
    return verdict(told, "indeterminate", reason("vehicle-needed"));
  }
  const band = bandFor(told);
  if (band === null) {
    return verdict(told, "no-band", reason("no-band", { number: told.vehicle.year }));
  }
  if (merged.incomplete_continuous.length) told.flags.push("continuous-not-counted");
  if (band.note) told.flags.push("band-note");
  const forced = forcedMonitors(told, merged);
  return {
    ...countVerdict(told, band, merged, forced),
    allowed: band.allowed,
    allowed_only: band.allowed_only,
    incomplete: merged.incomplete,
    forced,
  };
}

/** @type {(told: Case) => YearBand|null} */
function bandFor(told) {
  const { year, fuel } = told.vehicle;
  const found = bandOf(told.rule, year, fuel);
  if (found !== null && fuel === "hybrid" && !found.fuels.includes(fuel)) {
    told.flags.push("hybrid-as-gasoline");
    told.marks.push("from-memory");
  }
  return found;
}

/**
 * Find the band of a year and a fuel; a hybrid without a band of its own goes as gasoline.
 * @type {(rule: Pick<Inspection, "bands">, year: number|null, fuel: string|null) => YearBand|null}
 */
export function bandOf({ bands }, year, fuel) {
  const at = year ?? 0;
  const fitting = bands.filter(({ from_year: from, to_year: to }) => (from ?? at) <= at && at <= (to ?? at));
  const own = fitting.find(({ fuels }) => fuel !== null && fuels.includes(fuel));
  return own ?? (fuel === "hybrid" ? bandOf({ bands }, year, "gasoline") : null);
}

/**
 * List incomplete monitors that must be complete, and keep the marks of those rules.
 * @type {(told: Case, merged: Merged) => string[]}
 */
function forcedMonitors(told, merged) {
  /** @type {string[]} */
  const names = [];
  for (const forced of told.rule.forced_ready) {
    const wanted = wantedMonitors(told, forced);
    const hit = merged.incomplete.filter((name) => wanted.includes(name) && !names.includes(name));
    names.push(...hit);
    if (hit.length) told.marks.push(forced.mark);
  }
  return names;
}

/** @type {(told: Case, forced: ForcedReady) => string[]} */
function wantedMonitors(told, forced) {
  const codes = told.facts.retest_codes;
  if (forced.when === "always") return forced.monitors;
  if (forced.when === "repair") {
    return forced.monitors.filter((name) => told.facts.repaired.includes(name));
  }
  if (forced.when === "lamp-code") {
    const named = codes.flatMap((code) => monitorsOfCode(code, told.monitors));
    return named.filter((name) => !forced.monitors.length || forced.monitors.includes(name));
  }
  const [first, last] = [forced.first_code ?? "", forced.last_code ?? ""];
  return codes.some((code) => inRange(code, first, last)) ? forced.monitors : [];
}

/** @type {(told: Case, band: YearBand, merged: Merged, forced: string[]) => Verdict} */
function countVerdict(told, band, merged, forced) {
  const { transition } = told.rule;
  const missing = merged.incomplete;
  const only = band.allowed_only;
  const strange = only === null ? [] : missing.filter((name) => !only.includes(name));
  if (forced.length) {
    const why = reason("forced", { monitors: forced });
    return notReady(told, why, reason("complete-these", { monitors: forced }));
  }
  if (strange.length || missing.length > band.allowed) return tooMany(told, band, missing, strange);
  const byCode = told.rule.forced_ready.some(({ when }) => when === "code" || when === "lamp-code");
  if (byCode && told.facts.unread_codes.length) {
    return changed(verdict(told, "indeterminate", reason("unread-code")), "mend-code");
  }
  const limit = band.allowed;
  const mark = missing.length || !transition ? band.mark : transition.mark;
  const why = missing.length
    ? reason("within-limit", { mark, monitors: missing, number: missing.length, limit })
    : reason("all-complete", { mark, number: 0, limit });
  const permanent = permanentVerdict(told);
  if (permanent !== null) return permanent;
  const { lamp } = told.rule;
  if (merged.count > 0 && lamp.stored_code_unclear) {
    const stored = reason("stored-code", { mark: lamp.mark, number: merged.count });
    return changed(verdict(told, "undecided", stored, why), "code-gone", "ask-stored-code");
  }
  if (missing.length && transition && missing.length > transition.allowed) {
    told.flags.push("fails-by-new-rule");
    const change = reason("complete-these", { monitors: missing });
    return { ...verdict(told, "interim-pass", why), would_change: [change] };
  }
  if (told.facts.pending_codes && lamp.stored_code_unclear) {
    // Lower the sureness: a code in waiting might count as a code.
    told.flags.push("pending-code-unclear");
    told.marks.push("from-memory");
  }
  return changed(verdict(told, "pass", why), "power-loss-undoes");
}

/** @type {(told: Case, band: YearBand, missing: string[], strange: string[]) => Verdict} */
function tooMany(told, band, missing, strange) {
  const { transition } = told.rule;
  const number = missing.length;
  const limit = band.allowed;
  if (band.also_allowed !== null && number <= band.also_allowed) told.flags.push("accounts-differ");
  const { mark } = band;
  const why = strange.length
    ? reason("not-the-allowed-ones", { mark, monitors: strange, number, limit })
    : reason("too-many", { mark, monitors: missing, number, limit });
  const change = strange.length
    ? reason("complete-these", { monitors: strange })
    : reason("complete-any", { monitors: missing, number: number - limit });
  if (!transition || number <= transition.allowed) return notReady(told, why, change);
  // Both the older limit and the newer rule say no: the newer one is the surer ground, and the
  // older limit stands beside it with its own mark.
  const { mark: surer, allowed } = transition;
  const ground = reason("new-rule", { mark: surer, monitors: missing, number, limit: allowed });
  const found = notReady(told, ground, change);
  return { ...found, why: [...found.why, why] };
}

/** @type {(told: Case, why: Reason, change: Reason) => Verdict} */
function notReady(told, why, change) {
  const outcome = told.rule.not_ready;
  if (outcome === null) return verdict(told, "indeterminate", why);
  if (told.rule.extension) told.flags.push(extensionFlag(told.facts));
  const found = verdict(told, outcome.result, why, reason("outcome", { mark: outcome.mark }));
  return { ...found, would_change: [change, reason("drive-plan")] };
}

/** @type {(facts: Facts) => string} */
function extensionFlag(facts) {
  const told = [facts.all_else_passes, facts.certificate_expired];
  if (told.includes(false) || facts.extension_used === true) return "no-extension";
  return told.includes(null) ? "extension-unknown" : "extension-possible";
}

/** @type {(told: Case) => Verdict|null} */
function permanentVerdict(told) {
  const { facts, vehicle } = told;
  const policy = told.rule.permanent_code;
  if (!facts.permanent_codes) return null;
  if (policy === null || policy.policy === "not-seen") {
    told.flags.push("permanent-code-unknown");
    return null;
  }
  const why = reason("permanent-code", { mark: policy.mark, number: facts.permanent_codes });
  const exempt = policy.exemption;
  if (exempt === null) return changed(verdict(told, "fail", why), "permanent-code-gone");
  const { mark } = exempt;
  if (vehicle.year !== null && vehicle.year < exempt.from_year) {
    told.flags.push("permanent-code-not-looked-at");
    told.marks.push(mark);
    return null;
  }
  if (facts.warm_ups === null || facts.distance_km === null) {
    told.flags.push("exemption-unknown");
    return changed(verdict(told, "fail", why), "permanent-code-gone", "tell-counters");
  }
  const distance = { mark, number: facts.distance_km, limit: exempt.distance_km };
  if (facts.warm_ups < exempt.warm_ups || facts.distance_km < exempt.distance_km) {
    const warmUps = { mark, number: facts.warm_ups, limit: exempt.warm_ups };
    const found = changed(verdict(told, "fail", why), "permanent-code-gone");
    const more = [reason("warm-ups", warmUps), reason("distance", distance)];
    return { ...found, would_change: [...found.would_change, ...more] };
  }
  told.flags.push("accounts-differ");
  return changed(verdict(told, "undecided", why, reason("exemption", distance)), "ask-authority");
}
