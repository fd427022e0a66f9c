/** Output room: a text to copy, with the button that copies it. */

import { button, el } from "./element.js";

/**
 * Draw a text with its copy button.
 * @type {(id: string, label: string, text: string, rows?: number) =>
 *   {$parts: HTMLElement[], set: (text: string) => void}}
 * @returns what is drawn, and what writes it anew
 */
export function copyText(id, label, text, rows = 10) {
  const $text = el("textarea.field", { id, readonly: true, rows });
  $text.value = text;
  const $said = el("p.small", { role: "status" });
  const copy = async () => {
    try {
      await navigator.clipboard.writeText($text.value);
      $said.textContent = "Copied.";
    } catch {
      $text.focus();
      $text.select();
      $said.textContent = "It is selected: copy it with your keyboard or a long press.";
    }
  };
  const $parts = [
    el("label", { for: id }, label),
    $text,
    el(
      "p.ways",
      button("Copy", () => void copy(), { class: "control", "data-copy": id }),
    ),
    $said,
  ];
  const set = (/** @type {string} */ next) => {
    $text.value = next;
  };
  return { $parts, set };
}
