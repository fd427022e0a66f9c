/**
 * Output room: fetch a line drawing and set it into the page.
 *
 * Drawings are our own files. They are parsed as SVG, stripped of anything that runs, and
 * adopted as nodes, so their lines take the page's ink and accent.
 */
import { el } from "./element.js";

const PLACE = new URL("../drawings/", import.meta.url);
const RUNS = "script, foreignObject, iframe, animate, set";

/**
 * Draw a frame that fills with the drawing once it has come; stays empty if it does not.
 * @type {(id: string | null | undefined) => HTMLElement | null}
 */
export function drawing(id) {
  if (!id || !/^[a-z0-9-]+$/.test(id)) return null;
  const $frame = el("figure.drawing");
  void fillFrame($frame, new URL(`${id}.svg`, PLACE));
  return $frame;
}

/** @type {($frame: HTMLElement, address: URL) => Promise<void>} */
async function fillFrame($frame, address) {
  try {
    const answer = await fetch(address);
    if (!answer.ok) return;
    const parsed = new DOMParser().parseFromString(await answer.text(), "image/svg+xml");
    const $root = parsed.documentElement;
    if ($root.localName !== "svg") return;
    for (const $node of $root.querySelectorAll(RUNS)) $node.remove();
    for (const $node of [$root, ...$root.querySelectorAll("*")]) {
      for (const name of $node.getAttributeNames()) {
        if (/^on|^style$/i.test(name)) $node.removeAttribute(name);
      }
    }
    $frame.replaceChildren(document.importNode($root, true));
  } catch {
    // Offline without the drawing: the steps say the same in words.
  }
}
