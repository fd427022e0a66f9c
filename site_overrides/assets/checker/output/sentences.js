/**
 * Output room: ask the words for the sentences a view needs.
 *
 * The reasoning gives data, `words.js` gives sentences; this file only fetches the right one
 * and says what a state of the supply means.
 *
 * @import { App } from "./app.js"
 * @import { Advice, Gauge, HeldOff, NextItem } from "../data/types.js"
 * @import { Interpretation } from "../reasoning/gauges.js"
 */
import { fractionWords } from "./figures.js";

/** @param {any} because @returns {string[]} */
function lines(because) {
  if (because === null || because === undefined) return [];
  return Array.isArray(because) ? because.map(String) : [String(because)];
}

const SUPPLY = /** @type {Record<string, string>} */ ({
  unproven: "Battery, connections and charging have not been proven yet. Until they are, other readings and lamps are weak evidence.",
  doubtful: "A supply check was not normal. Settle it before looking further.",
  failing: "The supply is not sound. Mend it first; the rest may clear by itself.",
  sound: "Battery, connections and charging are proven. What is left lies elsewhere.",
});

/** @param {string} state */
export function supplyWords(state) {
  return SUPPLY[state] ?? "";
}
/** @param {App} app @param {Advice} advice @returns {string[]} */
export function supplyReasons(app, advice) {
  return lines(advice.supply.because);
}
/** @param {App} app @param {Advice} advice @param {NextItem} item */
export function nextReasons(app, advice, item) {
  return lines(item.because);
}
/** @param {App} app @param {Advice} advice */
export function repairReasons(app, advice) {
  return lines(advice.repair?.because);
}
/** @param {App} app @param {Advice} advice @param {string} cause */
export function causeReasons(app, advice, cause) {
  return { raised: /** @type {string[]} */ ([]), lowered: /** @type {string[]} */ ([]) };
}
/** @param {App} app @param {HeldOff} held */
export function holdOffUntil(app, held) {
  return held.until ? `Hold off until: ${held.until}.` : "";
}
/** @param {App} app @param {Gauge} gauge @param {Interpretation} found */
export function readingSentence(app, gauge, found) {
  return gauge.bands.find((band) => band.id === found.band)?.says ?? "";
}
/** @param {App} app @param {Advice} advice */
export function liveSummary(app, advice) {
  const [top] = advice.causes;
  const next = advice.repair?.action ?? app.knowledge.checks[advice.next[0]?.check ?? ""]?.title;
  const likeliest = top ? `The likeliest cause is now ${top.title.toLowerCase()}, ${fractionWords(top.probability)}. ` : "";
  return likeliest + (next ? `Next: ${next}.` : "No useful check is left.");
}
