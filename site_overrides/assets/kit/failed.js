/** Output room: say plainly that something could not be fetched or started. */
import { button, el } from "./element.js";

/** Load the page anew from the network: what the browser kept for itself may be what failed. */
async function loadAnew() {
  await fetch(location.href, { cache: "reload" }).catch(() => undefined);
  location.reload();
}

/**
 * Say what failed, once, at the top; what stands on the page stays in reach.
 * @type {($root: HTMLElement, what: string, error: unknown, besides?: string) => void}
 * @param besides what is still in reach
 */
export function sayFailed($root, what, error, besides = "") {
  const reason = error instanceof Error ? error.message : String(error);
  $root.querySelector("[data-failed]")?.remove();
  $root.prepend(
    el(
      "div.caution",
      { role: "alert", "data-failed": true },
      el("p", el("b", `${what} `), reason, besides && ` ${besides}`),
      button("Try again", loadAnew, { class: "control control--quiet" }),
    ),
  );
}
