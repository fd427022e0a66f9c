/**
 * Room reasoning: what a trouble code says: its family, plain meaning, the monitors it belongs to,
 * and the checks that tell its causes apart.
 *
 * Meanings come from the checks that read codes by their number; the family from the number alone.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { CodeClass } from "./codes.js"
 * @import { Tables } from "./evidence.js"
 * @typedef {CodeClass & {family: string|null, means: Array<{check: string, label: string, says: string}>,
 *   monitors: string[], checks: string[]}} CodeAbout
 */

import { networkOf } from "../engine/findings.js";
import { indexNetwork } from "../engine/network.js";
import { classifyCode } from "./codes.js";
import { isAmong, monitorsOfCode } from "./evidence.js";

/** Families by how a code begins; longer beginnings stand first. */
const FAMILIES = [
  ...["P00", "P01", "P02", "P03", "P04", "P05", "P06", "P07", "P08", "P09", "P0A", "P0B", "P0C", "P20"],
  ...["P21", "P22", "P24", "P25", "P26", "P2A", "P30", "P34", "P0", "P1", "P2", "P3", "U", "B", "C"],
];
const MOST_CHECKS = 3;

/** Say what is known of a code. @type {(knowledge: Knowledge, tables: Tables, code: string) => CodeAbout} */
export function codeAbout(knowledge, tables, code) {
  const means = [];
  /** @type {string[]} */
  const checks = [];
  for (const [check, { levels }] of Object.entries(knowledge.checks)) {
    const place = levels.findIndex((level) => isAmong(code, level.codes ?? []));
    if (place < 0) continue;
    means.push({ check, label: levels[place].label, says: levels[place].means });
    checks.push(...checksBehind(knowledge, check, place));
  }
  return {
    ...classifyCode(code, tables.codes),
    family: FAMILIES.find((start) => code.startsWith(start)) ?? null,
    means,
    monitors: monitorsOfCode(code, tables.monitors),
    checks: [...new Set(checks)].slice(0, MOST_CHECKS),
  };
}

/**
 * List the checks that confirm what such a code usually comes from, the usual first.
 * @type {(knowledge: Knowledge, check: string, place: number) => string[]}
 * @param place of the level the code means
 */
function checksBehind(knowledge, check, place) {
  const links = Object.entries(indexNetwork(networkOf(knowledge)).findingById.get(check)?.links ?? {});
  links.sort(([, one], [, other]) => (one[place - 1] ?? 1) - (other[place - 1] ?? 1));
  const reads = (/** @type {string} */ id) => knowledge.checks[id]?.levels.some(({ codes }) => codes) ?? true;
  return links.flatMap(([cause]) =>
    (knowledge.causes[cause]?.confirmed_by ?? [])
      .map((by) => by.check)
      .filter((id) => !reads(id))
      .slice(0, 1),
  );
}
