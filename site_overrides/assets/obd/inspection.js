/**
 * Room reasoning: what a place's rule makes of a readout.
 *
 * Same order of work as build_tools/obd/inspection.py, on the compiled data. A readout
 * that cannot be used never passes. It knows no rule by heart.
 *
 * @import { Facts, Vehicle, Verdict } from "./inspection-facts.js"
 * @import { Case } from "./inspection-verdict.js"
 * @import { Merged, Readout } from "./readout.js"
 * @import { Inspection, Monitor, YearBand } from "../knowledge/readiness-types.js"
 */

import { countVerdict, forcedMonitors } from "./inspection-count.js";
import { reason, withReadout } from "./inspection-facts.js";
import { changed, verdict } from "./inspection-verdict.js";

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
  const found = bandOf(told, told.vehicle.fuel);
  if (found !== null || told.vehicle.fuel !== "hybrid") return found;
  const asGasoline = bandOf(told, "gasoline");
  if (asGasoline !== null) {
    told.flags.push("hybrid-as-gasoline");
    told.marks.push("from-memory");
  }
  return asGasoline;
}

/** @type {(told: Case, fuel: string|null) => YearBand|null} */
function bandOf(told, fuel) {
  const year = told.vehicle.year ?? 0;
  for (const band of told.rule.bands) {
    const late = band.from_year === null || band.from_year <= year;
    const early = band.to_year === null || year <= band.to_year;
    if (fuel !== null && band.fuels.includes(fuel) && late && early) return band;
  }
  return null;
}
