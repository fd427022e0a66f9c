/** Output room: hatching, by which drawings tell areas apart without color. */

const HATCH_STEPS = [12, 7, 4.5, 3];

/** Round a length for an attribute. @type {(value: number) => number} */
export function round(value) {
  return Math.round(value * 100) / 100;
}

/**
 * Write the path of slanted lines clipped to a box.
 *
 * Lines, not a pattern fill: they need no ids, so drawings can share a page.
 * @type {(box: {left: number, top: number, width: number, height: number}, density: number) => string}
 */
export function hatchPath({ left, top, width, height }, density) {
  if (density <= 0) return "";
  const step = HATCH_STEPS[Math.min(density, HATCH_STEPS.length) - 1] ?? 3;
  let path = "";
  for (let offset = step / 2; offset < width + height; offset += step) {
    const start = Math.max(0, offset - height);
    const end = Math.min(width, offset);
    if (end <= start) continue;
    path += `M${round(left + start)} ${round(top + offset - start)}`;
    path += `L${round(left + end)} ${round(top + offset - end)}`;
  }
  return path;
}
