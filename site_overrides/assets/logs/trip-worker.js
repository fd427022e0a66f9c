/**
 * Read logs of a drive away from the page, so that it answers while a long one is read.
 *
 * It takes `{id, kind, ...}`: "tables" gives the monitors, "open" a text, "again" other columns,
 * and answers the last two with `done` or `failed` under the same id.
 *
 * @import { Order } from "./trip-runner.js"
 */
import { TripWork } from "./trip-work.js";

/** @param {Worker} scope the worker's own global scope */
function serve(scope) {
  const work = new TripWork({});
  scope.onmessage = ({ data }) => {
    const order = /** @type {Order} */ (data);
    try {
      if (order.kind === "tables") {
        work.monitors = order.monitors;
        return;
      }
      if (order.kind === "open") work.open(order.text);
      const result = work.read(order.mapping, order.constants, order.incomplete);
      scope.postMessage({ id: order.id, kind: "done", result });
    } catch (error) {
      scope.postMessage({
        id: order.id,
        kind: "failed",
        reason: error instanceof Error ? error.message : String(error),
      });
    }
  };
}

// Loaded into a page it does nothing: only a worker has this scope.
if ("WorkerGlobalScope" in globalThis) serve(/** @type {Worker} */ (/** @type {unknown} */ (globalThis)));
