"""Room 2: say what an entry of each kind is, those of readiness apart.

Frozen values, filled by structure.py by these very types. A likelihood carries the word it was
written with and its mark, so no bare number leaves the room. Values of a gauge are in its own unit
unless a field says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from build_tools.knowledge.quantities import Quantity
from build_tools.knowledge.readiness_entries import Described, Inspection, Monitor

UNSOURCED_MARKS = ("from-memory", "common-practice", "our-estimate")
OUR_ESTIMATE = "our-estimate"
Raw = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Likelihood:
    """A probability.

    `word` is the scale word it was written with, None when a number was written.
    `source` is a mark: a source entry's id, from-memory, common-practice or our-estimate.
    """

    value: float
    word: str | None
    source: str


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
    how_often: Likelihood = field(metadata={"scale": "frequency"})
    why: str
    checks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ColdStop:
    """A stop line that a level or symptom calls for only where it is colder than this, in degC."""

    line: str
    than: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Symptom(Described):
    """What a person notices.

    `role` is complaint or circumstance. `unprompted` is P(reported | no modelled cause).
    `causes` keeps the order of the file, likely first. `stop_colder` holds until a look gives back
    what it takes away. `takes_away` and `shows`: what the car cannot, or can, do as it is now.
    `sets` is what an answer about the car must be where it is noticed.
    """

    role: str
    family: str
    says: tuple[str, ...]
    looks_like: str
    stop_now: tuple[str, ...]
    stop_colder: ColdStop | None = None
    takes_away: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    sets: Mapping[str, str] = field(default_factory=dict)
    ask_first: tuple[Question, ...]
    supply_note: str
    unprompted: Likelihood = field(metadata={"scale": "leak"})
    causes: tuple[CauseLink, ...]


@dataclass(frozen=True, kw_only=True)
class ContextFactor:
    """Multiply a cause's prior odds by `times` when context `when` is `equals`.

    `source` is the mark of `times`, None where it is our estimate.
    """

    when: str
    equals: str = field(metadata={"key": "is"})
    times: float
    why: str
    source: str | None = None


@dataclass(frozen=True, kw_only=True)
class Price:
    """What a part is likely to cost, low to high, with the year it was true."""

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

    `who` is owner, owner-with-tools or workshop; `minutes` is time at the car, `wait_hours`
    pass without the owner. `requires` are the abilities it takes beside being at the car,
    `own_tools` the owner's, `after_checks` the checks that come before it as long as they can be
    made. `sets` is what an answer about the car is after it, such as the age of a new battery.
    """

    action: str
    part: str | None
    price: Price
    minutes: float
    wait_hours: float = 0.0
    who: str
    cautions: tuple[str, ...]
    requires: tuple[str, ...] = ()
    own_tools: tuple[str, ...] = ()
    after_checks: tuple[str, ...] = ()
    sets: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Confirmation:
    """Name a check and a level of it that confirms a cause."""

    check: str
    level: str


@dataclass(frozen=True, kw_only=True)
class LookAlike:
    """Name a cause that looks the same, and the check that tells the two apart."""

    cause: str
    told_apart_by: str | None


@dataclass(frozen=True, kw_only=True)
class Cause(Described):
    """The state of a thing that can produce symptoms.

    `how_common` is the prior P(cause) for a car that came with some complaint.
    """

    group: str
    how_common: Likelihood = field(metadata={"scale": "prior"})
    context: tuple[ContextFactor, ...]
    repair: Repair
    confirmed_by: tuple[Confirmation, ...]
    unconfirmable_because: str | None
    confused_with: tuple[LookAlike, ...]


@dataclass(frozen=True, kw_only=True)
class Effort:
    """What a check costs: minutes, money in `currency`, skill, a second person.

    `minutes` are the owner's own; `wait_hours` pass without them.
    """

    minutes: float
    money: float
    currency: str
    skill: str
    needs_helper: bool
    source: str
    wait_hours: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Need:
    """Require an earlier check's result at level `at_most` or better, any result if None.

    `otherwise` is the check to offer when that result is worse.
    """

    check: str
    at_most: str | None
    otherwise: str | None


@dataclass(frozen=True, kw_only=True)
class Step:
    """One action, the hazard to read before it, and the mark of a figure in it."""

    do: str
    caution: str | None
    source: str | None = None


