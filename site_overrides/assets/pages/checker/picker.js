/**
 * Output room: choose symptoms, by words, by heading or by circumstance.
 *
 * One list of real checkboxes at a time; ticking one tells the case at once. Nothing here
 * ranks: the search comes from the data room.
 *
 * @import { App } from "./app.js"
 */
import { el, folded, tickSet } from "../../kit/element.js";
import { foundWords } from "../../kit/figures.js";
import { findReadings, readingAddress } from "../../knowledge/reading-search.js";

/** Enough to choose from, few enough for a phone's screen. */
const MOST_HITS = 6;

/**
 * Draw one symptom as a box to tick.
 * @type {(app: App, id: string, options: {withSummary?: boolean, place: string}) => HTMLElement}
 * @param options place keeps the ids on a page apart
 */
function tickRow(app, id, { withSummary = false, place }) {
  const symptom = app.knowledge.symptoms[id];
  const name = `${place}-${id}`;
  const $box = el("input", {
    type: "checkbox",
    id: name,
    "data-symptom": id,
    checked: app.state().chosen.includes(id),
    onchange: () => app.tick(id, $box.checked),
  });
  const $about = withSummary ? el("small.tick__about", symptom?.summary ?? "") : null;
  return el("li.tick", $box, el("label", { for: name }, el("span.tick__name", symptom?.title ?? id), $about));
}

/**
 * Draw the field with results as one types.
 *
 * Enter goes to the first result, so a keyboard can tick it with Space.
 * @param {App} app
 * @param {string} typed text to begin with
 * @returns {HTMLElement}
 */
export function searchField(app, typed) {
  const $hits = el("ul.ticks", { id: "hits" });
  const $count = el("p.ask__hint", { role: "status", id: "hit-count" });
  // Enter before the search has come is kept until there is a first result to go to.
  let isAwaited = false;
  const show = () => {
    if (!app.search) {
      if ($field.value !== "") void fetchAndShow();
      return;
    }
    const { circumstancesIn, find, index } = app.search;
    const offered = circumstancesIn(index, $field.value);
    const found = find(index, $field.value, MOST_HITS + offered.length);
    const hits = found.filter(({ id }) => !offered.includes(id)).slice(0, MOST_HITS);
    const rows = hits.map(({ id }) => tickRow(app, id, { withSummary: true, place: "hit" }));
    $hits.replaceChildren(...rows);
    $offered.replaceChildren(...readingLinks(app.search.readings, $field.value), ...offeredToggles(app, offered));
    $count.textContent = foundWords($field.value, hits.length, "look under the headings below");
    $group.hidden = hits.length === 0;
    if (isAwaited) $hits.querySelector("input")?.focus();
    isAwaited = false;
  };
  const fetchAndShow = async () => {
    try {
      await app.fetchSearch();
      show();
    } catch {
      $count.textContent = "The search could not be fetched. Look under the headings below, or type on to try again.";
    }
  };
  const $field = el("input.field", {
    type: "search",
    id: "said",
    autocomplete: "off",
    maxlength: 400,
    "aria-describedby": "said-hint hit-count",
    onfocus: () => {
      if (!app.search) void fetchAndShow();
    },
    oninput: () => {
      isAwaited = false;
      show();
    },
    onkeydown: (event) => {
      if (event instanceof KeyboardEvent && event.key === "Enter") {
        event.preventDefault();
        isAwaited = !app.search;
        $hits.querySelector("input")?.focus();
      }
    },
  });
  const $legend = el("legend", "Tick all that fit your car");
  const $group = el("fieldset.plain-set", { hidden: true }, $legend, $hits);
  const $offered = el("div");
  $field.value = typed;
  show();
  return el(
    "div.asked",
    el("label", { for: "said" }, "Say it in your own words"),
    $field,
    el("p.ask__hint", { id: "said-hint" }, "For example: slow to start when cold."),
    $count,
    $group,
    $offered,
  );
}

/**
 * Draw the way to what a number in the words means.
 * @type {(readings: import("../../knowledge/reading-search.js").ReadingText[], text: string) => HTMLParagraphElement[]}
 */
function readingLinks(readings, text) {
  return findReadings(readings, text).map((hit) => {
    const typed = hit.value === "" ? "" : `${hit.value} ${hit.unit}: `;
    return el("p.choices", el("a", { href: `../${readingAddress(hit)}` }, `${typed}${hit.ask}`));
  });
}

/**
 * Draw the circumstances the words speak of, to be ticked beside what was found.
 * @type {(app: App, ids: string[]) => HTMLElement[]}
 */
function offeredToggles(app, ids) {
  if (ids.length === 0) return [];
  const rows = ids.map((id) => tickRow(app, id, { place: "offered" }));
  return [tickSet("You seem to say when it happens. Tick it if so", rows, { list: "ticks ticks--row" })];
}

/** Draw every complaint under its family's heading, folded. @type {(app: App) => HTMLElement} */
export function familyList(app) {
  const { symptoms, families } = app.knowledge;
  const parts = families.flatMap((family) => {
    const ids = Object.keys(symptoms)
      .filter((id) => symptoms[id]?.family === family.id && symptoms[id]?.role === "complaint")
      .sort();
    if (ids.length === 0) return [];
    const rows = ids.map((id) => tickRow(app, id, { place: "family" }));
    return [
      folded(
        `family-${family.id}`,
        family.title,
        el("fieldset.plain-set", el("legend.visually-hidden", family.title), el("ul.ticks", rows)),
      ),
    ];
  });
  return el("div.families", el("h3", "Or look under a heading"), parts);
}

/** Draw the circumstances as boxes to tick, folded: most cars do it at any time. @type {(app: App) => HTMLElement} */
export function whenFold(app) {
  const { symptoms } = app.knowledge;
  const ids = Object.keys(symptoms)
    .filter((id) => symptoms[id]?.role === "circumstance")
    .sort();
  return folded(
    "when",
    "Does it only happen at certain times?",
    tickSet(
      "Tick any that fit",
      ids.map((id) => tickRow(app, id, { place: "when" })),
      { list: "ticks ticks--row" },
    ),
  );
}

/** Make every box on the page agree with the case. @type {($root: ParentNode, chosen: string[]) => void} */
export function syncTicks($root, chosen) {
  for (const $box of $root.querySelectorAll("input[data-symptom]")) {
    const $input = /** @type {HTMLInputElement} */ ($box);
    $input.checked = chosen.includes($input.dataset.symptom ?? "");
  }
}
