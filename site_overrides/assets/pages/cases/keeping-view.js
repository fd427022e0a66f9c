/**
 * Output room: how long the cases last, and the file that outlasts this browser.
 *
 * @import { FiledCase } from "../../case/case-file.js"
 */
import { casesIn, casesText, compared, FileRefused } from "../../case/case-file.js";
import { allCases, caseStore, changeCase, shelve } from "../../case/shelf.js";
import { bullets, button, el, titled } from "../../kit/element.js";
import { counted } from "./words.js";

const QUIET = { class: "control control--quiet" };

/** Hand a text to the reader as a file of their own. @type {(name: string, text: string, type: string) => void} */
export function saveFile(name, text, type) {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const $link = el("a", { href: address, download: name });
  $link.click();
  setTimeout(() => URL.revokeObjectURL(address));
}

/** @param {HTMLElement} $said */
function saveAll($said) {
  const cases = allCases();
  saveFile(`before-parts-cases-${new Date().toISOString().slice(0, 10)}.json`, casesText(cases), "application/json");
  $said.textContent = `${counted(cases.length, "case")} in the file.`;
}

/**
 * Keep the cases of a file: those not known here, and those changed since.
 * @param {FiledCase[]} fresh
 * @param {FiledCase[]} newer
 * @returns {number} how many found no room
 */
function takeIn(fresh, newer) {
  const without = fresh.filter(({ sheet, state }) => shelve(sheet, state) !== "kept");
  const unchanged = newer.filter((one) => changeCase(one.sheet.id, () => one) !== "kept");
  return without.length + unchanged.length;
}

/** Say what a file holds beside what is here, and ask. @type {(text: string, done: () => void) => HTMLElement} */
function offer(text, done) {
  const { cases, broken } = casesIn(text);
  const { fresh, newer, same, older } = compared(allCases(), cases);
  const lines = [
    `${counted(fresh.length, "case")} not on this device: added.`,
    newer.length > 0 ? `${counted(newer.length, "case")} changed later than the copy here: take its place.` : "",
    older.length > 0 ? `${counted(older.length, "case")} older than the copy here: left out.` : "",
    same.length > 0 ? `${counted(same.length, "case")} the same as here.` : "",
    broken > 0 ? `${counted(broken, "case")} cannot be read: left out.` : "",
  ].filter((line) => line !== "");
  const $place = el("div.summary-part", { role: "group", "aria-labelledby": "import-title" });
  const $title = el(
    "h3",
    { id: "import-title", tabindex: -1 },
    `The file holds ${counted(cases.length + broken, "case")}`,
  );
  const $lines = bullets(lines);
  const say = (/** @type {string} */ words) => $place.replaceChildren(el("p", { role: "status" }, words));
  const take = () => {
    const left = takeIn(fresh, newer);
    done();
    const taken = fresh.length + newer.length - left;
    say(`${counted(taken, "case")} imported.${left > 0 ? ` This browser has no room for ${left} of them.` : ""}`);
  };
  const ways =
    fresh.length + newer.length > 0
      ? [
          button("Import them", take, { class: "control" }),
          button("Leave it", () => say("Nothing was changed."), QUIET),
        ]
      : [];
  $place.append($title, $lines, el("p.ways", ways));
  return $place;
}

/** Draw the file: save all, and read one. @type {(done: () => void) => HTMLElement} */
export function fileView(done) {
  const $said = el("p.small", { role: "status" });
  const $place = el("div");
  const $file = el("input.field", { type: "file", id: "cases-file", accept: ".json,application/json" });
  $file.addEventListener("change", async () => {
    const [file] = $file.files ?? [];
    if (!file) return;
    try {
      $place.replaceChildren(offer(await file.text(), done));
      $place.querySelector("h3")?.focus();
    } catch (error) {
      if (!(error instanceof FileRefused)) throw error;
      $place.replaceChildren(el("p.refused", { role: "alert" }, error.message));
    }
    $file.value = "";
  });
  return titled(
    "section.part",
    el("h2", { id: "file-title" }, "A copy as a file"),
    el(
      "p",
      { "data-of-cases": true },
      "The file holds every case here, with nicknames and notes. Keep it where only you can read it.",
    ),
    el(
      "p.ways",
      { "data-of-cases": true },
      button("Save all as a file", () => saveAll($said), QUIET),
    ),
    $said,
    el("label", { for: "cases-file" }, "Read a file of cases"),
    $file,
    $place,
  );
}

/** Draw how long the cases last, as this browser says. @returns {HTMLElement} */
export function lastingView() {
  const $words = el("p", { role: "status" });
  const $ask = el("p.ways");
  const show = (/** @type {boolean} */ isSafe, /** @type {boolean} */ wasAsked) => {
    $words.textContent = isSafe
      ? "This browser keeps your cases until you delete them or clear its data."
      : `${wasAsked ? "It did not agree. " : ""}This browser may delete your cases by itself: when space is short, or after a while without a visit. In a private window they go when it closes. Save a file.`;
    const $button = button("Ask the browser to keep them", () => void ask(), QUIET);
    $ask.replaceChildren(...(isSafe || wasAsked ? [] : [$button]));
  };
  const ask = async () => show(await navigator.storage.persist().catch(() => false), true);
  if (caseStore.stored().stamp === "unreadable")
    $words.textContent = "This browser keeps nothing for this site. A case is gone when you close the page.";
  else if (!navigator.storage?.persist) show(false, true);
  else
    navigator.storage.persisted().then(
      (isSafe) => show(isSafe, false),
      () => show(false, true),
    );
  return titled("section.part", el("h2", { id: "lasting-title" }, "How long they last"), $words, $ask);
}
