/**
 * Room case: what was added, changed and taken away between two cases.
 *
 * Names what differs; the words are made in diff-words.js. The order of things told is
 * no difference.
 *
 * @import { Case } from "../knowledge/types.js"
 */

/** @typedef {"symptoms" | "absent" | "context" | "readings" | "outcomes" | "not_possible" | "tools" | "mended" | "helped" | "past"} Part */
/** @typedef {{how: "added" | "changed" | "removed", part: Part, id: string, before?: any, after?: any}} Difference */

/** @type {Part[]} */
const LISTS = ["symptoms", "past", "absent", "not_possible", "mended"];
/** @type {Part[]} */
const RECORDS = ["context", "readings", "outcomes", "helped"];

/** Write a value so that equal ones read equal, in whatever order their parts stand. @type {(value: any) => string} */
function fixed(value) {
  if (value === null || typeof value !== "object") return JSON.stringify(value) ?? "";
  return JSON.stringify(
    Object.keys(value)
      .sort()
      .map((key) => [key, fixed(value[key])]),
  );
}

/** @type {(part: Part, before: string[], after: string[]) => Difference[]} */
function listed(part, before, after) {
  return [
    ...after.filter((id) => !before.includes(id)).map((id) => ({ how: /** @type {const} */ ("added"), part, id })),
    ...before.filter((id) => !after.includes(id)).map((id) => ({ how: /** @type {const} */ ("removed"), part, id })),
  ];
}

/** @type {(part: Part, before: Record<string, any>, after: Record<string, any>) => Difference[]} */
function recorded(part, before, after) {
  /** @type {Difference[]} */
  const found = [];
  for (const id of new Set([...Object.keys(before), ...Object.keys(after)])) {
    const [one, other] = [before[id], after[id]];
    if (one === undefined) found.push({ how: "added", part, id, after: other });
    else if (other === undefined) found.push({ how: "removed", part, id, before: one });
    else if (fixed(one) !== fixed(other)) found.push({ how: "changed", part, id, before: one, after: other });
  }
  return found;
}

/**
 * List what differs between two cases, in the order of the parts of a case.
 * @type {(before: Case, after: Case) => Difference[]}
 */
export function caseDifferences(before, after) {
  const differences = [
    ...LISTS.flatMap((part) =>
      listed(part, /** @type {any} */ (before)[part] ?? [], /** @type {any} */ (after)[part] ?? []),
    ),
    ...RECORDS.flatMap((part) =>
      recorded(part, /** @type {any} */ (before)[part] ?? {}, /** @type {any} */ (after)[part] ?? {}),
    ),
  ];
  const tools = (/** @type {Case} */ { tools: list }) => fixed(list ? [...list].sort() : null);
  if (tools(before) !== tools(after)) {
    differences.push({ how: "changed", part: "tools", id: "tools", before: before.tools, after: after.tools });
  }
  return differences;
}
