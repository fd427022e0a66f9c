/**
 * The field on the home page and in every page's head: live results that lead to symptom pages,
 * from the home page straight into the checker.
 *
 * Nothing but this file is fetched until a field is first used; then come the search, its texts
 * and the library. Without script the form leads to the list of symptoms. Nothing typed leaves
 * the page except in its own address.
 *
 * @import { SearchIndex } from "../../knowledge/types.js"
 */

const MOST_HITS = 6;

/** @typedef {typeof import("../../knowledge/search.js")} Search */
/** @typedef {typeof import("../../kit/element.js")} Elements */
/** @typedef {typeof import("../../kit/figures.js")} Figures */
/** @typedef {typeof import("../../knowledge/reading-search.js")} Readings */
/** @typedef {import("../../knowledge/reading-search.js").ReadingText} ReadingText */
/** @typedef {Search & Elements & Figures & Readings & {index: SearchIndex, readings: ReadingText[]}} Tools */

/** @type {Promise<Tools> | null} */
let fetching = null;

/** Fetch what a search needs, once; a failure is forgotten, so typing on tries again. @returns {Promise<Tools>} */
function tools() {
  fetching ??= Promise.all([
    fetch(new URL("../../data/search.json", import.meta.url)).then((answer) => answer.json()),
    import("../../vendor/lunr.js"),
    import("../../knowledge/search.js"),
    import("../../kit/element.js"),
    import("../../kit/figures.js"),
    import("../../knowledge/reading-search.js"),
    fetch(new URL("../../data/reading-texts.json", import.meta.url)).then((answer) => answer.json()),
  ]).then(([{ texts, synonyms }, { default: lunr }, search, elements, figures, finder, readings]) => ({
    ...search,
    ...elements,
    ...figures,
    ...finder,
    readings,
    index: search.buildIndex(lunr, texts, synonyms),
  }));
  fetching.catch(() => {
    fetching = null;
  });
  return fetching;
}

/** Write the address of the checker with the typed text kept. @type {(text: string) => string} */
function checkerAddress(text) {
  const address = new URL("../../../checker/", import.meta.url);
  if (text !== "") address.hash = new URLSearchParams({ q: text }).toString();
  return address.href;
}

/**
 * Draw the results: a link to each symptom's page, one to the checker, one to the families.
 * @type {(tools: Tools, text: string, hits: Array<{id: string, title: string}>, leads: string | undefined) =>
 *   HTMLElement}
 * @param leads "checker" where a hit begins a case, else it opens its page
 */
function resultList({ el, findReadings, readingAddress, readings }, text, hits, leads) {
  const place = (/** @type {string} */ id) => (leads === "checker" ? `checker/#s=${id}` : `symptoms/${id}/`);
  const page = (/** @type {string} */ id) => new URL(`../../../${place(id)}`, import.meta.url).href;
  const families = new URL("../../../symptoms/", import.meta.url).href;
  return el(
    "ul.choices",
    { "aria-label": "Symptoms found" },
    findReadings(readings, text).map((hit) => {
      const href = new URL(`../../../${readingAddress(hit)}`, import.meta.url).href;
      const typed = hit.value === "" ? "" : `${hit.value} ${hit.unit}: `;
      return el("li", el("a", { href }, `${typed}${hit.ask}`));
    }),
    hits.map(({ id, title }) => el("li", el("a", { href: page(id) }, title))),
    el("li", el("a", { href: checkerAddress(text) }, "Check it on my car with these words")),
    el("li", el("a", { href: families }, "None of these: choose a category")),
  );
}

/** Join a field to its results. @param {HTMLFormElement} $form */
function join($form) {
  const $field = $form.querySelector("input");
  const $found = $form.querySelector("[data-found]");
  if (!$field || !($found instanceof HTMLElement)) return;
  const $count = document.createElement("p");
  $count.className = "ask__hint";
  $count.setAttribute("role", "status");
  const $hits = document.createElement("div");
  $found.append($count, $hits);
  $found.hidden = false;
  const show = async () => {
    const text = $field.value;
    const ready = await tools();
    // A slow first answer must not overwrite what was typed since.
    if (text !== $field.value) return;
    const hits = ready.find(ready.index, text, MOST_HITS);
    $hits.replaceChildren(...(text.trim() === "" ? [] : [resultList(ready, text, hits, $form.dataset.leads)]));
    $count.textContent = ready.foundWords(text, hits.length, "choose a category");
  };
  const tryShow = () => {
    show().catch(() => {
      $count.textContent = "The search could not be loaded. The list of symptoms leads on.";
    });
  };
  $field.addEventListener("focus", () => void tools().catch(() => undefined), { once: true });
  $field.addEventListener("input", tryShow);
  $field.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || $field.value === "") return;
    $field.value = "";
    tryShow();
  });
  $form.addEventListener("submit", (event) => {
    event.preventDefault();
    location.href = checkerAddress($field.value.trim());
  });
  if ($field.value !== "") tryShow();
}

for (const $form of document.querySelectorAll("form[data-module='find']")) {
  join(/** @type {HTMLFormElement} */ ($form));
}

/** Open the folded part whose heading the address names. */
function openTarget() {
  const $fold = document.getElementById(location.hash.slice(1))?.parentElement?.querySelector(":scope > details");
  if ($fold instanceof HTMLDetailsElement) $fold.open = true;
}
addEventListener("hashchange", openTarget);
openTarget();
