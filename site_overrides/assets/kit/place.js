/**
 * Output room: keep the reader's place when the page is drawn anew: what is open, and the focus.
 */

/**
 * Name the folded parts that stand open.
 * @param {ParentNode} $root
 */
export function openFolds($root) {
  return [...$root.querySelectorAll("details[open]")].map(($each) => $each.getAttribute("data-keep"));
}

/**
 * Open the folded parts again that stood open before a drawing.
 * @param {ParentNode} $root
 * @param {Array<string | null>} keys
 */
export function reopenFolds($root, keys) {
  for (const $each of $root.querySelectorAll("details")) {
    if (keys.includes($each.getAttribute("data-keep"))) $each.open = true;
  }
}

/**
 * Move the focus, and the view with it, to an element; to the main heading if it is gone.
 * @param {HTMLElement} $root
 * @param {string} selector
 */
export function moveFocus($root, selector) {
  const $target = $root.querySelector(selector) ?? $root.querySelector("[data-main-heading]");
  if (!($target instanceof HTMLElement)) return;
  $target.focus({ preventScroll: true });
  $target.scrollIntoView({ block: "start" });
}
