/**
 * Data room: find what a reading in a sentence belongs to: "12.4 volts engine off", "amps parked".
 *
 * It ranks by the words a reading is asked for with; what the number means is the gauge's to say.
 */

/**
 * What a reading is found by: the words of its page, words owners type with its number, and what
 * its meter can show at all, in the gauge's own unit.
 * @typedef {{id: string, ask: string, words: string, typed: string, units: string[], low: number,
 *   high: number}} ReadingText
 */
/** @typedef {{id: string, ask: string, value: string, unit: string}} ReadingHit value and unit "" where none was typed */

const NUMBER = /(-?\d+(?:[.,]\d+)?)\s*(mv|millivolts?|v|volts?|ma|milliamps?|a|amps?|amperes?)\b/i;
const UNIT = /\b(volts?|millivolts?|amps?|amperes?|milliamps?|ma|mv)\b/i;
const UNITS = /** @type {Array<[RegExp, string]>} */ ([
  [/^(mv|milliv)/i, "mV"],
  [/^v/i, "V"],
  [/^(ma|millia)/i, "mA"],
  [/^a/i, "A"],
]);
const MOST = 2;
/** What a word owners type for it weighs beside one that stands on its page. */
const OWN = 2;

/** @type {(words: string[], text: string) => number} */
function count(words, text) {
  return words.filter((word) => text.includes(word)).length;
}

/** @param {string} word */
function unitOf(word) {
  return UNITS.find(([form]) => form.test(word))?.[1] ?? "";
}

/**
 * Find the readings a text speaks of; none where it names no unit.
 * @type {(readings: ReadingText[], text: string) => ReadingHit[]}
 */
export function findReadings(readings, text) {
  const [whole = "", value = "", typed = ""] = NUMBER.exec(text) ?? [];
  const unit = unitOf(typed || (UNIT.exec(text)?.[1] ?? ""));
  if (unit === "") return [];
  const amount = Number(value.replace(",", ".")) * (unit.startsWith("m") ? 0.001 : 1);
  const rest = text.replace(whole, " ").toLowerCase();
  const words = rest.split(/[^a-z]+/).filter((word) => word.length > 2);
  const ranked = readings
    .filter(({ units, low, high }) => units.includes(unit) && (value === "" || (low <= amount && amount <= high)))
    .map((one, place) => ({ one, place, met: count(words, one.words) + OWN * count(words, one.typed) }))
    .sort((a, b) => b.met - a.met || a.place - b.place);
  const best = ranked[0]?.met ?? 0;
  return ranked
    .filter(({ met }) => met === best)
    .slice(0, MOST)
    .map(({ one: { id, ask } }) => ({ id, ask, value: value.replace(",", "."), unit: value === "" ? "" : unit }));
}

/** Write the address of a reading, with what was typed, below the site's root. @param {ReadingHit} hit */
export function readingAddress({ id, value, unit }) {
  return value === "" ? `readings/#${id}` : `readings/#${id}&value=${value}&unit=${unit}`;
}
