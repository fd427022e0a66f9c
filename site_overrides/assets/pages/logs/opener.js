/** Output room: open a log as a file, or paste its text. */
import { button, el, folded } from "../../kit/element.js";
import { entry } from "../../kit/fields.js";

/** A longer text is read as it is pasted: setting it into the field would hold up a phone. */
const LONG_TEXT = 20_000;
const SHOWN_TEXT = 400;

/**
 * Draw both ways in; `name` begins the ids of their fields.
 * @type {(name: string, label: string, ways: {open: (file: File) => void, paste: (text: string) => void}) =>
 *   HTMLElement[]}
 */
export function logOpener(name, label, { open, paste }) {
  const accept = ".csv,.tsv,.txt,.log,text/plain,text/csv";
  const $file = el("input", { type: "file", id: `${name}-file`, accept });
  $file.addEventListener("change", () => {
    const file = $file.files?.[0];
    if (file) {
      $name.textContent = `Opened: ${file.name}`;
      open(file);
    }
    $file.value = ""; // the same file can be opened once more
  });
  const $name = el("p.small", { "data-file-name": true });
  const $text = el("textarea", { id: `${name}-text`, rows: 6, spellcheck: false, autocomplete: "off" });
  $text.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (text.length < LONG_TEXT) return;
    event.preventDefault();
    $text.value = `${text.slice(0, SHOWN_TEXT)}\n\u2026`;
    paste(text);
  });
  return [
    entry(`${name}-file`, label, $file, $name),
    folded(
      `${name}-paste`,
      "Or paste the text",
      entry(`${name}-text`, "The text of the log, with its header", $text),
      button("Read what I pasted", () => paste($text.value), { class: "control control--quiet" }),
    ),
  ];
}
