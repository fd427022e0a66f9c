/**
 * Data room: the shapes that pass between the rooms of the checker.
 *
 * Types only, read by the type check; nothing runs here. The compiled knowledge follows the
 * published format 1; the case and the advice are the stable interface of the reasoning.
 */

/**
 * What a symptom is found by; `first` says when it may come first: only on a strong match, never
 * before a complaint, or, without it, always.
 * @typedef {{title: string, says: string[], family: string, about?: string, first?: "sure" | "never"}} SearchText
 */
/**
 * @typedef {object} SearchIndex
 * @property {Record<string, SearchText>} texts
 * @property {Synonym[]} synonyms
 * @property {(word: string) => string} stem
 * @property {Map<string, number>} terms how many entries speak of a term, denied or not
 * @property {Set<string>} spoken the terms of titles and phrasings
 * @property {Map<string, Map<string, number>>} entries strength of a term, 0 to 1, by entry
 * @property {Map<string, Map<number, number>>} lines the same by number of a title or phrasing
 * @property {string[]} owners the entry of each line
 * @property {number[]} lineWeights
 * @property {Map<string, Array<[string, number]>>} near what words stood for that were asked before
 * @property {number} size how many entries there are
 */
/** @typedef {{word: string, means?: string, offers?: string}} Synonym */

/** @typedef {{says: string, symptom: string}} SplitAnswer */
/** @typedef {{question: string, answers: SplitAnswer[]}} SplitQuestion */
/**
 * @typedef {object} Symptom
 * @property {string} title
 * @property {string} summary
 * @property {"complaint" | "circumstance"} role
 * @property {string} family
 * @property {string[]} says
 * @property {string[]} [stop_now]
 * @property {{line: string, than: number}} [stop_colder] called for only below these degrees Celsius
 * @property {string[]} [takes_away] abilities it takes from the car as it is now
 * @property {string[]} [shows] abilities it shows to be there
 * @property {Record<string, string>} [sets] answers about the car that must be so where it is noticed
 * @property {SplitQuestion[]} [ask_first]
 * @property {string} [supply_note]
 * @property {Array<{cause: string}>} causes
 */
/**
 * @typedef {object} Repair
 * @property {string} action
 * @property {string | null} part
 * @property {{low: number, high: number, currency: string}} price
 * @property {number} minutes
 * @property {number | null} [wait_hours] hours that pass without the owner
 * @property {string} who
 * @property {string[]} cautions
 * @property {string[]} [requires] abilities it takes
 * @property {string[]} [own_tools] the owner's own tools
 * @property {string[]} [after_checks] checks that come before it, as long as they can be made
 * @property {Record<string, string>} [sets] answers about the car as they are after it
 */
/**
 * @typedef {{title: string, group: string, context?: Array<{when: string, is: string, times: number}>, repair: Repair,
 *   confirmed_by: Array<{check: string, level: string}>}} Cause
 */
/**
 * @typedef {object} Level
 * @property {string} id
 * @property {string} label
 * @property {string} means
 * @property {string[]} [bands]
 * @property {boolean} [proves]
 * @property {string[]} [stop_now]
 * @property {{line: string, than: number}} [stop_colder] called for only below these degrees Celsius
 * @property {string[]} [takes_away]
 * @property {string[]} [shows]
 * @property {string[]} [allows]
 * @property {string[]} [resets] checks whose abnormal results from before it no longer stand
 * @property {string[]} [mends] causes it puts right
 * @property {string[]} [ends] causes it shows to have been put right, with the trouble gone
 * @property {string[]} [codes] trouble codes and ranges of them that mean this level
 */
/**
 * @typedef {object} Check
 * @property {string} title
 * @property {string[]} aspects
 * @property {string[]} tools
 * @property {number} minutes
 * @property {number | null} [wait_hours] hours that pass without the owner
 * @property {number} money
 * @property {string} currency
 * @property {string} skill
 * @property {boolean} needs_helper
 * @property {string} [source] the mark of minutes and money
 * @property {string[]} cautions
 * @property {string[]} [requires] abilities it takes
 * @property {Record<string, string[]>} [told_by] answers about the car that tell its result
 * @property {boolean} [away] whether it is made away from the car
 * @property {Array<{check: string, at_most?: string | null, otherwise?: string | null}>} [needs]
 * @property {Array<{do: string, caution?: string | null}>} steps
 * @property {string | null} [drawing]
 * @property {Record<string, string>} [drawing_with] tool to the drawing for who works with it
 * @property {string | null} [gauge]
 * @property {string[]} [conditions]
 * @property {Level[]} levels
 * @property {string[]} [only_for] families of complaints it makes sense for
 * @property {string[]} [only_with] symptoms it makes sense for
 * @property {string} [cannot_tell]
 */
