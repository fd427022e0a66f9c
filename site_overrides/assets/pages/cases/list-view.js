/**
 * Output room: the list of cases: where each stands, and the ways into it.
 *
 * Each row is drawn once; the search hides rows and draws nothing.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 */
import { button, el, titled } from "../../kit/element.js";
import { counted, dateWords, nameOf, stageWords, titleOf } from "./words.js";

/** @typedef {{open: (one: KeptCase) => void, remove: (one: KeptCase) => void}} Ways */

/** @type {(one: KeptCase, ways: Ways) => HTMLLIElement} */
function row(one, { open, remove }) {
  const { sheet, isCurrent } = one;
  const name = nameOf(one);
  const next = sheet.closed ? "" : sheet.line.next;
  return el(
    "li.kept-row",
    { "data-case": sheet.id },
    el("h3.kept-row__name", name),
    el(
      "p.kept-row__about",
      name === titleOf(one) ? "" : `${titleOf(one)}. `,
      el("b", stageWords(one)),
      next === "" ? "" : `: ${next}`,
      isCurrent ? " (open in the checker)" : "",
    ),
    el(
      "p.kept-row__ways",
      button("Open", () => open(one), { class: "link-button", "aria-label": `Open: ${name}` }),
      el("a.link-button", { href: `#case=${sheet.id}`, "aria-label": `Log and close: ${name}` }, "Log and close"),
      button("Delete", () => remove(one), { class: "link-button", "aria-label": `Delete: ${name}` }),
      el("span.small", `Changed ${dateWords(sheet.changed)}`),
    ),
  );
}

/**
 * @param {KeptCase} one
 * @returns {string} what a search looks in
 */
function textOf(one) {
  return [nameOf(one), titleOf(one), stageWords(one), one.sheet.line.next].join(" ").toLowerCase();
}

/** Draw the list with its search. @type {(cases: KeptCase[], ways: Ways, sought: string) => HTMLElement} */
export function listView(cases, ways, sought) {
  const $rows = cases.map((one) => row(one, ways));
  const texts = cases.map(textOf);
  const $count = el("p.small", { role: "status", "data-count": true });
  const $search = el("input.field", { type: "search", id: "cases-search", value: sought, autocomplete: "off" });
  const seek = () => {
    const words = $search.value.toLowerCase().split(/\s+/);
    let shown = 0;
    for (const [place, $row] of $rows.entries()) {
      $row.hidden = !words.every((word) => texts[place]?.includes(word));
      if (!$row.hidden) shown += 1;
    }
    $count.textContent =
      shown === cases.length ? counted(shown, "case") : `${shown} of ${counted(cases.length, "case")}`;
  };
  $search.addEventListener("input", seek);
  seek();
  return titled(
    "section",
    el("h2.visually-hidden", { id: "list-title", tabindex: -1 }, "The list"),
    cases.length > 1 ? el("label", { for: "cases-search" }, "Search") : "",
    cases.length > 1 ? $search : "",
    cases.length > 0 ? $count : el("p", "No case is kept here yet."),
    el("ul.kept-rows", $rows),
  );
}
