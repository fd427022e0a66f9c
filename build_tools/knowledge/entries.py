"""Room 2: say what a symptom and a cause are, and name the types of every other kind.

Frozen values only; nothing here reads a file. A likelihood always carries the word it
was written with and the mark of where it comes from, so no bare number leaves the room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from build_tools.knowledge.check_entries import Check, Effort, Level, Need, Shift, Step
from build_tools.knowledge.gauge_entries import (
    Band,
    Edge,
    EdgeCurve,
    Gauge,
    GaugeCondition,
    GaugeTable,
    Meter,
    Plausible,
    Spread,
    TableBand,
)
from build_tools.knowledge.likelihood import OUR_ESTIMATE, UNSOURCED_MARKS, Likelihood
from build_tools.knowledge.record_entries import (
    Case,
    Context,
    ContextBand,
    Expectation,
    Option,
    Source,
    Sum,
)
from build_tools.knowledge.vocabulary import Vocabulary

__all__ = [
    "OUR_ESTIMATE",
    "UNSOURCED_MARKS",
    "Answer",
    "Band",
    "Case",
    "Cause",
    "CauseLink",
    "Check",
    "Confirmation",
    "Context",
    "ContextBand",
    "ContextFactor",
    "Edge",
    "EdgeCurve",
    "Effort",
    "Expectation",
    "Gauge",
    "GaugeCondition",
    "GaugeTable",
    "Level",
    "Likelihood",
    "LookAlike",
    "Meter",
    "Need",
    "Option",
    "Plausible",
    "Price",
    "Question",
    "Repair",
    "Shift",
    "Source",
    "Spread",
    "Step",
    "Sum",
    "Symptom",
    "TableBand",
    "Vocabulary",
]


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Lead from an owner's answer to the symptom it points to."""

    says: str
    symptom: str


@dataclass(frozen=True, kw_only=True)
class Question:
    """Ask what splits one complaint into several."""

    question: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True, kw_only=True)
class CauseLink:
    """Link a symptom to a cause that can produce it.

    `how_often` is P(symptom noticed | only this cause present). `checks` are the cheap
    checks that settle it, first one first.
    """

    cause: str
    how_often: Likelihood
    why: str
    checks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Symptom:
    """Hold what a person notices.

    `role` is complaint or circumstance. `unprompted` is P(reported | no modelled cause).
    `causes` keeps the order of the file, likely first.
    """

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    role: str
    family: str
    says: tuple[str, ...]
    looks_like: str
    stop_now: tuple[str, ...]
    ask_first: tuple[Question, ...]
    supply_note: str
    unprompted: Likelihood
    causes: tuple[CauseLink, ...]


@dataclass(frozen=True, kw_only=True)
class ContextFactor:
    """Multiply a cause's prior odds by `times` when context `when` is `equals`."""

    when: str
    equals: str
    times: float
    why: str


@dataclass(frozen=True, kw_only=True)
class Price:
    """Hold what a part is likely to cost, low to high, with the year it was true."""

    low: float
    high: float
    currency: str
    year: int
    source: str

    @property
    def middle(self) -> float:
        """Return the mean of low and high."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, kw_only=True)
class Repair:
    """Say what cures a cause: the action, the part (None when nothing is bought), the work.

    `who` is owner, owner-with-tools or workshop; `minutes` is time at the car.
    """

    action: str
    part: str | None
    price: Price
    minutes: float
    who: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Confirmation:
    """Name the check and the level, that one or worse, which confirms a cause."""

    check: str
    level: str


@dataclass(frozen=True, kw_only=True)
class LookAlike:
    """Name a cause that looks the same, and the check that tells the two apart."""

    cause: str
    told_apart_by: str | None


@dataclass(frozen=True, kw_only=True)
class Cause:
    """Hold the state of a thing that can produce symptoms.

    `how_common` is the prior P(cause) for a car that came with some complaint.
    """

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    group: str
    how_common: Likelihood
    context: tuple[ContextFactor, ...]
    repair: Repair
    confirmed_by: tuple[Confirmation, ...]
    unconfirmable_because: str | None
    confused_with: tuple[LookAlike, ...]


# What a catalogue may hold, for signatures that take any entry.
Entry = Symptom | Cause | Check | Gauge | Context | Sum | Case | Source
Words = Mapping[str, str]
