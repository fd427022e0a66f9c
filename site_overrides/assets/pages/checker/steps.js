/**
 * Output room: each step of the checker as an entry of the browser's history, so that Back works.
 *
 * The entries hold numbers only; what stood at each is kept in this page and forgotten with the
 * case, so that Back never brings back what the reader took off the device.
 *
 * @import { State } from "../../knowledge/types.js"
 */

/** Which step the page stands at, and the case as it was at each. */
export class Steps {
  constructor() {
    this.at = 0;
    /** @type {Array<State | undefined>} */
    this.states = [];
  }

  /** @param {State} state */
  begin(state) {
    this.at = Number(history.state?.step) || 0;
    history.replaceState({ step: this.at }, "");
    this.note(state);
  }

  /** @param {State} state the case as it stands now at this step */
  note(state) {
    this.states[this.at] = state;
  }

  /** @param {State} state */
  add(state) {
    this.at += 1;
    this.states.length = this.at;
    this.note(state);
    history.pushState({ step: this.at }, "");
  }

  /**
   * Turn to the step of an entry; the one left is remembered as it stands.
   * @param {unknown} entry
   * @param {State} now
   * @returns {{state: State | undefined, isEarlier: boolean}} no state where this page never was
   */
  turnTo(entry, now) {
    const step = /** @type {{step?: unknown} | null} */ (entry)?.step;
    if (typeof step !== "number") return { state: undefined, isEarlier: false };
    this.note(now);
    const isEarlier = step < this.at;
    this.at = step;
    return { state: this.states[step], isEarlier };
  }

  forget() {
    this.states = [];
  }
}
