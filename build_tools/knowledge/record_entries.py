"""Room 2: say what a context, a worked case and a source are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.gauge_entries import Plausible
    from build_tools.knowledge.quantities import Quantity


@dataclass(frozen=True, kw_only=True)
class Option:
    """Offer one answer to a context question."""

    id: str
    label: str


@dataclass(frozen=True, kw_only=True)
class ContextBand:
    """Name a range of a number context: `start` belongs to it, `below` does not."""

    id: str
    start: float | None
    below: float | None

    def holds(self, value: float) -> bool:
        """Tell whether a value in the context's canonical unit lies in the range."""
        return (self.start is None or value >= self.start) and (
            self.below is None or value < self.below
        )


@dataclass(frozen=True, kw_only=True)
class Context:
    """Hold a circumstance that multiplies odds, conditions a reading, or both.

    A choice has options. A number has a unit, the units it accepts, plausible limits and
    perhaps named bands.
    """

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    question: str
    role: str
    type: str
    options: tuple[Option, ...]
    unit: str | None
    accepts: tuple[str, ...]
    plausible: Plausible | None
    bands: tuple[ContextBand, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """Return the ids a cause may compare this context with."""
        return tuple(one.id for one in self.options) or tuple(one.id for one in self.bands)


@dataclass(frozen=True, kw_only=True)
class Expectation:
    """Hold what must come out of a worked case; None means it is not checked.

    `next` is checked only when `checks_next`; then None means nothing is left to check.
    """

    group_in_first_three: str | None
    cause_in_first_three: str | None
    supply: str | None
    checks_next: bool
    next: str | None
    stop_now: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Case:
    """Hold an invented car with everything told and measured about it.

    `context` maps context ids to an option id or a quantity. `readings` maps check ids to
    a quantity and conditions. `tools` is None when every tool is at hand.
    """

    id: str
    title: str
    status: str
    reviewed: str
    story: str
    symptoms: tuple[str, ...]
    absent: tuple[str, ...]
    context: Mapping[str, str | Quantity]
    readings: Mapping[str, CaseReading]
    outcomes: Mapping[str, str]
    tools: tuple[str, ...] | None
    not_possible: tuple[str, ...]
    expect: Expectation


@dataclass(frozen=True, kw_only=True)
class CaseReading:
    """Hold a number from a meter with the conditions it was taken under."""

    quantity: Quantity
    conditions: Mapping[str, str | Quantity]


@dataclass(frozen=True, kw_only=True)
class Sum:
    """Hold arithmetic an owner needs.

    `document` is the whole entry as plain values, which is what the formulas work on.
    """

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    group: str
    question: str
    formula: str
    next_check: str | None
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    document: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Source:
    """Hold a publication. `mark` is published or second-hand, `seen` how much was read."""

    id: str
    title: str
    section: str
    publisher: str
    year: int | None
    mark: str
    seen: str
    note: str
