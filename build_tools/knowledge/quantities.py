"""Room 2: keep numbers together with their units and convert between units.

Conversions are linear: canonical = value * factor + offset, read from the units word
list. Nothing here knows what a volt is good for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A value with its unit's id."""

    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit: how it is shown, what it measures, and how it becomes the canonical one.

    `canonical` is the id of the unit reached by value * factor + offset.
    """

    id: str
    symbol: str
    quantity: str
    canonical: str
    factor: float
    offset: float


class UnitMismatchError(ValueError):
    """Say that two units do not measure the same thing, or that one is unknown."""


def convert(value: float, unit: str, to: str, units: Mapping[str, Unit]) -> float:
    """Return `value`, given in `unit`, in the unit `to`.

    Raises:
        UnitMismatchError: if a unit is unknown or the two measure different quantities.
    """
    if unit == to:
        return value
    for one in (unit, to):
        if one not in units:
            raise UnitMismatchError(f'unit "{one}" is not known')
    start, end = units[unit], units[to]
    if start.canonical != end.canonical:
        raise UnitMismatchError(f'"{unit}" cannot be turned into "{to}"')
    return (value * start.factor + start.offset - end.offset) / end.factor


def between(points: Sequence[Sequence[float]], x: float) -> float:
    """Read a table of (x, y) at `x`: straight lines, held level beyond its ends.

    `points` ascend in x.
    """
    if x <= points[0][0]:
        return float(points[0][1])
    for (left, low), (right, high) in pairwise(points):
        if x <= right:
            return float(low + (high - low) * ((x - left) / (right - left)))
    return float(points[-1][1])
