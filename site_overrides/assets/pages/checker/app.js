/**
 * Output room: what every view may ask of the page that joins them.
 *
 * Types only. The one object that has these powers is made in `start.js`.
 *
 * @import { Unknown } from "../../case/address.js"
 * @import { Case, Knowledge, SearchIndex, State } from "../../knowledge/types.js"
 */

/**
 * @typedef {object} ActOptions
 * @property {string} [focus] selector of the element to focus afterwards
 * @property {string} [say] what the live region should say
 */
/** @typedef {typeof import("../../knowledge/search.js") & {index: SearchIndex, readings: import("../../knowledge/reading-search.js").ReadingText[]}} Search */
/**
 * @typedef {object} App
 * @property {Knowledge} knowledge
 * @property {Search | null} search what finds symptoms by words; null until it is first asked for
 * @property {() => Promise<void>} fetchSearch
 * @property {typeof import("./advice.js") | null} more what advises; null until there is a case
 * @property {() => State} state
 * @property {(id: string, isSo: boolean) => void} tick choose a symptom without drawing anew
 * @property {(change: (state: State) => State, options?: ActOptions) => void} act change and draw
 * @property {(change: (state: State) => State) => void} note change and keep without drawing anew
 * @property {() => void} undo
 * @property {() => void} forget
 * @property {() => boolean} canUndo
 * @property {() => import("../../kit/store.js").Outcome} howKept how the case is kept on this device
 * @property {(car: Case, how: {isAnswer: boolean, isForced?: boolean}) => boolean} takeUp make the case of a link the current one
 * @property {() => void} leaveLink go back to the case kept here
 * @property {(text: string) => Promise<void>} openText open the case link in a text
 * @property {Unknown[]} unknown what the address named and this page does not know
 * @property {Record<string, number>} former chances before the last change
 */

export {};
