/**
 * The note on a symptom's page: put in the address the reader sees, and copy it.
 *
 * Without script the note can be selected by hand. Nothing is sent from here.
 */
import { need } from "../../kit/element.js";

/** @param {HTMLElement} $root */
function join($root) {
  const $note = /** @type {HTMLTextAreaElement} */ (need($root, "[data-note]"));
  const $copy = need($root, "[data-copy]");
  const $said = need($root, "[data-copied]");
  const address = location.origin + location.pathname;
  $note.value = `${$note.dataset.note ?? ""} ${address}`;
  $copy.hidden = false;
  $copy.addEventListener("click", async () => {
    $note.select();
    try {
      await navigator.clipboard.writeText($note.value);
      $said.textContent = "Copied.";
    } catch {
      $said.textContent = "Selected. Copy it with your device's own menu.";
    }
  });
}

join(need(document, '[data-module="send"]'));
