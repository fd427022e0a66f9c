/** Room kit: one line about the kept case, for a page that does not load the knowledge. */

const KEY = "before-parts-line";

/** @typedef {{title: string, done: number, next: string}} Line next: the title of the next step, "" for none */

/** Keep the line, or take it off the device. @param {Line | null} line */
export function keepLine(line) {
  try {
    if (line === null) localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, JSON.stringify(line));
  } catch {
    // Without storage there is no case to come back to either.
  }
}

/** Read the line; null when there is none that can be used. @returns {Line | null} */
export function keptLine() {
  try {
    const { title, done, next } = JSON.parse(localStorage.getItem(KEY) ?? "null") ?? {};
    const isLine = typeof title === "string" && typeof done === "number" && typeof next === "string";
    return isLine && title !== "" ? { title, done, next } : null;
  } catch {
    return null;
  }
}
