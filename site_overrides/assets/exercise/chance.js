/**
 * Room exercise: numbers in 0..1 that look drawn and are the same for ever.
 *
 * A number belongs to a seed and a name, not to the order in which it is asked for, so that a
 * check comes out alike for all who make it in the same car, whatever they did before.
 */

/** Text in, 32 bits out: every bit of the text moves about half of them. */
const FIRST = 0x811c9dc5;
const TIMES = 0x01000193;

/** Mix 32 bits, so that seeds next to each other give unlike numbers. @param {number} bits */
function mixed(bits) {
  let one = bits;
  one = Math.imul(one ^ (one >>> 16), 0x85ebca6b);
  one = Math.imul(one ^ (one >>> 13), 0xc2b2ae35);
  return (one ^ (one >>> 16)) >>> 0;
}

/** Return a whole number in 0 .. 2^32 - 1 for a text. @type {(seed: number, text: string) => number} */
export function bitsOf(seed, text) {
  let bits = mixed(seed ^ FIRST);
  for (let place = 0; place < text.length; place += 1) bits = Math.imul(bits ^ text.charCodeAt(place), TIMES);
  return mixed(bits);
}

/** Return a number in 0..1, below 1, for a seed and a name. @type {(seed: number, name: string) => number} */
export function chanceOf(seed, name) {
  return bitsOf(seed, name) / 2 ** 32;
}

/**
 * Pick a thing by weight; the last one where the weights have run out.
 * @template Thing
 * @param {Array<{thing: Thing, weight: number}>} rows at least one
 * @param {number} chance in 0..1
 * @returns {Thing}
 */
export function pickByWeight(rows, chance) {
  let rest = chance * rows.reduce((sum, { weight }) => sum + weight, 0);
  for (const { thing, weight } of rows) {
    rest -= weight;
    if (rest < 0) return thing;
  }
  return /** @type {{thing: Thing}} */ (rows.at(-1)).thing;
}
