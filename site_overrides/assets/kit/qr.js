/**
 * Room kit: an address as a QR code (ISO/IEC 18004, model 2), for a case that goes on paper.
 *
 * Bytes at level L: a case fills the code, and paper is clean. The mask is always the first: what
 * is written looks random already. The build draws the addresses of pages by a library; this is
 * for what only the browser knows.
 */
import { el, svg } from "./element.js";

/** By version, from 1: code words of correction in a block, and blocks, at level L. */
const CORRECTION = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26];
const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12];
const QUIET = 4;
/** Level L with mask 0, its check bits and the fixed pattern on it. */
const FORMAT = 0x77c4;

/** @typedef {{size: number, dark: Uint8Array, fixed: Uint8Array}} Grid */

/** @param {number} version */
function codeWords(version) {
  const marks = Math.floor(version / 7) + 2;
  let bits = (16 * version + 128) * version + 64;
  if (version >= 2) bits -= (25 * marks - 10) * marks - 55;
  if (version >= 7) bits -= 36;
  return Math.floor(bits / 8);
}

/** @param {number} version */
function dataWords(version) {
  return codeWords(version) - (CORRECTION[version - 1] ?? 0) * (BLOCKS[version - 1] ?? 0);
}

/**
 * Multiply in the field of 256 elements with the polynomial 0x11d.
 * @param {number} a
 * @param {number} b
 */
function times(a, b) {
  let product = 0;
  for (let bit = 7; bit >= 0; bit -= 1) {
    product = (product << 1) ^ ((product >> 7) * 0x11d);
    product ^= ((b >> bit) & 1) * a;
  }
  return product;
}

/**
 * The remainder of a block by the generator of this degree: its words of correction.
 * @param {number[]} block
 * @param {number} degree
 */
function correctionOf(block, degree) {
  const divisor = [...Array(degree - 1).fill(0), 1];
  for (let i = 0, root = 1; i < degree; i += 1, root = times(root, 2)) {
    for (let j = 0; j < degree; j += 1) divisor[j] = times(divisor[j], root) ^ (divisor[j + 1] ?? 0);
  }
  const rest = Array(degree).fill(0);
  for (const word of block) {
    const factor = word ^ rest.shift();
    rest.push(0);
    for (const [i, each] of divisor.entries()) rest[i] ^= times(each, factor);
  }
  return rest;
}

/**
 * Write the bytes with their head and filling, cut into blocks, each with its correction, laid
 * into one another.
 * @param {Uint8Array} bytes
 * @param {number} version
 */
function wordsOf(bytes, version) {
  const room = dataWords(version);
  const head = [0x4, ...(version < 10 ? [] : [bytes.length >> 12, bytes.length >> 8])].map((one) => one & 15);
  const halves = [...head, (bytes.length >> 4) & 15, bytes.length & 15];
  for (const byte of bytes) halves.push(byte >> 4, byte & 15);
  halves.push(0);
  if (halves.length % 2 === 1) halves.push(0);
  const data = Array.from(
    { length: halves.length / 2 },
    (_, i) => ((halves[2 * i] ?? 0) << 4) | (halves[2 * i + 1] ?? 0),
  );
  for (let pad = 0xec; data.length < room; pad ^= 0xec ^ 0x11) data.push(pad);
  const count = BLOCKS[version - 1] ?? 1;
  const degree = CORRECTION[version - 1] ?? 0;
  const short = Math.floor(room / count);
  const longer = room % count;
  const blocks = Array.from({ length: count }, (_, i) => {
    const from = i * short + Math.max(0, i - (count - longer));
    return data.slice(from, from + short + (i >= count - longer ? 1 : 0));
  });
  const ends = blocks.map((block) => correctionOf(block, degree));
  const woven = (/** @type {number[][]} */ rows, /** @type {number} */ length) =>
    Array.from({ length }, (_, i) => rows.flatMap((row) => row[i] ?? [])).flat();
  return [...woven(blocks, short + 1), ...woven(ends, degree)];
}

/**
 * @param {Grid} grid
 * @param {number} x
 * @param {number} y
 * @param {boolean | number} isDark
 */
function fix({ size, dark, fixed }, x, y, isDark) {
  if (x < 0 || y < 0 || x >= size || y >= size) return;
  dark[y * size + x] = isDark ? 1 : 0;
  fixed[y * size + x] = 1;
}

/**
 * Draw rings around a middle: a finder reaches 4, an alignment mark 2.
 * @param {Grid} grid
 * @param {number} x
 * @param {number} y
 * @param {number} reach
 */