@dataclass(frozen=True, kw_only=True)
class Level:
    """One outcome of a check.

    Level 0 is what a car without any modelled cause shows. `bands` are the gauge bands
    that mean this level. `proves` says the check's aspects are proven by it. `takes_away`, `shows`
    and `allows` name abilities it takes from the car, shows to be there, or gives back. A result
    that changes the car names the checks whose abnormal results from before it no longer stand
    (`resets`), and the causes it puts right (`mends`) or shows to have been put right with the
    trouble gone (`ends`). `codes` are the trouble codes
    that mean this level, single ones or ranges such as P0440-P0459.
    """

    id: str
    label: str
    means: str
    bands: tuple[str, ...]
    proves: bool
    stop_now: tuple[str, ...]
    stop_colder: ColdStop | None = None
    takes_away: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    allows: tuple[str, ...] = ()
    resets: tuple[str, ...] = ()
    mends: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()

    @property
    def may_stop(self) -> tuple[str, ...]:
        """Return every stop line it can call for, in the cold too."""
        return (*self.stop_now, self.stop_colder.line) if self.stop_colder else self.stop_now


@dataclass(frozen=True, kw_only=True)
class Shift:
    """Say how one cause moves a check: level id -> P(at least this level | only it).

    A level left out is one the cause does not produce.
    """

    cause: str
    at_least: Mapping[str, Likelihood] = field(metadata={"scale": "frequency"})
    why: str | None


@dataclass(frozen=True, kw_only=True)
class Check(Described):
    """Something one can do in the driveway that tells causes apart.

    `aspects` are the sides of the supply a normal result proves. `sources` are the marks of
    figures in its sentences, beyond those of its gauge, and `note` says more about them.
    `only_for` names the families of complaints the check makes sense for, `only_with` single
    symptoms; both empty means all.
    `requires` are the abilities it takes, beside being at the car unless it is made `away`.
    `drawing_with` maps a tool to the drawing for who works with it.
    `told_by` are answers about the car that tell its result, so that it need not be made.
    `unprompted` maps every level above the first to P(at least this level | no modelled cause).
    """

    aspects: tuple[str, ...]
    tools: tuple[str, ...]
    effort: Effort
    cautions: tuple[str, ...]
    requires: tuple[str, ...] = ()
    away: bool = False
    needs: tuple[Need, ...]
    only_for: tuple[str, ...] = ()
    only_with: tuple[str, ...] = ()
    told_by: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    steps: tuple[Step, ...]
    drawing: str | None
    drawing_with: Mapping[str, str] = field(default_factory=dict)
    gauge: str | None
    conditions: tuple[str, ...]
    levels: tuple[Level, ...]
    cannot_tell: str
    sources: tuple[str, ...] = ()
    note: str | None = None
    unprompted: Mapping[str, Likelihood] = field(metadata={"scale": "leak"})
    shifts: tuple[Shift, ...]

    def level_index(self, level: str) -> int:
        """Return the position of a level, 0 for the normal one.

        Raises:
            KeyError: if the check has no such level.
        """
        for index, one in enumerate(self.levels):
            if one.id == level:
                return index
        raise KeyError(level)


@dataclass(frozen=True, kw_only=True)
class Plausible:
    """Bound what may be entered at all; outside, a slip of unit or decimal is suspected."""

    low: float
    high: float
    source: str


