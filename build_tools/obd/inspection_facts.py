"""Room reasoning: what a verdict is made from and what it says.

The vehicle, the facts an owner can tell, and the verdict as data. It decides nothing (see
inspection.py). `inspection-facts.js` does the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from build_tools.obd.codes import recognise_code
from build_tools.obd.readout import Readout, codes_of, value_of

FUELS: Final = ("gasoline", "diesel", "hybrid", "other")
FIRST_YEAR, LAST_YEAR = 1960, 2100


@dataclass(frozen=True)
class Vehicle:
    """Model year, fuel, gross weight rating (pounds) and the year of the test; None: not told."""

    year: int | None = None
    fuel: str | None = None
    pounds: float | None = None
    now: int | None = None

    @property
    def age(self) -> int | None:
        """Years from the model year to the year of the test, if both are told."""
        return None if self.year is None or self.now is None else self.now - self.year


@dataclass(frozen=True)
class Facts:
    """Hold what the owner knows besides the readout; None means not told.

    `retest_codes`: codes of the earlier failure; `unread_codes` what was typed for one and is
    none. `repaired`: monitors whose part was repaired
    since. `permanent_codes`: how many are stored. Distances in km.
    """

    no_answer: bool = False
    connector_dead: bool = False
    lamp_dark: bool = False
    retest_codes: tuple[str, ...] = ()
    unread_codes: tuple[str, ...] = ()
    repaired: tuple[str, ...] = ()
    permanent_codes: int | None = None
    pending_codes: int | None = None
    warm_ups: float | None = None
    distance_km: float | None = None
    all_else_passes: bool | None = None
    certificate_expired: bool | None = None
    extension_used: bool | None = None


@dataclass(frozen=True)
class Reason:
    """Hold one reason; its sentence stands in inspection_words, with these parts filled in."""

    id: str
    mark: str | None = None
    monitors: tuple[str, ...] = ()
    number: float | None = None
    limit: float | None = None


@dataclass(frozen=True)
class Verdict:
    """Say what a rule makes of a readout.

    `result`: pass, interim-pass, pass-on-this-item, fail, reject, not-ready, tailpipe,
    communication-failure, undecided, indeterminate, out-of-scope, no-band or no-rule.
    `confidence` is the worst mark the result rests on. `flags` name what the reader must be
    told beside it.
    """

    rule: str
    result: str
    confidence: str
    why: tuple[Reason, ...]
    would_change: tuple[Reason, ...] = ()
    flags: tuple[str, ...] = ()
    allowed: int | None = None
    allowed_only: tuple[str, ...] | None = None
    incomplete: tuple[str, ...] = ()
    forced: tuple[str, ...] = ()


def vehicle_from(told: Mapping[str, object]) -> Vehicle:
    """Read a vehicle from plain data; what is out of range counts as not told."""
    fuel = told.get("fuel")
    return Vehicle(
        _year(told.get("year")),
        fuel if isinstance(fuel, str) and fuel in FUELS else None,
        _number(told.get("pounds"), 1, 1_000_000),
        _year(told.get("now")),
    )


def facts_from(told: Mapping[str, object]) -> Facts:
    """Read facts from plain data; what is not understood counts as not told."""
    typed = _texts(told.get("retest_codes"))
    codes = [recognise_code(code).code for code in typed]
    return Facts(
        no_answer=told.get("no_answer") is True,
        connector_dead=told.get("connector_dead") is True,
        lamp_dark=told.get("lamp_dark") is True,
        retest_codes=tuple(code for code in codes if code),
        unread_codes=tuple(text for text, code in zip(typed, codes, strict=True) if not code),
        repaired=tuple(_texts(told.get("repaired"))),
        permanent_codes=_count(told.get("permanent_codes")),
        pending_codes=_count(told.get("pending_codes")),
        warm_ups=_number(told.get("warm_ups"), 0, 65535),
        distance_km=_number(told.get("distance_km"), 0, 10_000_000),
        all_else_passes=_truth(told.get("all_else_passes")),
        certificate_expired=_truth(told.get("certificate_expired")),
        extension_used=_truth(told.get("extension_used")),
    )


def with_readout(facts: Facts, readout: Readout) -> Facts:
    """Fill in from the readout what the owner did not tell himself."""
    permanent, pending = codes_of(readout, "permanent"), codes_of(readout, "pending")
    warm_ups = value_of(readout, "warm-ups-since-clear")
    distance = value_of(readout, "distance-since-clear")
    return replace(
        facts,
        permanent_codes=_told(facts.permanent_codes, None if permanent is None else len(permanent)),
        pending_codes=_told(facts.pending_codes, None if pending is None else len(pending)),
        warm_ups=warm_ups if facts.warm_ups is None else facts.warm_ups,
        distance_km=distance if facts.distance_km is None else facts.distance_km,
    )


def _told(first: int | None, second: int | None) -> int | None:
    return second if first is None else first


def _number(value: object, low: float, high: float) -> float | None:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    if not plain or not isinstance(value, int | float):
        return None
    return value if low <= value <= high else None


def _year(value: object) -> int | None:
    year = _number(value, FIRST_YEAR, LAST_YEAR)
    return int(year) if year is not None and year == int(year) else None


def _count(value: object) -> int | None:
    number = _number(value, 0, 1000)
    return int(number) if number is not None and number == int(number) else None


def _truth(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _texts(value: object) -> list[str]:
    return [one for one in value if isinstance(one, str)] if isinstance(value, list | tuple) else []
