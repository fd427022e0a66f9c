"""The pure parts of the benches: exponents against numpy, ratios and the table by hand."""

import json
import random

import numpy as np
import pytest

from tests.bench.figures import (
    Figure,
    Target,
    document,
    fit_exponent,
    interleaved,
    number,
    ratio,
    table,
)


@pytest.mark.parametrize("power", [0.5, 1.0, 2.0])
def test_exponent_of_a_pure_power_is_that_power(power):
    sizes = [100, 500, 2000]
    assert fit_exponent(sizes, [3.7 * n**power for n in sizes]) == pytest.approx(power, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_exponent_agrees_with_numpy_on_noisy_times(seed):
    draw = random.Random(seed)
    sizes = sorted(draw.sample(range(10, 5000), 6))
    times = [n**1.2 * draw.uniform(0.5, 2) for n in sizes]
    slope, _ = np.polyfit(np.log(sizes), np.log(times), 1)
    assert fit_exponent(sizes, times) == pytest.approx(slope, abs=1e-9)


@pytest.mark.parametrize(("sizes", "times"), [([5], [1.0]), ([5, 5], [1, 2]), ([5, 6], [1.0])])
def test_exponent_of_one_size_is_refused(sizes, times):
    with pytest.raises(ValueError, match="two sizes"):
        fit_exponent(sizes, times)


def test_ratio_is_a_share_or_a_speed_up():
    assert ratio(3.0, 2.0) == 1.5
    assert ratio(0.5, 20.0, speed_up=True) == 40
    assert ratio(0.0, 1.0, speed_up=True) == float("inf")


def test_target_looks_at_the_ratio_or_at_the_figure_itself():
    build = Figure("build", "full", "s", 13.0, 10.0, target=Target(1.3))
    assert (build.ratio, build.met) == (1.3, True)
    assert Figure("build", "full", "s", 13.1, 10.0, target=Target(1.3)).met is False
    weight = Figure("pages", "first", "KB", 91.0, 60.0, target=Target(90, of="ours"))
    assert weight.met is False
    faster = Figure("engine", "a", "ms", 1, 25, speed_up=True, target=Target(20, at_least=True))
    assert faster.met is True
    assert Figure("engine", "a", "ms", 1, target=Target(20)).met is None
    assert Figure("engine", "a", "ms", 1).met is None


def test_interleaved_measures_in_turn_and_takes_the_middle():
    asked = []

    def way(name, values):
        left = iter(values)

        def measure():
            asked.append(name)
            return next(left)

        return measure

    found = interleaved({"a": way("a", [9, 1, 2]), "b": way("b", [5, 7, 100])}, 3)
    assert asked == ["a", "b"] * 3
    assert found == {"a": 2, "b": 7}


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (0.01234, "0.0123"),
        (1.005, "1.00"),
        (12.34, "12.3"),
        (1234.5, "1234"),
        (0, "0"),
        (None, "-"),
    ],
)
def test_numbers_keep_three_digits(value, said):
    assert number(value) == said


def test_table_and_document_say_the_same():
    figures = [
        Figure("build", "full build", "s", 26.0, 20.0, "bare", target=Target(1.3), note="why"),
        Figure("pages", "checker", "KB", 95.0, target=Target(90, of="ours")),
    ]
    lines = table(figures).splitlines()
    assert lines[1] == "build"
    assert lines[4].split() == [
        "full",
        "build",
        "s",
        "26.0",
        "20.0",
        "bare",
        "1.30x",
        "<=",
        "1.3x",
        "yes",
    ]
    assert lines[6] == "pages"
    assert lines[9].split() == ["checker", "KB", "95.0", "-", "-", "<=", "90", "NO"]
    assert lines[-1] == "full build: why"
    plain = json.loads(json.dumps(document(figures)))
    assert [(one["ratio"], one["met"]) for one in plain] == [(1.3, True), (None, False)]
    assert plain[0]["target"] == "<= 1.3x"