@dataclass(frozen=True, kw_only=True)
class GaugeCondition:
    """Name a context that matters, and what to assume when it was not given.

    `weights` maps options to probabilities. `points` are (value, weight) pairs in the
    context's canonical unit. One of the two is empty.
    """

    id: str
    weights: Mapping[str, float]
    points: tuple[tuple[float, float], ...]
    source: str | None

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Tell the points of `if_unknown` from its weights."""
        unknown = dict(raw.get("if_unknown") or {})
        return {**raw, "points": unknown.pop("points", ()), "weights": unknown}


@dataclass(frozen=True, kw_only=True)
class Band:
    """Name a range of readings and say in one sentence what it means."""

    id: str
    label: str
    says: str


@dataclass(frozen=True, kw_only=True)
class EdgeCurve:
    """Let an edge move with a number context: linear between points, clamped outside.

    `points` are (context value in `unit`, edge in the gauge's unit) pairs, ascending.
    """

    by: str
    unit: str
    points: tuple[tuple[float, float], ...]


Edge = float | EdgeCurve


@dataclass(frozen=True, kw_only=True)
class TableBand:
    """Bound one band: `start` belongs to it, `below` does not; None is open."""

    band: str
    start: Edge | None = field(metadata={"key": "from"})
    below: Edge | None
    source: str | None


@dataclass(frozen=True, kw_only=True)
class GaugeTable:
    """Band edges for the conditions in `fits` (context -> allowed options).

    An empty `fits` holds always. The first fitting table of a gauge wins.
    """

    fits: Mapping[str, tuple[str, ...]] = field(metadata={"key": "for"})
    source: str
    bands: tuple[TableBand, ...]

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Let one allowed option be a list of one."""
        fits = (raw.get("for") or {}).items()
        return {**raw, "for": {key: one if isinstance(one, list) else [one] for key, one in fits}}


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Add one standard deviation in quadrature when every condition in `when` holds."""

    when: Mapping[str, str]
    plus: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Meter:
    """A meter's limits: plus or minus `percent` of reading and `plus` in units."""

    percent: float
    plus: float


@dataclass(frozen=True, kw_only=True)
class Gauge(Described):
    """How a reading is interpreted.

    Pages name sources in the order of these fields: those of the edges first.
    """

    quantity: str
    unit: str
    accepts: tuple[str, ...]
    decimals: int
    bands: tuple[Band, ...]
    tables: tuple[GaugeTable, ...]
    plausible: Plausible
    spread: tuple[Spread, ...]
    meters: Mapping[str, Meter]
    meters_source: str | None
    conditions: tuple[GaugeCondition, ...]
    does_not_tell: str

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Tell the meters from the mark that holds for all of them."""
        meters = dict(raw.get("meters") or {})
        return {**raw, "meters_source": meters.pop("source", None), "meters": meters}


@dataclass(frozen=True, kw_only=True)
class Option:
    """An answer to a context: its stop lines, the degC it may mean, its share of all cars."""

    id: str
    label: str
    stop_now: tuple[str, ...] = ()
    as_cold_as: float | None = None
    share: float | None = None
    source: str | None = None


@dataclass(frozen=True, kw_only=True)
class ContextBand:
    """Name a range of a number context: `start` belongs to it, `below` does not."""

    id: str
    start: float | None = field(metadata={"key": "from"})
    below: float | None

    def holds(self, value: float) -> bool:
        """Tell whether a value in the context's canonical unit lies in the range."""
        return (self.start is None or value >= self.start) and (
            self.below is None or value < self.below
        )


@dataclass(frozen=True, kw_only=True)
class Context(Described):
    """A circumstance that multiplies odds, conditions a reading, or both.

    A choice has options; a number a unit, those it accepts, plausible limits and perhaps bands.
    """

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
    """What must come out of a worked case; None means it is not checked.

    `next` is checked only when `checks_next`; then None means nothing is left to check.
    `first_step_any_of` are checks and causes one of which must be the first step, `never` those
    that no list of the advice may offer.
    """

    group_in_first_three: str | None
    cause_in_first_three: str | None
    causes_any_of: tuple[str, ...] = ()
    supply: str | None
    checks_next: bool
    next: str | None
    stop_now: tuple[str, ...]
    first_step_any_of: tuple[str, ...] = ()
    never: tuple[str, ...] = ()

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Tell a `next` of nothing from none."""
        return {**raw, "checks_next": "next" in raw}


@dataclass(frozen=True, kw_only=True)
class Case:
    """An invented car with everything told and measured about it.

    `context` maps context ids to an option id or a quantity. `readings` maps check ids to
    a quantity and conditions. `tools` is None when every tool is at hand. `mended` are causes
    put right already, without an end of the trouble; `helped` are those whose repair made it better
    or ended it. `past` are symptoms that are over, and `again` the checks and contexts told after a
    result or repair that changes them.
    """

    id: str
    title: str
    status: str
    reviewed: str
    read_by: tuple[str, ...] = ()
    story: str
    symptoms: tuple[str, ...]
    absent: tuple[str, ...]
    context: Mapping[str, str | Quantity]
    readings: Mapping[str, CaseReading]
    outcomes: Mapping[str, str]
    tools: tuple[str, ...] | None
    not_possible: tuple[str, ...]
    mended: tuple[str, ...] = ()
    helped: Mapping[str, str] = field(default_factory=dict)
    past: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    expect: Expectation

    @property
    def is_exercise(self) -> bool:
        """Whether it names the one answer a learner can be held to, not only what is accepted."""
        return self.expect.checks_next


@dataclass(frozen=True, kw_only=True)
class CaseReading:
    """A number from a meter with the conditions it was taken under."""

    quantity: Quantity
    conditions: Mapping[str, str | Quantity]

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Tell the reading from its conditions, which stand beside it."""
        conditions = {key: one for key, one in raw.items() if key not in {"value", "unit"}}
        return {"quantity": {"value": raw["value"], "unit": raw["unit"]}, "conditions": conditions}


@dataclass(frozen=True, kw_only=True)
class Sum(Described):
    """Arithmetic an owner needs.

    `document` is the whole entry as plain values, which is what the formulas work on.
    """

    group: str
    question: str
    formula: str
    next_check: str | None
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    document: Mapping[str, Any]

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Keep the whole entry beside what is read of it."""
        return {**raw, "document": raw}


@dataclass(frozen=True, kw_only=True)
class Source:
    """A publication. `mark` is published or second-hand, `seen` how much was read."""

    id: str
    title: str
    section: str
    publisher: str
    year: int | None
    mark: str
    seen: str
    note: str


# What a catalogue may hold.
Entry = Symptom | Cause | Check | Gauge | Context | Sum | Case | Source | Monitor | Inspection
