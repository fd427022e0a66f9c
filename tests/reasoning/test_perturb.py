"""Noise moves every estimate and nothing else.

Expected numbers are worked by hand from the logistic function.
"""

import random

import pytest

from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.reports.robust import perturb, shifted

NETWORK = Network(
    (NetworkCause("a", 0.1), NetworkCause("b", 0.0)),
    (NetworkFinding("f", ("no", "some", "much"), (0.9, 0.99), {"a": (0.2, 0.5), "b": (0.4, 1.0)}),),
)


def test_a_shift_of_one_half_by_hand():
    # odds 4 times exp(.5) = 1.648721 are 6.594885, and 6.594885 / 7.594885 = .868332
    assert shifted(0.8, 0.5) == pytest.approx(0.868332, abs=1e-6)
    assert shifted(shifted(0.3, 1.7), -1.7) == pytest.approx(0.3, abs=1e-12)


def test_no_noise_changes_nothing_that_matters():
    still = perturb(NETWORK, 0.0, lambda: 3.0)
    assert [one.prior for one in still.causes] == pytest.approx([0.1, 0.0])
    assert still.findings[0].links["a"] == pytest.approx((0.2, 0.5))


def test_certainties_stay_and_rows_stay_in_order():
    draw = random.Random(7)
    for _ in range(200):
        moved = perturb(NETWORK, 2.0, lambda: draw.gauss(0, 1))
        assert moved.causes[1].prior == 0
        assert moved.findings[0].links["b"][1] == 1
        for row in (moved.findings[0].leak, *moved.findings[0].links.values()):
            assert 0 < row[0] <= row[1] <= 1


def test_a_row_moves_as_a_whole_by_one_draw_each():
    draws = iter([0.0, 0.0, 1.0, 2.0, -1.0])
    moved = perturb(NETWORK, 0.5, lambda: next(draws))
    assert moved.causes[0].prior == pytest.approx(0.1)
    assert moved.findings[0].leak == pytest.approx((shifted(0.9, 0.5), shifted(0.99, 0.5)))
    assert moved.findings[0].links["a"] == pytest.approx((shifted(0.2, 1.0), shifted(0.5, 1.0)))
    assert moved.findings[0].links["b"][0] == pytest.approx(shifted(0.4, -0.5))
    assert next(draws, None) is None
