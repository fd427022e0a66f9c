/**
 * Room kit: keep the reader's place when a page is drawn anew or loaded anew: what is open, where
 * the focus is, and what is half typed.
 *
 * A field counts as half typed while it differs from what it was drawn with. Only fields inside
 * an element with `data-draft` are kept; its value names the form, so that what was typed for one
 * check never stands in the form of another.
 */

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Control */
/** @typedef {Record<string, string>} Drafts by form and field */

/** Name the folded parts that stand open. @param {ParentNode} $root */
function openFolds($root) {
  return [...$root.querySelectorAll("details[open]")].map(($each) => $each.getAttribute("data-keep"));
}

/**
 * Open the folded parts again that stood open before a drawing.
 * @type {($root: ParentNode, keys: Array<string | null>) => void}
 */
function reopenFolds($root, keys) {
  for (const $each of $root.querySelectorAll("details")) {
    if (keys.includes($each.getAttribute("data-keep"))) $each.open = true;
  }
}

/**
 * List the controls of forms whose drafts are kept, each with the name of its draft.
 * @type {($root: ParentNode) => Array<[string, Control]>}
 */
function controlsIn($root) {
  return [...$root.querySelectorAll("[data-draft]")].flatMap(($form) =>
    [.../** @type {NodeListOf<Control>} */ ($form.querySelectorAll("input[id], select[id], textarea[id]"))]
      .filter(({ type }) => type !== "file")
      .map(($each) => /** @type {[string, Control]} */ ([`${$form.getAttribute("data-draft")} ${$each.id}`, $each])),
  );
}

/** Read a control now, or as it was drawn. @type {($control: Control) => {now: string, drawn: string}} */
function valuesOf($control) {
  if ($control instanceof HTMLSelectElement) {
    const drawn = [...$control.options].find((one) => one.defaultSelected) ?? $control.options[0];
    return { now: $control.value, drawn: drawn?.value ?? "" };
  }
  if ($control.type === "checkbox" || $control.type === "radio") {
    const { checked, defaultChecked } = /** @type {HTMLInputElement} */ ($control);
    return { now: String(checked), drawn: String(defaultChecked) };
  }
  return { now: $control.value, drawn: $control.defaultValue };
}

/**
 * Take what a control holds as drawn: it has entered what the page keeps, and is no draft.
 * @param {Control} $control
 */
export function settle($control) {
  if ($control instanceof HTMLSelectElement)
    for (const $option of $control.options) $option.defaultSelected = $option.selected;
  else {
    $control.defaultValue = $control.value;
    if ($control instanceof HTMLInputElement) $control.defaultChecked = $control.checked;
  }
}

/** Settle every field of a form that was sent. @param {ParentNode} $form */
export function settleAll($form) {
  for (const $each of /** @type {NodeListOf<Control>} */ ($form.querySelectorAll("input, select, textarea")))
    settle($each);
}

/** Gather what is half typed. @type {($root: ParentNode) => Drafts} */
export function draftsIn($root) {
  /** @type {Drafts} */
  const found = {};
  for (const [name, $control] of controlsIn($root)) {
    const { now, drawn } = valuesOf($control);
    if (now !== drawn) found[name] = now;
  }
  return found;
}

/**
 * Put what was half typed back into its fields, where they are drawn.
 * @type {($root: ParentNode, drafts: Drafts) => void}
 */
export function layDrafts($root, drafts) {
  for (const [name, $control] of controlsIn($root)) {
    const draft = drafts[name];
    if (draft === undefined) continue;
    if ($control instanceof HTMLInputElement && ["checkbox", "radio"].includes($control.type))
      $control.checked = draft === "true";
    else $control.value = draft;
  }
}

/**
 * Draw a part anew; what stands open and what is half typed stays.
 * @type {($part: HTMLElement, draw: () => Array<Node | string>) => void}
 */
export function redraw($part, draw) {
  const [open, drafts] = [openFolds($part), draftsIn($part)];
  $part.replaceChildren(...draw());
  reopenFolds($part, open);
  layDrafts($part, drafts);
}

/**
 * Let what is half typed outlast a reload, such as the one that changes to a newer edition. It
 * stays in this tab, and only until it has been put back.
 * @param {string} page
 * @param {HTMLElement} $root drawn already
 */
export function outlastReload(page, $root) {
  const key = `before-parts-draft-${page}`;
  const [visit] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType("navigation"));
  try {
    const drafts = JSON.parse(sessionStorage.getItem(key) ?? "{}");
    sessionStorage.removeItem(key);
    if (visit?.type === "reload") layDrafts($root, drafts);
  } catch {
    // Without storage a reload empties the fields, as it does everywhere.
  }
  addEventListener("pagehide", () => {
    const drafts = draftsIn($root);
    try {
      if (Object.keys(drafts).length > 0) sessionStorage.setItem(key, JSON.stringify(drafts));
    } catch {
      // Full or refused: the same.
    }
  });
}

/** Find stop-now lines that were not seen yet. @param {HTMLElement} $root */
function newStop($root) {
  const $stop = $root.querySelector("#stop-now");
  const lines = $stop?.textContent ?? "";
  const isNew = lines !== "" && lines !== $root.dataset.stopSeen;
  $root.dataset.stopSeen = lines;
  return isNew ? $stop : null;
}

/**
 * Find what stands over a main heading and is read before it: a note, or what to do now.
 * @param {HTMLElement} $heading
 */
function readFirst($heading) {
  const $part = $heading.closest(".check-card__head, .say, .card");
  const $before = ($heading.closest(".check-card") ?? $part)?.previousElementSibling;
  return $before?.matches(".before") ? $before : $part;
}

/**
 * Move the focus, and the view with it, to an element; to the main heading if it is gone. Stop-now
 * lines that have just come are in sight before all else.
 * @type {($root: HTMLElement, selector: string) => void}
 */
export function moveFocus($root, selector) {
  const $target = $root.querySelector(selector) ?? $root.querySelector("[data-main-heading]");
  if (!($target instanceof HTMLElement)) return;
  $target.focus({ preventScroll: true });
  const $first = $target.matches("[data-main-heading]") ? readFirst($target) : null;
  (newStop($root) ?? $first ?? $target).scrollIntoView({ block: "start" });
}
