/**
 * Room reasoning: suspect a slip of the unit or the decimal point before trusting a number.
 *
 * Asks a question; it never changes a reading by itself. Twin of gauges_slips.py.
 *
 * @import { Unit } from "./gauges-numbers.js"
 */
import { convert } from "./gauges-numbers.js";

const SHIFTS = [0.1, 10, 0.01, 100, 0.001, 1000];
// A gauge whose lowest edge is at least this share of its highest plausible value has a narrow
// working zone (12.06 to 12.6 of 16.5 V), so a reading ten times off stands out. A gauge of
// small limits (0.05 V) has none: there a tiny reading is simply a good one.
const ZONE_SHARE = 0.25;
const ZONE_MARGIN = 0.15;
const FAR_BELOW = 1 / 500;

/**
 * One typed number with what is plausible for it, limits in the canonical unit.
 * @typedef {{field: string, value: number, unit: string, canonicalUnit: string, accepts: string[], low: number,
 *   high: number}} Typed
 */

/**
 * Asks whether another value or unit was meant; no weight is used until answered.
 * @typedef {{field: string, typed_value: number, typed_unit: string, likely_value: number | null,
 *   likely_unit: string | null, why: "other-unit" | "decimal-point" | "outside-plausible", low: number, high: number,
 *   unit_of_limits: string}} SlipQuestion
 */

/** @typedef {{canonical: number, value: number, unit: string, why: SlipQuestion["why"]}} Candidate */

/** @type {(gauge: Record<string, any>) => {lowest: number, highest: number}} */
function edgeSpan(gauge) {
  /** @type {number[]} */
  const edges = [];
  for (const table of gauge.tables) {
    for (const band of table.bands) {
      for (const edge of [band.from, band.below]) {
        if (typeof edge === "number") edges.push(edge);
        else if (edge) for (const point of edge.points) edges.push(point[1]);
      }
    }
  }
  if (edges.length === 0) return { lowest: 0, highest: 0 };
  return { lowest: Math.min(...edges), highest: Math.max(...edges) };
}

/** @type {(typed: Typed, units: Record<string, Unit>) => Candidate[]} */
function candidates(typed, units) {
  /** @type {Candidate[]} */
  const found = [];
  for (const unit of typed.accepts) {
    if (unit === typed.unit) continue;
    const canonical = convert(typed.value, unit, typed.canonicalUnit, units);
    found.push({ canonical, value: typed.value, unit, why: "other-unit" });
  }
  for (const shift of SHIFTS) {
    const value = typed.value * shift;
    const canonical = convert(value, typed.unit, typed.canonicalUnit, units);
    found.push({ canonical, value, unit: typed.unit, why: "decimal-point" });
  }
  return found;
}

/**
 * @type {(typed: Typed, units: Record<string, Unit>, zone?: {low: number, high: number}) => SlipQuestion | null}
 * @param zone narrows what the likely value may be
 */
export function plausibleSlip(typed, units, zone = undefined) {
  const value = convert(typed.value, typed.unit, typed.canonicalUnit, units);
  if (typed.low <= value && value <= typed.high) return null;
  const { low, high } = zone ?? typed;
  const meant = candidates(typed, units).find(({ canonical }) => low <= canonical && canonical <= high);
  return meant ? question(typed, meant) : question(typed, null);
}

/** @type {(gauge: Record<string, any>, typed: Typed, units: Record<string, Unit>) => SlipQuestion | null} */
export function gaugeSlip(gauge, typed, units) {
  const { lowest, highest } = edgeSpan(gauge);
  const value = convert(typed.value, typed.unit, typed.canonicalUnit, units);
  const hasZone = lowest > 0 && lowest >= ZONE_SHARE * typed.high;
  const zone = hasZone
    ? { low: lowest * (1 - ZONE_MARGIN), high: Math.min(highest * (1 + ZONE_MARGIN), typed.high) }
    : undefined;
  const outside = plausibleSlip(typed, units, zone);
  if (outside) return outside;
  if (zone) return slipIntoZone(typed, value, zone, units);
  if (value > 0 && value < lowest * FAR_BELOW) {
    return slipFromFarBelow(typed, lowest, highest, units);
  }
  return null;
}

/**
 * @type {(typed: Typed, value: number, zone: {low: number, high: number}, units: Record<string, Unit>) =>
 *   SlipQuestion | null}
 */
function slipIntoZone(typed, value, zone, units) {
  if (zone.low / 2 <= value || value === 0) return null;
  const meant = candidates(typed, units).find(({ canonical }) => zone.low <= canonical && canonical <= zone.high);
  return meant ? question(typed, meant) : null;
}

/** @type {(typed: Typed, lowest: number, highest: number, units: Record<string, Unit>) => SlipQuestion | null} */
function slipFromFarBelow(typed, lowest, highest, units) {
  const meant = candidates(typed, units).find(({ canonical, why }) => {
    const near = lowest / 10 <= canonical && canonical <= highest * 10 && canonical <= typed.high;
    return why === "other-unit" && near;
  });
  return meant ? question(typed, meant) : null;
}

/** @type {(typed: Typed, meant: Candidate | null) => SlipQuestion} */
function question(typed, meant) {
  return {
    field: typed.field,
    typed_value: typed.value,
    typed_unit: typed.unit,
    likely_value: meant ? meant.value : null,
    likely_unit: meant ? meant.unit : null,
    why: meant ? meant.why : "outside-plausible",
    low: typed.low,
    high: typed.high,
    unit_of_limits: typed.canonicalUnit,
  };
}
