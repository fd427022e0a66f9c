/**
 * Room kit: an address as a QR code (ISO/IEC 18004, model 2), for a case that goes on paper.
 *
 * Bytes at level L: a case fills the code, and paper is clean. The mask is always the first: what
 * is written looks random already. The build draws the addresses of pages by a library of its own;
 * this is for what only the browser knows.
 */
import { el, svg } from "./element.js";

/** @typedef {{size: number, get: (x: number, y: number) => boolean}} Code */
/**
 * What is used of the library, which is loaded where a code is drawn.
 * @typedef {{correction: {L: number}, mode: {bytes: (bytes: Uint8Array) => unknown},
 *   generate: (data: unknown, options: {maxCorrectionLevel: number, mask: number}) => Code}} Writer
 */

const QUIET = 4;
/** Bytes that version 25 holds at level L; a phone still reads its 117 modules a side from paper. */
const LONGEST = 1273;

/**
 * The rows of the code, "1" for dark; nothing where the text is too long for 117 modules a side.
 * @type {(writer: Writer, text: string) => string[]}
 */
export function qrRows({ correction, generate, mode }, text) {
  const bytes = new TextEncoder().encode(text);
  if (bytes.length > LONGEST) return [];
  const level = correction.L;
  const code = generate(mode.bytes(bytes), { maxCorrectionLevel: level, mask: 0 });
  const side = Array.from({ length: code.size }, (_, i) => i);
  return side.map((y) => side.map((x) => (code.get(x, y) ? "1" : "0")).join(""));
}

/**
 * Draw the code with its quiet zone; null where the text is too long for one.
 * @type {(writer: Writer, text: string, name: string) => HTMLElement | null}
 * @param name for those who cannot see it
 */
export function qrFigure(writer, text, name) {
  const rows = qrRows(writer, text);
  if (rows.length === 0) return null;
  const side = rows.length + 2 * QUIET;
  const d = rows
    .flatMap((row, y) =>
      [...row.matchAll(/1+/g)].map((run) => `M${run.index + QUIET} ${y + QUIET}h${run[0].length}v1h-${run[0].length}z`),
    )
    .join("");
  const box = { viewBox: `0 0 ${side} ${side}`, role: "img", "aria-label": name, class: "qr qr--case" };
  return el("figure", svg("svg", box, svg("path.qr__dark", { d })));
}
