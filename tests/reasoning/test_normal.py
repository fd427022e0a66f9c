"""The normal curve against published tables and sums of 800 decimal digits."""

import itertools
import math
import statistics
from decimal import Decimal, localcontext

import pytest

from build_tools.engine.normal import normal_between, normal_cdf

# pi to 60 digits (Abramowitz and Stegun 1964, table 1.1).
PI = Decimal("3.14159265358979323846264338327950288419716939937510582097494")


def exact_erfc(x: float) -> Decimal:
    """Sum the Taylor series of erf with enough digits that nothing cancels."""
    with localcontext() as context:
        context.prec = 800
        value = Decimal(x)
        square = value * value
        term = value
        total = value
        n = 0
        while abs(term) > Decimal(10) ** -760:
            n += 1
            term = -term * square / n
            total += term / (2 * n + 1)
        pi = _pi()
        return 1 - 2 * total / pi.sqrt()


def _pi() -> Decimal:
    """Machin 1706: pi/4 = 4 arctan(1/5) - arctan(1/239)."""

    def arctan(one_over: int) -> Decimal:
        power = Decimal(1) / one_over
        total = power
        n = 1
        while abs(power) > Decimal(10) ** -790:
            power = -power / (one_over * one_over)
            n += 2
            total += power / n
        return total

    return 4 * (4 * arctan(5) - arctan(239))


def test_the_reference_knows_pi():
    with localcontext() as context:
        context.prec = 800
        assert abs(_pi() - PI) < Decimal(10) ** -58


@pytest.mark.parametrize(
    "x",
    [-5.5, -1.0, -0.3, 0.0, 1e-9, 0.2, 0.46875, 0.47, 1.0, 2.5, 3.999, 4.0, 4.001, 8.0, 15.0, 25.5],
)
def test_the_library_s_erfc_against_800_digits(x):
    exact = exact_erfc(x)
    assert abs(Decimal(math.erfc(x)) / exact - 1) < Decimal("1.5e-15")


# Abramowitz and Stegun 1964, table 26.1: P(x), and the 97.5 % point 1.959964.
@pytest.mark.parametrize(
    ("z", "share"),
    [(0.0, 0.5), (0.5, 0.691462461), (1.0, 0.841344746), (2.0, 0.977249868), (3.0, 0.998650102)],
)
def test_published_table_of_the_normal_curve(z, share):
    assert normal_cdf(z) == pytest.approx(share, abs=5e-10)
    assert normal_cdf(-z) == pytest.approx(1 - share, abs=5e-10)


def test_normal_cdf_against_the_standard_library():
    curve = statistics.NormalDist()
    for step in range(-60, 61):
        assert normal_cdf(step / 10) == pytest.approx(curve.cdf(step / 10), abs=2e-16, rel=1e-9)


def test_slices_add_up_and_keep_their_digits_far_out():
    edges = [-math.inf, -3.0, -0.1, 0.4, 2.0, math.inf]
    shares = [normal_between(low, high) for low, high in itertools.pairwise(edges)]
    assert math.fsum(shares) == pytest.approx(1, abs=1e-15)
    exact = (exact_erfc(10 / math.sqrt(2)) - exact_erfc(11 / math.sqrt(2))) / 2
    assert normal_between(10, 11) == pytest.approx(float(exact), rel=1e-13)
    assert normal_between(-11, -10) == pytest.approx(float(exact), rel=1e-13)


def test_ends():
    assert normal_between(1, 1) == 0
    assert normal_between(2, 1) == 0
    assert normal_between(-math.inf, math.inf) == 1
