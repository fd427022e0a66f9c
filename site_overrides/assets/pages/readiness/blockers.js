/**
 * Data room: which usual needs of a monitor the drives do not meet, as the reader tells it.
 *
 * @import { Bounds } from "../../logs/triplog-timeline.js"
 * @import { ConditionResult } from "../../logs/triplog.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Tables } from "../../obd/tables.js"
 */
import { chanceOf } from "../../logs/triplog.js";
import { valueGiven } from "../../obd/readout.js";
import { celsiusOf, truthOf } from "../../obd/told.js";

/**
 * Say which usual needs of a monitor are not met, by what the reader told of the drives.
 * @type {(tables: Tables, id: string, readout: Readout, told: Record<string, string>) => ConditionResult[]}
 */
export function unmetNeeds(tables, id, readout, told) {
  const exactly = (/** @type {number | null} */ value) => ({ low: value, high: value });
  /** @type {Record<string, Bounds>} */
  const metrics = {
    "ambient-low": exactly(celsiusOf(told, "ambient")),
    "ambient-high": exactly(celsiusOf(told, "ambient")),
    "fuel-level": exactly(valueGiven(readout, "fuel-level")),
    "peak-coolant": exactly(celsiusOf(told, "coolant")),
  };
  const monitor = tables.monitors[id];
  if (!monitor) return [];
  return chanceOf(monitor, metrics).missing.filter(({ verdict }) => verdict === "not-met");
}

/**
 * Tell whether a monitor waits for a cold start that the car has not had.
 * @type {(tables: Tables, id: string, told: Record<string, string>) => boolean}
 */
export function lacksSoak(tables, id, told) {
  return truthOf(told.soaked) === false && (tables.monitors[id]?.segments.includes("soak") ?? false);
}
