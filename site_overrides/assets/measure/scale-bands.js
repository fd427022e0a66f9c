/**
 * Output room: which edges to draw on the scale of one reading.
 *
 * The reasoning mixes every condition that is not known; a drawing can show one set of edges.
 * It shows those of the likeliest conditions, and the caption says when they were assumed.
 *
 * @import { Check, Gauge, Knowledge, Reading } from "../knowledge/types.js"
 * @import { Scales } from "./gauges-conditions.js"
 * @import { ScaleBand } from "./reading-scale.js"
 */
import { bandOfNumber, knownConditions, mixture } from "./gauges-conditions.js";
import { convert } from "./gauges-numbers.js";

/** Hatching by level of the check: blank for normal, closer lines for later levels. */
const DENSITIES = /** @type {Record<number, number[]>} */ ({ 1: [0], 2: [0, 3], 3: [0, 2, 4], 4: [0, 1, 3, 4] });

/**
 * @param {Knowledge} knowledge
 * @returns {Scales}
 */
export function scalesOf(knowledge) {
  return { units: knowledge.units, contexts: knowledge.contexts };
}

/**
 * @param {Record<string, any> | undefined} wanted
 * @param {Record<string, string | number>} chosen
 * @param {Scales} scales
 * @returns {boolean}
 */
function fits(wanted, chosen, scales) {
  return Object.entries(wanted ?? {}).every(([name, options]) => {
    const given = chosen[name];
    const value = typeof given === "number" ? bandOfNumber(given, scales.contexts[name]) : given;
    return [options].flat().includes(value);
  });
}

/**
 * @param {any} edge a number, a curve by a condition, or nothing
 * @param {Record<string, string | number>} chosen
 * @param {Scales} scales
 * @returns {number | null}
 */
function edgeIn(edge, chosen, scales) {
  if (edge === null || edge === undefined) return null;
  if (typeof edge === "number") return edge;
  const from = scales.contexts[edge.by]?.unit ?? edge.unit;
  const x = convert(Number(chosen[edge.by]), from, edge.unit, scales.units);
  /** @type {Array<[number, number]>} */
  const points = edge.points;
  const next = points.findIndex(([at]) => x <= at);
  const [x1, y1] = points[next < 0 ? points.length - 1 : next] ?? [x, 0];
  const [x0, y0] = points[Math.max(0, next - 1)] ?? [x1, y1];
  return next <= 0 ? y1 : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
}

/**
 * Find how closely a band is hatched: by the level of the check it means.
 * @param {Check | undefined} check
 * @param {string} band
 * @param {number} place
 * @returns {number}
 */
function densityOf(check, band, place) {
  if (!check) return Math.min(place, 4);
  const steps = DENSITIES[check.levels.length] ?? [0, 1, 2, 3, 4];
  const level = check.levels.findIndex((each) => (each.bands ?? []).includes(band));
  return level < 0 ? 0 : (steps[Math.min(level, steps.length - 1)] ?? 0);
}

/**
 * List the bands to draw, ascending. Hatching says how far from normal, as on the pages.
 * @param {Knowledge} knowledge
 * @param {Gauge} gauge
 * @param {Reading} reading
 * @param {Check} [check] the check the reading belongs to
 * @returns {ScaleBand[]}
 */
export function scaleBands(knowledge, gauge, reading, check) {
  const scales = scalesOf(knowledge);
  const { known } = knownConditions(gauge, reading, scales, true);
  const worlds = [...mixture(gauge, known)].sort((a, b) => b.weight - a.weight);
  const chosen = worlds[0]?.chosen ?? {};
  const table = gauge.tables.find((each) => fits(each.for, chosen, scales));
  const labels = new Map(gauge.bands.map((band) => [band.id, band.label]));
  /** @type {Array<Record<string, any>>} */
  const rows = table?.bands ?? [];
  return rows.map((row, place) => ({
    label: labels.get(row.band) ?? row.band,
    low: edgeIn(row.from, chosen, scales),
    high: edgeIn(row.below, chosen, scales),
    density: densityOf(check, row.band, place),
  }));
}