/**
 * @typedef {object} Gauge
 * @property {string} title
 * @property {string} summary
 * @property {string} quantity
 * @property {string} unit
 * @property {string[]} accepts
 * @property {{low: number, high: number, source: string}} plausible
 * @property {number} decimals
 * @property {Array<Record<string, any>>} conditions
 * @property {Array<{id: string, label: string, says: string}>} bands
 * @property {Array<Record<string, any>>} tables
 * @property {string} [does_not_tell]
 */
/**
 * @typedef {{title: string, question: string, role: "likelihood" | "condition" | "both", type: "choice" | "number",
 *   options?: Array<{id: string, label: string, stop_now?: string[], as_cold_as?: number, share?: number}>,
 *   unit?: string, accepts?: string[], plausible?: {low: number, high: number}}} Context
 */
/**
 * @typedef {object} Knowledge
 * @property {string} format
 * @property {string} version
 * @property {{causes: object[], findings: object[]}} network
 * @property {Record<string, Symptom>} symptoms
 * @property {Record<string, Cause>} causes
 * @property {Record<string, Check>} checks
 * @property {Record<string, Gauge>} gauges
 * @property {Record<string, Context>} contexts
 * @property {Array<{id: string, title: string, order?: number}>} families
 * @property {Record<string, {title: string, short: string, text: string}>} hazards
 * @property {Record<string, {text: string, why: string, takes_away?: string[], by_shop?: boolean, covers?: string[]}>} stop_lines
 * @property {Record<string, {title: string, without: string, implies: string[], instead: string[]}>} [abilities]
 * @property {Record<string, {title: string}>} tools
 * @property {Record<string, any>} units
 * @property {Record<string, {title: string, supply: boolean, fallback?: string}>} groups
 * @property {Record<string, {title: string}>} sources
 * @property {Synonym[]} [synonyms]
 * @property {Record<string, number>} settings
 */

/** @typedef {string | number | {value: number, unit: string}} Fact */
/** @typedef {{value: number, unit: string} & Record<string, any>} Reading */
/**
 * What the reasoning is asked.
 * @typedef {object} Case
 * @property {string[]} symptoms
 * @property {string[]} [absent]
 * @property {Record<string, Fact>} context
 * @property {Record<string, Reading>} readings
 * @property {Record<string, string>} outcomes
 * @property {string[]} [tools]
 * @property {string[]} not_possible
 * @property {string[]} [mended] causes put right already, without an end of the trouble
 * @property {Record<string, "better" | "gone">} [helped] what a repair did, by cause
 * @property {string[]} [past] symptoms that were there and are over
 * @property {string[]} [again] checks and contexts told after what changes them
 * @property {number} [hour_value] the reader's own price of an hour
 */
/**
 * All that was said and done about one car, as kept on the device.
 * @typedef {object} State
 * @property {1} format
 * @property {"say" | "ask" | "check"} view what the car does, questions one by one, or the advice
 * @property {string[]} chosen symptoms the reader picked, before splitting questions
 * @property {Record<string, number>} splits answer number by "symptom:question number"; -1 = not sure
 * @property {Record<string, Fact>} context
 * @property {Record<string, Reading>} readings
 * @property {Record<string, string>} outcomes
 * @property {string[] | null} tools null = all tools
 * @property {boolean} toolsAsked whether the reader was asked for them
 * @property {string[]} notPossible
 * @property {string | null} picked the check the reader asked for in place of the advised one
 * @property {string | null} latest the check whose result came last
 * @property {string[]} absent symptoms asked about and said not to be so
 * @property {string[]} mended causes put right, without an end of the trouble
 * @property {Record<string, "better" | "gone">} helped what other repairs did, by cause
 * @property {string[]} past symptoms that were there and are over
 * @property {string[]} order checks, contexts and causes mended, in the order in which they were told
 * @property {string | null} repaired the cause put right last, while its outcome is asked
 * @property {string | null} ended the cause whose repair ended the trouble
 * @property {number | null} hourValue
 * @property {Case | null} base the case as it came in a link, while it is answered
 */

export {};
