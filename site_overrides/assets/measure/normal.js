/**
 * Room measure: the normal distribution, which the browser has no function for.
 *
 * The same figures as build_tools/engine/normal.py. It reads no reading and knows no gauge.
 *
 * The error function follows W. J. Cody, Rational Chebyshev approximations for the error
 * function, Mathematics of Computation 23 (1969), 631-637 (coefficients of his routine CALERF).
 */

const SQRT_HALF = 0.7071067811865476;
const ONE_OVER_SQRT_PI = 0.5641895835477563;
const SMALL = 0.46875;
const MIDDLE = 4.0;
const ZERO_BEYOND = 27.3; // erfc(27.3) is below the smallest double

const A = [3.1611237438705656, 1.13864154151050156e2, 3.77485237685302021e2, 3.20937758913846947e3];
const A_LAST = 1.85777706184603153e-1;
const B = [2.36012909523441209e1, 2.44024637934444173e2, 1.28261652607737228e3, 2.84423683343917062e3];
const C = [
  5.64188496988670089e-1, 8.88314979438837594, 6.61191906371416295e1, 2.98635138197400131e2, 8.8195222124176909e2,
  1.71204761263407058e3, 2.05107837782607147e3, 1.23033935479799725e3,
];
const C_LAST = 2.15311535474403846e-8;
const D = [
  1.57449261107098347e1, 1.17693950891312499e2, 5.37181101862009858e2, 1.62138957456669019e3, 3.29079923573345963e3,
  4.36261909014324716e3, 3.43936767414372164e3, 1.23033935480374942e3,
];
const P = [
  3.05326634961232344e-1, 3.60344899949804439e-1, 1.25781726111229246e-1, 1.60837851487422766e-2,
  6.58749161529837803e-4,
];
const P_LAST = 1.63153871373020978e-2;
const Q = [
  2.56852019228982242, 1.87295284992346725, 5.27905102951428412e-1, 6.05183413124413191e-2, 2.33520497626869185e-3,
];

/**
 * Evaluate Cody"s two polynomials in `x` and return their ratio.
 * @type {(x: number, top: number[], bottom: number[], last: number) => number[]}
 * @param last coefficient of the highest power of the numerator
 * @returns numerator and denominator
 */
function ratio(x, top, bottom, last) {
  let num = last * x;
  let den = x;
  const end = top.length - 1;
  for (let i = 0; i < end; i += 1) {
    num = (num + /** @type {number} */ (top[i])) * x;
    den = (den + /** @type {number} */ (bottom[i])) * x;
  }
  return [num + /** @type {number} */ (top[end]), den + /** @type {number} */ (bottom[end])];
}

/** Return exp(-y*y); y is split so that the rounding of its square does not show. @param {number} y */
function expMinusSquare(y) {
  const head = Math.floor(y * 16) / 16;
  const rest = (y - head) * (y + head);
  return Math.exp(-head * head) * Math.exp(-rest);
}

/** @param {number} y */
function erfcPositive(y) {
  if (y > ZERO_BEYOND) return 0;
  if (y <= MIDDLE) {
    const [num = 0, den = 1] = ratio(y, C, D, C_LAST);
    return expMinusSquare(y) * (num / den);
  }
  const inverse = 1 / (y * y);
  const [num = 0, den = 1] = ratio(inverse, P, Q, P_LAST);
  const tail = (ONE_OVER_SQRT_PI - inverse * (num / den)) / y;
  return expMinusSquare(y) * tail;
}

/** Return the complementary error function of `x`; relative error near 1e-15. @type {(x: number) => number} */
export function erfc(x) {
  if (Number.isNaN(x)) return x;
  const y = Math.abs(x);
  if (y <= SMALL) {
    const [num = 0, den = 1] = ratio(x * x, A, B, A_LAST);
    return 1 - (x * num) / den;
  }
  const positive = erfcPositive(y);
  return x < 0 ? 2 - positive : positive;
}

/** @type {(low: number, high: number) => number} */
export function normalBetween(low, high) {
  if (high <= low) return 0;
  let share;
  if (low > 0) share = 0.5 * erfc(low * SQRT_HALF) - 0.5 * erfc(high * SQRT_HALF);
  else if (high < 0) share = 0.5 * erfc(-high * SQRT_HALF) - 0.5 * erfc(-low * SQRT_HALF);
  else share = 1 - 0.5 * erfc(-low * SQRT_HALF) - 0.5 * erfc(high * SQRT_HALF);
  return Math.max(0, share);
}
