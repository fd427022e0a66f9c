/**
 * Room reasoning: forced monitors, the count of incomplete ones, and permanent codes.
 *
 * Same order of work as the second part of build_tools/obd/inspection.py.
 *
 * @import { Facts, Reason, Verdict } from "./inspection-facts.js"
 * @import { Case } from "./inspection-verdict.js"
 * @import { Merged } from "./readout.js"
 * @import { ForcedReady, Monitor, YearBand } from "../knowledge/readiness-types.js"
 */

import { inRange } from "./codes.js";
import { reason } from "./inspection-facts.js";
import { changed, verdict } from "./inspection-verdict.js";

/**
 * List incomplete monitors that must be complete, and keep the marks of those rules.
 * @type {(told: Case, merged: Merged) => string[]}
 */
export function forcedMonitors(told, merged) {
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
    const named = codes.flatMap((code) => monitorsOf(code, told.monitors));
    return named.filter((name) => !forced.monitors.length || forced.monitors.includes(name));
  }
  const [first, last] = [forced.first_code ?? "", forced.last_code ?? ""];
  return codes.some((code) => inRange(code, first, last)) ? forced.monitors : [];
}

/** @type {(code: string, monitors: Record<string, Monitor>) => string[]} */
function monitorsOf(code, monitors) {
  return Object.keys(monitors).filter((name) =>
    monitors[name].codes.some((span) => inRange(code, span.first, span.last)),
  );
}

/** @type {(told: Case, band: YearBand, merged: Merged, forced: string[]) => Verdict} */
export function countVerdict(told, band, merged, forced) {
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
