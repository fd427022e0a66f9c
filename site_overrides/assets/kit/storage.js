/**
 * Data room: keep one case on this device, and forget it.
 *
 * The record stays in the browser's own storage and is never sent. Where storage is refused
 * (private windows, full disk) the checker goes on without it and says so.
 */

const KEY = "before-parts-case";

/**
 * Keep the case; false when the browser refuses.
 * @param {{state: import("../knowledge/types.js").State, past: import("../knowledge/types.js").State[]}} record
 * @returns {boolean}
 */
export function keep(record) {
  try {
    localStorage.setItem(KEY, JSON.stringify(record));
    return true;
  } catch {
    return false;
  }
}

/**
 * Fetch what was kept, or null when there is nothing readable.
 *
 * The shape is not trusted: pass it through `cleanState` before use.
 * @returns {{state?: unknown, past?: unknown} | null}
 */
export function recall() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null");
    return kept !== null && typeof kept === "object" ? kept : null;
  } catch {
    return null;
  }
}

/**
 * Hear when another tab of this site keeps or forgets the case.
 * @param {() => void} heard
 */
export function onOtherTab(heard) {
  window.addEventListener("storage", ({ key }) => {
    if (key === KEY || key === null) heard();
  });
}

/** Remove the case from this device. */
export function forget() {
  try {
    localStorage.removeItem(KEY);
  } catch {
    // Storage that cannot be written holds nothing of ours.
  }
}
