/**
 * Room logs: coast-downs and stops in a trip.
 *
 * Brakes cannot be seen.
 *
 * @import { Piece, Stretch } from "./triplog-timeline.js"
 */

import { valueIn } from "./triplog-timeline.js";

const COAST_FROM = 64; // km/h, our estimate, as the two below
const COAST_TO = 40;
const COAST_SECONDS = 8;
const STILL = 1.609344; // 1 mph
const MOVING = 10; // clearly moving, our estimate

/** List falls of speed that look like coasting. @type {(pieces: Piece[]) => Stretch[]} */
export function coastDowns(pieces) {
  /** @type {Stretch[]} */
  const found = [];
  /** @type {number|null} */
  let begin = null;
  let [last, end, reached] = [0, 0, false];
  const finish = () => {
    if (reached && begin !== null && end - begin >= COAST_SECONDS) {
      found.push({ kind: "coast-down", start: begin, end });
    }
  };
  for (const piece of pieces) {
    const speed = piece.gap ? null : valueIn(piece, "speed");
    if (!(speed !== null && begin !== null && speed <= last)) {
      finish();
      [begin, reached] = [null, false];
    }
    if (speed === null) continue;
    if (speed >= COAST_FROM) begin = piece.start;
    if (begin !== null && speed <= COAST_TO && !reached) [reached, end] = [true, piece.start];
    last = speed;
  }
  finish();
  return found;
}

/** Count how often the car came to a stand from more than 10 km/h. @type {(pieces: Piece[]) => number} */
export function countStops(pieces) {
  let [stops, moved] = [0, false];
  for (const piece of pieces) {
    const speed = valueIn(piece, "speed");
    if (speed === null) continue;
    if (speed > MOVING) {
      moved = true;
    } else if (speed <= STILL && moved) {
      stops += 1;
      moved = false;
    }
  }
  return stops;
}
