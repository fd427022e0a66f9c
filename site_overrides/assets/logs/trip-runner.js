/**
 * Room logs: have a log of a drive read, in a worker where there is one, else in the page itself.
 *
 * Only the latest order is answered; an older one resolves to null.
 *
 * @import { Column } from "./triplog-columns.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 * @import { TripResult } from "./trip-work.js"
 */
import { TripWork } from "./trip-work.js";

/** @typedef {{mapping: Record<string, Column>, constants: Record<string, number>, incomplete: string[]}} Wanted */
/**
 * @typedef {{id: number, kind: "tables", monitors: Record<string, Monitor>}
 *   | ({id: number, kind: "open", text: string} & Wanted)
 *   | ({id: number, kind: "again"} & Wanted)} Order
 */

/** Reads logs of drives. */
export class TripRunner {
  /** @param {Record<string, Monitor>} monitors */
  constructor(monitors) {
    this.last = 0;
    this.work = new TripWork(monitors);
    /** @type {Worker | null} */
    this.worker = null;
    if (typeof Worker === "undefined") return;
    try {
      this.worker = new Worker(new URL("./trip-worker.js", import.meta.url), { type: "module" });
      this.worker.postMessage({ id: 0, kind: "tables", monitors });
    } catch {
      this.worker = null; // some browsers refuse workers; the page then reads by itself
    }
  }

  /**
   * @param {string} text
   * @param {Wanted} wanted
   * @returns {Promise<TripResult | null>}
   */
  open(text, wanted) {
    if (this.worker) return this.order({ id: 0, kind: "open", text, ...wanted });
    this.work.open(text);
    return this.again(wanted);
  }

  /**
   * Look at the same log once more, with other columns or facts.
   * @param {Wanted} wanted
   * @returns {Promise<TripResult | null>}
   */
  async again(wanted) {
    if (this.worker) return this.order({ id: 0, kind: "again", ...wanted });
    return this.work.read(wanted.mapping, wanted.constants, wanted.incomplete);
  }

  /**
   * @param {Order} order
   * @returns {Promise<TripResult | null>}
   */
  order(order) {
    const worker = /** @type {Worker} */ (this.worker);
    this.last += 1;
    const id = this.last;
    this.giveUp?.();
    return new Promise((resolve, reject) => {
      this.giveUp = () => resolve(null);
      worker.onmessage = ({ data }) => {
        if (data.id !== id) return;
        if (data.kind === "done") resolve(data.result);
        else reject(new Error(data.reason));
      };
      worker.onerror = (event) => reject(new Error(event.message || "the reader of logs could not start"));
      worker.postMessage({ ...order, id });
    });
  }

  /** @type {(() => void) | undefined} */
  giveUp = undefined;
}
