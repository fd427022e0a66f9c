/**
 * Questions that one look answers together. Twin of one_look.py, in the same order of arithmetic.
 *
 * @import { Check, Knowledge } from "../knowledge/types.js"
 * @import { Offer } from "./pricing.js"
 */
import { compareText } from "../measure/gauges-numbers.js";

/**
 * A step that asks: its offer, and the checks it answers in the order in which a code counts, none
 * where it answers only itself. `reading` is the check made for all of them, null where it has been.
 * @typedef {{offer: Offer, answers: string[], reading: string | null}} Question
 */

/** Tell whether a check is answered by the numbers in a list of codes. @param {Check} check */
export function readsCodes({ levels }) {
  return levels.some(({ codes }) => codes && codes.length > 0);
}

/**
 * Put together what one look answers. The family named most seldom counts first, because it tells
 * most; the look costs what its dearest question does.
 * @type {(knowledge: Knowledge, offers: Map<string, Offer>, useful: Offer[], named: (check: string) => number) =>
 *   Question[]}
 * @param named predicts P(a family is named), rounded
 */
export function questionsOf(knowledge, offers, useful, named) {
  /** @type {Map<string, Offer[]>} */
  const groups = new Map();
  for (const offer of useful) {
    if (!readsCodes(knowledge.checks[offer.check])) continue;
    const key = offer.before.join(" ");
    groups.set(key, [...(groups.get(key) ?? []), offer]);
  }
  const readings = new Set([...groups.values()].flatMap(([{ before }]) => before.slice(-1)));
  const alone = useful.filter(({ check }) => !readsCodes(knowledge.checks[check]) && !readings.has(check));
  return [
    ...alone.map((offer) => ({ offer, answers: [], reading: null })),
    ...[...groups.values()].map((members) => {
      const order = [...members].sort((a, b) => named(a.check) - named(b.check) || compareText(a.check, b.check));
      const reading = members[0].before.at(-1) ?? null;
      const asked = /** @type {Offer} */ (reading === null ? order.at(-1) : offers.get(reading));
      const cost = Math.max(...members.map((one) => one.cost));
      return { offer: { ...asked, cost }, answers: order.map(({ check }) => check), reading };
    }),
  ];
}

/**
 * @param {number[][] | null} own the table of the reading, null where it has been made
 * @param {number[][][]} tables those of the questions, in the order in which they count
 * @param {number} worlds
 */
export function joined(own, tables, worlds) {
  return Array.from({ length: worlds }, (_, world) => {
    let quiet = 1;
    /** @type {number[]} */
    const named = [];
    for (const table of tables) {
      const [normal, ...others] = table[world];
      for (const one of others) named.push(quiet * one);
      quiet *= normal;
    }
    return [...(own === null ? [quiet] : own[world].map((one) => quiet * one)), ...named];
  });
}

/** @type {(own: number[][] | null, confirms: number[][][]) => number[][]} */
export function joinedConfirms(own, confirms) {
  const always = own?.at(-1) ?? [];
  const named = confirms.flatMap(([, ...levels]) =>
    levels.map((level) => [...new Set([...always, ...level])].sort((a, b) => a - b)),
  );
  return [...(own ?? [[]]), ...named];
}
