/**
 * Room logs: have a log read, in a worker where there is one, else in the page itself.
 *
 * One order at a time; a new one overtakes the former. What is read, and how, is handed in.
 */

/** @typedef {(words: string) => Promise<void>} Tell says what goes on, then lets others in */
/**
 * A way of reading logs: `moved` are the buffers of a result that need no copy.
 * @template Order, Result
 * @typedef {object} Work
 * @property {(order: Order) => Promise<Result>} run
 * @property {(result: Result) => Transferable[]} [moved]
 */

/** Say that reading was stopped or overtaken; nothing is drawn then. */
export class StoppedError extends Error {}

/** Let the page draw and answer before going on. */
function pause() {
  return new Promise((resolve) => setTimeout(resolve));
}

/** Reads logs and can be stopped. @template Order, Result */
export class Runner {
  /**
   * @param {() => Worker} newWorker
   * @param {(tell: Tell) => Work<Order, Result>} newWork the same, for a page without workers
   * @param {(words: string) => void} [tell]
   */
  constructor(newWorker, newWork, tell = () => {}) {
    this.newWorker = newWorker;
    this.newWork = newWork;
    this.tell = tell;
    this.last = 0;
    /** @type {Worker | null} */
    this.worker = null;
    /** @type {((error: Error) => void) | null} */
    this.giveUp = null;
    /** @type {Work<Order, Result> | null} */
    this.work = null;
    this.begin();
  }

  begin() {
    this.work = this.newWork(async (words) => {
      const id = this.last;
      this.tell(words);
      await pause();
      if (id !== this.last) throw new StoppedError();
    });
    try {
      this.worker = typeof Worker === "undefined" ? null : this.newWorker();
    } catch {
      this.worker = null; // some browsers refuse workers; the page then reads by itself
    }
  }

  /**
   * @param {Order} order
   * @param {Transferable[]} [moved] what of it needs no copy
   * @returns {Promise<Result>}
   */
  order(order, moved = []) {
    this.last += 1;
    const id = this.last;
    this.giveUp?.(new StoppedError());
    const { worker, work } = this;
    return new Promise((resolve, reject) => {
      this.giveUp = reject;
      if (worker === null) {
        work?.run(order).then(resolve, reject);
        return;
      }
      worker.onmessage = ({ data }) => {
        if (data.id !== id) return;
        if (data.kind === "progress") this.tell(data.words);
        else if (data.kind === "done") resolve(data.result);
        else reject(new Error(data.reason));
      };
      worker.onerror = (event) => reject(new Error(event.message || "the reader of logs could not start"));
      worker.postMessage({ id, order }, moved);
    });
  }

  /** Stop what is being read; what was read before is forgotten. */
  stop() {
    this.last += 1;
    this.giveUp?.(new StoppedError());
    this.worker?.terminate();
    this.begin();
  }
}

/**
 * Answer the orders of a page; loaded into a page it does nothing.
 *
 * Each `{id, order}` is answered with `progress`, then `done` or `failed`, under the same id.
 * @template Order, Result
 * @param {(tell: Tell) => Work<Order, Result>} newWork
 */
export function answerOrders(newWork) {
  if (!("WorkerGlobalScope" in globalThis)) return; // only a worker has this scope
  const scope = /** @type {Worker} */ (/** @type {unknown} */ (globalThis));
  let now = 0;
  const work = newWork(async (words) => scope.postMessage({ id: now, kind: "progress", words }));
  scope.onmessage = async ({ data: { id, order } }) => {
    now = id;
    try {
      const result = await work.run(order);
      scope.postMessage({ id, kind: "done", result }, work.moved?.(result) ?? []);
    } catch (error) {
      scope.postMessage({ id, kind: "failed", reason: error instanceof Error ? error.message : String(error) });
    }
  };
}
