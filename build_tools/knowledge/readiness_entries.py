"""Room 2: inspection rules and monitors as frozen objects.

What symptoms/inspections and symptoms/monitors say, with the mark of every figure kept. It
applies no rule (see obd/inspection.py) and reads no file (see structure.py).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

# How a figure was seen, best first; a verdict is as sure as the worst mark it rests on.
INSPECTION_MARKS: Final = ("own", "own-mirror", "programme", "second-hand", "from-memory")


@dataclass(frozen=True, kw_only=True)
class Described:
    """What every entry that has a page of its own says about itself."""

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    read_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Said:
    """A sentence with the mark of where it was seen."""

    says: str
    mark: str


@dataclass(frozen=True)
class Taken:
    """One kind of vehicle a program takes; no fuels means any, weights in pounds.

    Ages are in years: the year of the test less the model year, both ends included.
    """

    fuels: tuple[str, ...] = ()
    from_year: int | None = None
    most_pounds: int | None = None
    from_age: int | None = None
    to_age: int | None = None


@dataclass(frozen=True)
class Scope:
    """Which vehicles a program takes: a sentence with its mark, and the same for a check."""

    says: str
    mark: str
    takes: tuple[Taken, ...] = ()


@dataclass(frozen=True)
class Citation:
    """Name one text a rule rests on."""

    title: str
    section: str
    publisher: str
    date: str | None
    mark: str


@dataclass(frozen=True)
class YearBand:
    """Say how many monitors may be incomplete for a range of model years.

    Both years belong to the band; None is open. `allowed_only` names the only monitors that may
    be incomplete. `also_allowed` is what another account says where accounts differ.
    """

    fuels: tuple[str, ...]
    from_year: int | None
    to_year: int | None
    allowed: int
    mark: str
    allowed_only: tuple[str, ...] | None = None
    also_allowed: int | None = None
    note: Said | None = None


@dataclass(frozen=True)
class ForcedReady:
    """Name monitors that must be complete whatever the count allows.

    `when`: "always"; "code" (a retest after a code in the range); "lamp-code" (a retest: the
    monitors of the codes that lit the lamp, or those of them that are named); "repair" (a
    retest after that part was repaired).
    """

    when: str
    mark: str
    monitors: tuple[str, ...] = ()
    first_code: str | None = None
    last_code: str | None = None


@dataclass(frozen=True)
class Transition:
    """A newer, stricter rule that is being brought in."""

    since: str
    allowed: int
    says: str
    mark: str


@dataclass(frozen=True)
class Exemption:
    """Say when a permanent code is left out of account."""

    warm_ups: int
    distance_km: float
    from_year: int
    mark: str


@dataclass(frozen=True)
class PermanentCode:
    """Say what a permanent code does. `policy`: "fails" or "not-seen"."""

    policy: str
    mark: str
    exemption: Exemption | None = None


@dataclass(frozen=True)
class Outcome:
    """Say what a place calls the result and what it means for the owner."""

    result: str
    says: str
    mark: str


@dataclass(frozen=True)
class LampRule:
    """Say what the engine lamp and stored codes do.

    `without_code`: the result when the lamp is commanded on with no code counted.
    `stored_code_unclear`: the text seen leaves open whether a code with the lamp off fails.
    `federal`: no lamp rule of the place's own was seen, and 40 CFR 85.2207 is applied.
    """

    mark: str
    without_code: str = "undecided"
    stored_code_unclear: bool = False
    federal: bool = False


@dataclass(frozen=True, kw_only=True)
class Inspection(Described):
    """One place's rule about readiness, or the fact that none was seen.

    `standing`: "sourced", "guidance", "in-transition", "historic" or "no-sourced-rule".
    `costs`: what too many incomplete ones cost; `get_ready`: how to get them done there;
    `ways_out`: waivers, more time, exceptions for little use. Empty: no text was seen.
    """

    standing: str
    country: str
    scope: Scope
    authority: str
    ask: tuple[str, ...]
    seen: str
    text_date: str | None
    citations: tuple[Citation, ...]
    lamp: LampRule
    bands: tuple[YearBand, ...] = ()
    transition: Transition | None = None
    not_ready: Outcome | None = None
    extension: Said | None = None
    forced_ready: tuple[ForcedReady, ...] = ()
    permanent_code: PermanentCode | None = None
    no_answer: Outcome | None = None
    not_tested: Said | None = None
    counts_unsupported: bool = False
    costs: tuple[Said, ...] = ()
    get_ready: tuple[Said, ...] = ()
    ways_out: tuple[Said, ...] = ()
    says: tuple[Said, ...] = ()


@dataclass(frozen=True)
class Sourced:
    """A sentence with a source id or one of the marks for what has none."""

    says: str
    source: str


@dataclass(frozen=True)
class Condition:
    """Say what a trip must have had for a monitor to run, as a metric of the trip log.

    At least one of the limits is set; both belong to what is wanted.
    """

    metric: str
    source: str
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True)
class CodeRange:
    """Name the codes that belong to a monitor, both ends included."""

    first: str
    last: str
    source: str


@dataclass(frozen=True)
class Blocker:
    """Name a cause that can keep a monitor from finishing, and why."""

    cause: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Monitor(Described):
    """Describe one readiness monitor.

    `symptom` is the one an owner would choose when it stays incomplete without a code, and
    `code_symptom` when a code of its own is there; a readout is told to the engine as these.
    """

    engines: tuple[str, ...]
    continuous: bool
    counted: bool
    looks_at: Sourced
    needs: tuple[Sourced, ...]
    voltage_link: Sourced | None
    conditions: tuple[Condition, ...]
    segments: tuple[str, ...]
    after: tuple[str, ...]
    codes: tuple[CodeRange, ...]
    blockers: tuple[Blocker, ...]
    symptom: str | None = None
    code_symptom: str | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Readiness:
    """All monitors and inspection rules by id, sorted by id."""

    monitors: Mapping[str, Monitor]
    inspections: Mapping[str, Inspection]
