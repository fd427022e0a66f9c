"""Room reasoning: the normal distribution, without a library that a browser lacks.

Answers how much of a normal curve lies below a point or between two points. It reads no
reading and knows no gauge. `reasoning/normal.js` is the same arithmetic in the same order.

The error function follows W. J. Cody, Rational Chebyshev approximations for the error
function, Mathematics of Computation 23 (1969), 631-637, with the coefficients and the split
exponential of his public routine CALERF.
"""

from __future__ import annotations

import math
from typing import Final

_SQRT_HALF: Final = 0.7071067811865476
_ONE_OVER_SQRT_PI: Final = 0.5641895835477563
_SMALL: Final = 0.46875
_MIDDLE: Final = 4.0
_ZERO_BEYOND: Final = 27.3  # erfc(27.3) is below the smallest double

_A: Final = (
    3.16112374387056560e00,
    1.13864154151050156e02,
    3.77485237685302021e02,
    3.20937758913846947e03,
    1.85777706184603153e-1,
)
_B: Final = (
    2.36012909523441209e01,
    2.44024637934444173e02,
    1.28261652607737228e03,
    2.84423683343917062e03,
)
_C: Final = (
    5.64188496988670089e-1,
    8.88314979438837594e00,
    6.61191906371416295e01,
    2.98635138197400131e02,
    8.81952221241769090e02,
    1.71204761263407058e03,
    2.05107837782607147e03,
    1.23033935479799725e03,
    2.15311535474403846e-8,
)
_D: Final = (
    1.57449261107098347e01,
    1.17693950891312499e02,
    5.37181101862009858e02,
    1.62138957456669019e03,
    3.29079923573345963e03,
    4.36261909014324716e03,
    3.43936767414372164e03,
    1.23033935480374942e03,
)
_P: Final = (
    3.05326634961232344e-1,
    3.60344899949804439e-1,
    1.25781726111229246e-1,
    1.60837851487422766e-2,
    6.58749161529837803e-4,
    1.63153871373020978e-2,
)
_Q: Final = (
    2.56852019228982242e00,
    1.87295284992346725e00,
    5.27905102951428412e-1,
    6.05183413124413191e-2,
    2.33520497626869185e-3,
)


def _ratio(
    x: float, top: tuple[float, ...], bottom: tuple[float, ...], last: float
) -> tuple[float, float]:
    """Evaluate Cody's two polynomials in `x`; `last` is the coefficient of the highest power."""
    num = last * x
    den = x
    for above, below in zip(top[:-1], bottom[:-1], strict=True):
        num = (num + above) * x
        den = (den + below) * x
    return num + top[-1], den + bottom[-1]


def _exp_minus_square(y: float) -> float:
    """Return exp(-y*y); y is split so that the rounding of its square does not show."""
    head = math.floor(y * 16.0) / 16.0
    rest = (y - head) * (y + head)
    return math.exp(-head * head) * math.exp(-rest)


def _erf_small(x: float) -> float:
    square = x * x
    num, den = _ratio(square, _A[:4], _B, _A[4])
    return x * num / den


def _erfc_positive(y: float) -> float:
    if y > _ZERO_BEYOND:
        return 0.0
    if y <= _MIDDLE:
        num, den = _ratio(y, _C[:8], _D, _C[8])
        return _exp_minus_square(y) * (num / den)
    inverse = 1.0 / (y * y)
    num, den = _ratio(inverse, _P[:5], _Q, _P[5])
    tail = (_ONE_OVER_SQRT_PI - inverse * (num / den)) / y
    return _exp_minus_square(y) * tail


def erfc(x: float) -> float:
    """Return the complementary error function of `x`.

    Relative error stays near 1e-15 as long as the result is a normal double; beyond 27.3
    the result is 0. Infinities give 0 and 2; not-a-number gives not-a-number.
    """
    if math.isnan(x):
        return x
    y = abs(x)
    if y <= _SMALL:
        return 1.0 - _erf_small(x)
    positive = _erfc_positive(y)
    return 2.0 - positive if x < 0 else positive


def normal_cdf(z: float) -> float:
    """Return the share of the standard normal curve that lies below `z`."""
    return 0.5 * erfc(-z * _SQRT_HALF)


def normal_between(low: float, high: float) -> float:
    """Return the share of the standard normal curve between `low` and `high`.

    Both may be infinite. The difference is taken on the side of the smaller tail, so a
    narrow slice far out keeps its digits. `high` below `low` gives 0.
    """
    if high <= low:
        return 0.0
    if low > 0:
        share = 0.5 * erfc(low * _SQRT_HALF) - 0.5 * erfc(high * _SQRT_HALF)
    elif high < 0:
        share = 0.5 * erfc(-high * _SQRT_HALF) - 0.5 * erfc(-low * _SQRT_HALF)
    else:
        share = 1.0 - 0.5 * erfc(-low * _SQRT_HALF) - 0.5 * erfc(high * _SQRT_HALF)
    return max(0.0, share)
