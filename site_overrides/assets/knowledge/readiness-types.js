/**
 * Types of the compiled readiness data (monitors and inspection rules), for the type check only.
 * @typedef {{says: string, mark: string}} Said
 * @typedef {{says: string, source: string}} Sourced
 * @typedef {{fuels: string[], from_year: number|null, to_year: number|null, allowed: number,
 *   mark: string, allowed_only: string[]|null, also_allowed: number|null, note: Said|null}} YearBand
 * @typedef {{when: string, mark: string, monitors: string[], first_code: string|null,
 *   last_code: string|null}} ForcedReady
 * @typedef {{since: string, allowed: number, says: string, mark: string}} Transition
 * @typedef {{warm_ups: number, distance_km: number, from_year: number, mark: string}} Exemption
 * @typedef {{policy: string, mark: string, exemption: Exemption|null}} PermanentCode
 * @typedef {{result: string, says: string, mark: string}} Outcome
 * @typedef {{mark: string, without_code: string, stored_code_unclear: boolean,
 *   federal: boolean}} LampRule
 * @typedef {{fuels: string[], from_year: number|null, most_pounds: number|null,
 *   from_age: number|null, to_age: number|null}} Taken
 * @typedef {{says: string, mark: string, takes: Taken[]}} Scope
 * @typedef {{title: string, section: string, publisher: string, date: string|null,
 *   mark: string}} Citation
 * @typedef {{id: string, title: string, summary: string, status: string, reviewed: string,
 *   standing: string, country: string, scope: Scope, authority: string, ask: string[],
 *   seen: string, text_date: string|null, citations: Citation[], lamp: LampRule,
 *   bands: YearBand[], transition: Transition|null, not_ready: Outcome|null,
 *   extension: Said|null, forced_ready: ForcedReady[], permanent_code: PermanentCode|null,
 *   no_answer: Outcome|null, not_tested: Said|null,
 *   counts_unsupported: boolean, costs: Said[], get_ready: Said[], ways_out: Said[],
 *   says: Said[]}} Inspection
 * @typedef {{metric: string, source: string, at_least: number|null, at_most: number|null}} Condition
 * @typedef {{first: string, last: string, source: string}} CodeRange
 * @typedef {{cause: string, why: string}} Blocker
 * @typedef {{id: string, title: string, summary: string, status: string, reviewed: string,
 *   engines: string[], continuous: boolean, counted: boolean, looks_at: Sourced,
 *   needs: Sourced[], voltage_link: Sourced|null, conditions: Condition[], segments: string[],
 *   after: string[], codes: CodeRange[], blockers: Blocker[],
 *   symptom: string|null, code_symptom: string|null, cautions: string[]}} Monitor
 * @typedef {{id: string, title: string, do: string, why: string, minutes: number|null,
 *   source: string, cautions: string[]}} Segment
 */

export {};
