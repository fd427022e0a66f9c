"""Room reasoning: the small parts every sum is made of.

Intervals, refusals, and the word a sum ends on.
No formula stands here, no file is read. `assets/measure/sums-parts.js` is its twin.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

_TOO_LONG = 1e15
_TOO_SMALL = 1e-6
Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Interval:
    """A figure and the range it may lie in, all in one unit."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Given:
    """What a formula is given: inputs in their canonical units, figures and tables.

    `numbers` holds number inputs that were given, `choices` the chosen options; what was
    left out is absent. `constants` and `tables` come from the sum's file, where each has
    its source.
    """

    numbers: Mapping[str, float]
    choices: Mapping[str, str]
    constants: Mapping[str, float]
    tables: Mapping[str, Points]


@dataclass(frozen=True)
class Outcome:
    """What a formula found: its figures and the verdict whose sentence is shown."""

    verdict: str
    outputs: Mapping[str, Interval] = field(default_factory=dict)


class SumRefusedError(ValueError):
    """Say that a sum has no honest answer: `refusal` is the id of the sentence to show."""

    def __init__(self, field_id: str, refusal: str) -> None:
        self.field = field_id
        self.refusal = refusal
        super().__init__(f"{field_id}: {refusal}")


def exactly(value: float) -> Interval:
    """Return a figure that carries no range of its own."""
    return Interval(value, value, value)


def around(value: float, part: float) -> Interval:
    """Return a figure with a range of `part` (0.1 is ten percent) to either side."""
    return Interval(value, value * (1 - part), value * (1 + part))


def to_fahrenheit(celsius: float) -> float:
    """Return a temperature in degrees Fahrenheit: the printed unit of several tables."""
    return celsius * 9 / 5 + 32


def to_celsius(fahrenheit: float) -> float:
    """Return a temperature in degrees Celsius."""
    return (fahrenheit - 32) * 5 / 9


def plain_number(value: float) -> str:
    """Write a limit or an entered number the way a person would, alike in every language."""
    if abs(value) >= _TOO_LONG:
        return "a number beyond 10^15"
    if 0 < abs(value) < _TOO_SMALL:
        return "a number below 10^-6"
    return str(int(value)) if value == int(value) else format(Decimal(repr(value)), "f")


def rounded_to_millionth(value: float) -> float:
    """Return a value at six decimals, so that 1.265 - 1.215 does not read 0.0499999."""
    return math.floor(value * 1e6 + 0.5) / 1e6


def clamp(value: float, low: float, high: float) -> float:
    """Keep a value within its limits."""
    return min(max(value, low), high)
