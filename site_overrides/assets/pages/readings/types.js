/**
 * Data room: the shapes the readings and logs pages pass around.
 *
 * Types only, read by the type check; nothing runs here.
 *
 * @import { Knowledge, Fact } from "../../knowledge/types.js"
 * @import { SlipQuestion } from "../../measure/gauges-slips.js"
 * @import { SumEntry } from "../../measure/sum-words.js"
 */

/** @typedef {Knowledge & {sums: Record<string, SumEntry>}} Known the compiled knowledge */
/** @typedef {{check: string, value: number, unit: string, conditions: Record<string, Fact>, confirmed?: boolean}} CaseReading */
/**
 * One field of a form. `read` gives what was entered, null for nothing; `set` enters something.
 * @typedef {object} FormField
 * @property {string} id
 * @property {HTMLElement} $field
 * @property {HTMLElement} $input
 * @property {() => any} read
 * @property {(value: number, unit: string) => void} set
 */
/**
 * What came of the entered figures: an answer to show, a question, or a refusal by a field.
 * @typedef {object} Outcome
 * @property {HTMLElement | null} $answer
 * @property {SlipQuestion | null} question
 * @property {{field: string, words: string, mark: string | null} | null} refused
 */

export {};
