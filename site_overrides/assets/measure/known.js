/**
 * Data room: the shapes the readings and logs pages pass around.
 *
 * Types only, read by the type check; nothing runs here.
 *
 * @import { Knowledge, Fact } from "../knowledge/types.js"
 * @import { SumEntry } from "./words.js"
 */

/** @typedef {Knowledge & {sums: Record<string, SumEntry>}} Known the compiled knowledge */
/** @typedef {{check: string, value: number, unit: string, conditions: Record<string, Fact>, confirmed?: boolean}} CaseReading */

export {};
