/**
 * Output room: keep on this device how far a student is, so that a page loaded again goes on there.
 *
 * @import { Car } from "../../exercise/draw.js"
 * @import { Move } from "../../exercise/play.js"
 * @import { Knowledge } from "../../knowledge/types.js"
 */

import { resultLink, resultsIn } from "../../exercise/links.js";
import { Store } from "../../kit/store.js";

const work = new Store("before-parts-exercise");

/**
 * Return the steps made on a car before; none where another car was worked on since.
 * @type {(knowledge: Knowledge, car: Car) => Move[]}
 */
export function keptMoves(knowledge, car) {
  const [kept] = resultsIn(knowledge, String(work.read()?.result ?? ""));
  return kept && JSON.stringify(kept.car) === JSON.stringify(car) ? kept.moves : [];
}

/**
 * Keep the steps made on a car in the place of those of any other.
 * @type {(knowledge: Knowledge, car: Car, moves: Move[]) => void}
 */
export function keepMoves({ version }, car, moves) {
  work.takeOver();
  work.write({ result: resultLink({ name: "", edition: version, car, moves }) });
}