function rings(grid, x, y, reach) {
  for (let dy = -reach; dy <= reach; dy += 1) {
    for (let dx = -reach; dx <= reach; dx += 1) {
      const far = Math.max(Math.abs(dx), Math.abs(dy));
      fix(grid, x + dx, y + dy, reach === 4 ? far !== 2 && far !== 4 : far !== 1);
    }
  }
}

/**
 * Draw what every code of this version has.
 * @param {Grid} grid
 * @param {number} version
 */
function drawFixed(grid, version) {
  const { size } = grid;
  for (let i = 0; i < size; i += 1) {
    fix(grid, 6, i, i % 2 === 0);
    fix(grid, i, 6, i % 2 === 0);
  }
  const marks = version === 1 ? 0 : Math.floor(version / 7) + 2;
  const step = marks === 0 ? 0 : Math.ceil((version * 4 + 4) / (marks * 2 - 2)) * 2;
  const places = Array.from({ length: marks }, (_, i) => (i === 0 ? 6 : size - 7 - (marks - 1 - i) * step));
  for (const [i, y] of places.entries()) {
    for (const [j, x] of places.entries()) {
      const atFinder = (i === 0 && (j === 0 || j === marks - 1)) || (i === marks - 1 && j === 0);
      if (!atFinder) rings(grid, x, y, 2);
    }
  }
  for (const [x, y] of /** @type {const} */ ([
    [3, 3],
    [size - 4, 3],
    [3, size - 4],
  ]))
    rings(grid, x, y, 4);
  const bit = (/** @type {number} */ i) => (FORMAT >> i) & 1;
  for (let i = 0; i < 15; i += 1) {
    fix(grid, 8, i < 6 ? i : i < 8 ? i + 1 : size - 15 + i, bit(i));
    fix(grid, i < 8 ? size - 1 - i : i === 8 ? 7 : 14 - i, 8, bit(i));
  }
  fix(grid, 8, size - 8, true);
  if (version < 7) return;
  let rest = version;
  for (let i = 0; i < 12; i += 1) rest = (rest << 1) ^ ((rest >> 11) * 0x1f25);
  for (let i = 0; i < 18; i += 1) {
    const on = (((version << 12) | rest) >> i) & 1;
    fix(grid, size - 11 + (i % 3), Math.floor(i / 3), on);
    fix(grid, Math.floor(i / 3), size - 11 + (i % 3), on);
  }
}

/**
 * Lay the words into what is free, two columns at a time from the right, under the mask.
 * @param {Grid} grid
 * @param {number[]} words
 */
function drawWords({ size, dark, fixed }, words) {
  let at = 0;
  for (let right = size - 1; right >= 1; right -= 2) {
    if (right === 6) right = 5;
    const upward = ((right + 1) & 2) === 0;
    for (let step = 0; step < size * 2; step += 1) {
      const x = right - (step % 2);
      const y = upward ? size - 1 - (step >> 1) : step >> 1;
      if (fixed[y * size + x]) continue;
      const bit = ((words[at >> 3] ?? 0) >> (7 - (at & 7))) & 1;
      dark[y * size + x] = bit ^ ((x + y) % 2 === 0 ? 1 : 0);
      at += 1;
    }
  }
}

/**
 * The rows of the code, "1" for dark; nothing where the text is too long for 117 modules a side.
 * @param {string} text
 * @returns {string[]}
 */
export function qrRows(text) {
  const bytes = new TextEncoder().encode(text);
  const fits = (/** @type {number} */ version) => dataWords(version) >= bytes.length + (version < 10 ? 2 : 3);
  const version = CORRECTION.map((_, i) => i + 1).find(fits);
  if (version === undefined) return [];
  const size = version * 4 + 17;
  const grid = { size, dark: new Uint8Array(size * size), fixed: new Uint8Array(size * size) };
  drawFixed(grid, version);
  drawWords(grid, wordsOf(bytes, version));
  return Array.from({ length: size }, (_, y) => grid.dark.slice(y * size, (y + 1) * size).join(""));
}

/**
 * Draw the code with its quiet zone; null where the text is too long for one.
 * @param {string} text
 * @param {string} name for those who cannot see it
 * @returns {HTMLElement | null}
 */
export function qrFigure(text, name) {
  const rows = qrRows(text);
  if (rows.length === 0) return null;
  const side = rows.length + 2 * QUIET;
  const d = rows
    .flatMap((row, y) =>
      [...row.matchAll(/1+/g)].map((run) => `M${run.index + QUIET} ${y + QUIET}h${run[0].length}v1h-${run[0].length}z`),
    )
    .join("");
  const box = { viewBox: `0 0 ${side} ${side}`, role: "img", "aria-label": name, class: "qr qr--case" };
  return el("figure", {}, svg("svg", box, svg("path", { d, class: "qr__dark" })));
}
