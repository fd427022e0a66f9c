/**
 * Read logs away from the page, so that it answers while a long one is read.
 *
 * It takes `{id, kind: "open" | "again", given, options}` and answers with `progress`, then
 * `done` or `failed`, under the same id.
 */
import { LogWork } from "./log-work.js";

/** @typedef {{id: number, kind: "open" | "again", given: ArrayBuffer | string, options: Record<string, any>}} Order */

/** @param {Worker} scope the worker's own global scope */
function serve(scope) {
  let now = 0;
  const work = new LogWork(async (words) => scope.postMessage({ id: now, kind: "progress", words }));
  scope.onmessage = async ({ data }) => {
    const { id, kind, given, options } = /** @type {Order} */ (data);
    now = id;
    try {
      const result = kind === "open" ? await work.open(given, options) : await work.again(options);
      const moved = result.series ? [result.series.times.buffer, result.series.volts.buffer] : [];
      scope.postMessage({ id, kind: "done", result }, /** @type {Transferable[]} */ (moved));
    } catch (error) {
      scope.postMessage({ id, kind: "failed", reason: error instanceof Error ? error.message : String(error) });
    }
  };
}

// Loaded into a page it does nothing: only a worker has this scope.
if ("WorkerGlobalScope" in globalThis) serve(/** @type {Worker} */ (/** @type {unknown} */ (globalThis)));
