/**
 * The field on the home page: live results that lead to symptom pages.
 *
 * The search texts are fetched when the field is first used, not before. Without script the
 * form still leads to the checker. Nothing typed leaves the page except in its own address.
 *
 * @import { SearchIndex } from "./checker/data/types.js"
 */
import { buildIndex, find } from "./checker/data/search.js";
import { el, need } from "./checker/output/element.js";
import { foundWords } from "./checker/output/figures.js";

const MOST_HITS = 6;

/** @type {Promise<SearchIndex> | null} */
let fetching = null;

/**
 * Fetch the texts and the library once; a failure is forgotten, so typing on tries again.
 * @returns {Promise<SearchIndex>}
 */
function searchIndex() {
  fetching ??= Promise.all([
    fetch(new URL("data/search.json", import.meta.url)).then((answer) => answer.json()),
    import("./vendor/lunr.js"),
  ]).then(([{ texts, synonyms }, { default: lunr }]) => buildIndex(lunr, texts, synonyms));
  fetching.catch(() => {
    fetching = null;
  });
  return fetching;
}

/**
 * Write the address of the checker with the typed text kept.
 * @param {string} text
 * @returns {string}
 */
function checkerAddress(text) {
  const address = new URL("../checker/", import.meta.url);
  if (text !== "") address.hash = new URLSearchParams({ q: text }).toString();
  return address.href;
}

/**
 * Draw the results: a link to each symptom's page, and one to the checker.
 * @param {string} text
 * @param {Array<{id: string, title: string}>} hits
 * @returns {HTMLElement}
 */
function resultList(text, hits) {
  const page = (/** @type {string} */ id) => new URL(`../symptoms/${id}/`, import.meta.url).href;
  return el(
    "ul",
    { class: "choices", "aria-label": "Symptoms found" },
    hits.map(({ id, title }) => el("li", {}, el("a", { href: page(id) }, title))),
    el("li", {}, el("a", { href: checkerAddress(text) }, "Check it on my car with these words")),
  );
}

/**
 * Join the field to its results.
 * @param {HTMLElement} $root
 */
function join($root) {
  const $field = /** @type {HTMLInputElement} */ (need($root, "input[type=search]"));
  const $found = need($root, "[data-found]");
  const $count = el("p", { class: "ask__hint", role: "status" });
  const $hits = el("div");
  $found.append($count, $hits);
  $found.hidden = false;
  const show = async () => {
    const text = $field.value;
    const index = await searchIndex();
    // A slow first answer must not overwrite what was typed since.
    if (text !== $field.value) return;
    const hits = find(index, text, MOST_HITS);
    $hits.replaceChildren(...(hits.length > 0 ? [resultList(text, hits)] : []));
    $count.textContent = foundWords(text, hits.length, "choose from the list below");
  };
  const tryShow = () => {
    show().catch(() => {
      $count.textContent = "The search could not be loaded. The list below leads on.";
    });
  };
  $field.addEventListener("focus", () => void searchIndex().catch(() => undefined), { once: true });
  $field.addEventListener("input", tryShow);
  $field.form?.addEventListener("submit", (event) => {
    event.preventDefault();
    location.href = checkerAddress($field.value.trim());
  });
  if ($field.value !== "") tryShow();
}

join(need(document, '[data-module="find"]'));
