"""The normal distribution: how much of the curve lies below a point or between two.

It reads no reading and knows no gauge. The browser has no error function of its own; the one
in `measure/normal.js` is held against this one.
"""

from math import erfc
from typing import Final

_SQRT_HALF: Final = 0.7071067811865476


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
        low, high = -high, -low
    if high < 0:
        share = normal_cdf(high) - normal_cdf(low)
    else:
        share = 1.0 - normal_cdf(low) - normal_cdf(-high)
    return max(0.0, share)
