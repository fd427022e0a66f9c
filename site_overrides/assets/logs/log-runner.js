/**
 * Room logs: have a log read, in a worker where there is one, else in the page itself.
 *
 * One log at a time; a new one stops the former. The caller is told what goes on.
 *
 * @import { LogResult } from "./log-work.js"
 */
import { LogWork } from "./log-work.js";

/** Say that reading was stopped; nothing is drawn then. */
export class StoppedError extends Error {
  constructor() {
    super("Reading was stopped.");
    this.name = "StoppedError";
  }
}

/** Let the page draw and answer before going on. */
function pause() {
  return new Promise((resolve) => setTimeout(resolve));
}

/** Reads logs and can be stopped. */
export class LogRunner {
  /** @param {(words: string) => void} tell */
  constructor(tell) {
    this.tell = tell;
    this.last = 0;
    /** @type {Worker | null} */
    this.worker = null;
    /** @type {((error: Error) => void) | null} */
    this.giveUp = null;
    this.work = this.inPage();
    this.startWorker();
  }

  inPage() {
    const mine = { isStopped: false };
    this.mine = mine;
    return new LogWork(async (words) => {
      this.tell(words);
      await pause();
      if (mine.isStopped) throw new StoppedError();
    });
  }

  startWorker() {
    if (typeof Worker === "undefined") return;
    try {
      this.worker = new Worker(new URL("./log-worker.js", import.meta.url), { type: "module" });
    } catch {
      this.worker = null; // some browsers refuse workers; the page then reads by itself
    }
  }

  /**
   * @param {ArrayBuffer | string} given
   * @param {Record<string, any>} options
   * @returns {Promise<LogResult>}
   */
  open(given, options) {
    if (this.worker) return this.order("open", given, options);
    if (this.mine) this.mine.isStopped = true;
    this.work = this.inPage();
    return this.work.open(given, options);
  }

  /**
   * @param {Record<string, any>} options
   * @returns {Promise<LogResult>}
   */
  again(options) {
    return this.worker ? this.order("again", "", options) : this.work.again(options);
  }

  /** Stop what is being read; what was read before is forgotten. */
  stop() {
    this.giveUp?.(new StoppedError());
    if (this.mine) this.mine.isStopped = true;
    this.work = this.inPage();
    this.worker?.terminate();
    this.worker = null;
    this.startWorker();
  }

  /**
   * @param {"open" | "again"} kind
   * @param {ArrayBuffer | string} given
   * @param {Record<string, any>} options
   * @returns {Promise<LogResult>}
   */
  order(kind, given, options) {
    const worker = /** @type {Worker} */ (this.worker);
    this.last += 1;
    const id = this.last;
    this.giveUp?.(new StoppedError());
    return new Promise((resolve, reject) => {
      this.giveUp = reject;
      worker.onmessage = ({ data }) => {
        if (data.id !== id) return;
        if (data.kind === "progress") this.tell(data.words);
        else if (data.kind === "done") resolve(data.result);
        else reject(new Error(data.reason));
      };
      worker.onerror = (event) => reject(new Error(event.message || "the reader of logs could not start"));
      const moved = typeof given === "string" ? [] : [given];
      worker.postMessage({ id, kind, given, options }, moved);
    });
  }
}
