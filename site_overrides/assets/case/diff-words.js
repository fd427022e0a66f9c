/**
 * Room case: say what changed: between two cases, and on the way from an older link.
 *
 * @import { Change } from "./case-adopt.js"
 * @import { Difference } from "./case-diff.js"
 * @import { Knowledge, Reading } from "../knowledge/types.js"
 */

import { lowerFirst } from "../kit/figures.js";
import { factWords, HELPED, levelWords, measuredWords, quantityWords } from "./case-text.js";

/** Say one change that an older link took. @type {(knowledge: Knowledge, change: Change) => string} */
export function changeWords(knowledge, change) {
  const { id, kind } = change;
  const entry = Object.hasOwn(knowledge[kind], change.to ?? id) ? knowledge[kind][change.to ?? id] : undefined;
  const title = entry?.title ?? id;
  switch (change.change) {
    case "renamed":
      return `“${id}” is now called “${title}”.`;
    case "retired":
      return `“${id}” is no longer used: ${(change.reason ?? "").replace(/\.+$/, "")}.`;
    case "level-gone":
      return `“${title}”: the result “${change.value}” no longer exists and was left out.`;
    case "option-gone":
      return `“${title}”: the answer “${change.value}” no longer exists and was left out.`;
    case "value-gone":
      return `“${title}”: the answer cannot be used any more and was left out.`;
    case "hour-gone":
      return "The price of an hour in it is none, and was left out.";
    case "reading-gone":
      return `“${title}”: the reading cannot be used any more and was left out.`;
    default:
      return `“${id}” is not known here and was left out.`;
  }
}

/** @type {(knowledge: Knowledge, difference: Difference, value: any) => string} */
function valueWords(knowledge, { part, id }, value) {
  if (part === "context") return factWords(knowledge, id, value).split(": ").slice(1).join(": ");
  if (part === "helped") return HELPED[/** @type {"better" | "gone"} */ (value)];
  if (part === "readings") return measuredWords(knowledge, value);
  return levelWords(knowledge, id, value);
}

/** Say what a difference is about. @type {(knowledge: Knowledge, difference: Difference) => string} */
function subject(knowledge, { part, id }) {
  const { symptoms, causes, checks, contexts } = knowledge;
  switch (part) {
    case "symptoms":
      return symptoms[id]?.title ?? id;
    case "absent":
      return `Not so: ${lowerFirst(symptoms[id]?.title ?? id)}`;
    case "not_possible":
      return `${checks[id]?.title ?? id}, cannot be done here`;
    case "past":
      return `Was there, is over: ${lowerFirst(symptoms[id]?.title ?? id)}`;
    case "helped":
    case "mended":
      return `Repaired: ${lowerFirst(causes[id]?.title ?? id)}`;
    case "context":
      return contexts[id]?.title ?? id;
    case "tools":
      return "Tools at hand";
    default:
      return checks[id]?.title ?? id;
  }
}

/** Tell whether two readings were taken under the same conditions. @type {(one: Reading, other: Reading) => boolean} */
function isSameUnder(one, other) {
  const names = [...new Set([...Object.keys(one), ...Object.keys(other)])].filter(
    (name) => !["value", "unit"].includes(name),
  );
  return names.every((name) => JSON.stringify(one[name]) === JSON.stringify(other[name]));
}

/**
 * Say one difference between two cases.
 * @type {(knowledge: Knowledge, difference: Difference) => {how: string, words: string}}
 */
export function differenceWords(knowledge, difference) {
  const about = subject(knowledge, difference);
  const { how, before, after, part } = difference;
  if (part === "tools") return { how: "Changed", words: about };
  const say = (/** @type {any} */ value) => valueWords(knowledge, difference, value);
  if (part === "readings" && how === "changed" && isSameUnder(before, after)) {
    const [now, then] = [after, before].map(({ value, unit }) => quantityWords(knowledge, value, unit));
    return { how: "Changed", words: `${about}: ${now}, was ${then}` };
  }
  if (how === "changed") return { how: "Changed", words: `${about}: ${say(after)}, was ${say(before)}` };
  const value = how === "added" ? after : before;
  const words = value === undefined ? about : `${about}: ${say(value)}`;
  return { how: how === "added" ? "Added" : "Removed", words };
}
