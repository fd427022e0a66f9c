/**
 * Output room: set names above a ruler so that none overlap.
 *
 * The same placing as the page builder's drawing: one row, or two where one would overlap,
 * with thin leaders down to the bands. Lengths are in units of the 320-wide picture.
 */
import { svg } from "../kit/element.js";

export const WIDTH = 320;
const LETTER = 5.9; // average width of a letter at the label size
const LINE = 13;
const GAP = 6;
const LEADER = 14;
const SLIT = 8; // room the lower row leaves for a leader from the upper one

/** @typedef {{lines: string[], target: number, width: number}} Label */

/**
 * Round a length for an attribute.
 * @param {number} value
 * @returns {number}
 */
export function round(value) {
  return Math.round(value * 100) / 100;
}

/**
 * Break a name into lines short enough for its share of the picture.
 * @param {string} label
 * @param {number} bands
 * @returns {string[]}
 */
function wrap(label, bands) {
  const room = Math.max(8, Math.floor(WIDTH / bands / LETTER) - 1);
  const lines = [""];
  for (const word of label.split(/\s+/)) {
    const last = lines[lines.length - 1] ?? "";
    const longer = `${last} ${word}`.trim();
    if (longer.length <= room || last === "") lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/**
 * Prepare a name for the band whose middle is at `target`.
 * @param {string} text
 * @param {number} target
 * @param {number} bands
 * @returns {Label}
 */
export function makeLabel(text, target, bands) {
  const lines = wrap(text, bands);
  const width = Math.max(...lines.map((line) => line.length)) * LETTER + GAP;
  return { lines, target, width };
}

/**
 * Place boxes in order near their targets so that none overlap and all stay inside.
 * @param {number[]} targets
 * @param {number[]} widths
 * @returns {number[]}
 */
function spread(targets, widths) {
  const half = widths.map((width) => width / 2);
  const at = targets.map((target, i) => Math.min(Math.max(target, half[i] ?? 0), WIDTH - (half[i] ?? 0)));
  for (let i = 1; i < at.length; i += 1) {
    at[i] = Math.max(at[i] ?? 0, (at[i - 1] ?? 0) + (half[i - 1] ?? 0) + (half[i] ?? 0));
  }
  let limit = WIDTH;
  for (let i = at.length - 1; i >= 0; i -= 1) {
    at[i] = Math.min(at[i] ?? 0, limit - (half[i] ?? 0));
    limit = (at[i] ?? 0) - (half[i] ?? 0);
  }
  return at;
}

/**
 * @param {Label} label
 * @param {number} x
 * @param {number} base
 */
function drawLabel(label, x, base) {
  const top = base - (label.lines.length - 1) * LINE - 3;
  const rows = label.lines.map((line, row) => svg("tspan", { x: round(x), y: round(top + row * LINE) }, line));
  return svg("text", { "text-anchor": "middle" }, rows);
}

/**
 * @param {number} target
 * @param {[number, number]} path where the name stands, and the slit its leader passes
 * @param {number} base
 * @param {number} rulerTop
 */
function drawLeader(target, [own, slit], base, rulerTop) {
  const turn = rulerTop - LEADER + 3;
  const points = [
    [own, base],
    [slit, base + 3],
    [slit, turn],
    [target, rulerTop],
  ];
  const d = `M${points.map(([x, y]) => `${round(x ?? 0)} ${round(y ?? 0)}`).join("L")}`;
  return svg("path", { class: "scale__leader", d });
}

/**
 * Draw all names and tell where the ruler may begin.
 * @param {Label[]} labels
 * @returns {{nodes: SVGElement[], rulerTop: number}}
 */
export function drawLabels(labels) {
  const all = labels.map((_, i) => i);
  const fits = labels.reduce((sum, label) => sum + label.width, 0) <= WIDTH;
  const lower = fits ? all : all.filter((i) => i % 2 === 0);
  const upper = fits ? [] : all.filter((i) => i % 2 === 1);
  const slots = labels.map((label, i) => (lower.includes(i) ? label.width : SLIT));
  const slits = spread(
    labels.map((label) => label.target),
    slots,
  );
  const at = [...slits];
  const height = (/** @type {number[]} */ row) => Math.max(0, ...row.map((i) => labels[i]?.lines.length ?? 0)) * LINE;
  const upperAt = spread(
    upper.map((i) => slits[i] ?? 0),
    upper.map((i) => labels[i]?.width ?? 0),
  );
  upper.forEach((i, place) => {
    at[i] = upperAt[place] ?? 0;
  });
  const lowerTop = upper.length > 0 ? height(upper) + 4 : 0;
  const rulerTop = lowerTop + height(lower) + LEADER;
  const nodes = labels.flatMap((label, i) => {
    const base = lower.includes(i) ? lowerTop + height(lower) : height(upper);
    const x = at[i] ?? 0;
    return [drawLabel(label, x, base), drawLeader(label.target, [x, slits[i] ?? 0], base, rulerTop)];
  });
  return { nodes, rulerTop };
}
