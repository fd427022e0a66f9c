"""Room 2: say what a check is: its steps, its levels and which causes shift them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.likelihood import Likelihood


@dataclass(frozen=True, kw_only=True)
class Effort:
    """Hold what a check costs: minutes, money in `currency`, skill, a second person."""

    minutes: float
    money: float
    currency: str
    skill: str
    needs_helper: bool
    source: str


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
    """Hold one action, the hazard to read before it, and the mark of a figure in it."""

    do: str
    caution: str | None
    source: str | None = None


@dataclass(frozen=True, kw_only=True)
class Level:
    """Hold one outcome of a check.

    Level 0 is what a car without any modelled cause shows. `bands` are the gauge bands
    that mean this level. `proves` says the check's aspects are proven by it.
    """

    id: str
    label: str
    means: str
    bands: tuple[str, ...]
    proves: bool
    stop_now: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Shift:
    """Say how one cause moves a check: level id -> P(at least this level | only it).

    A level left out is one the cause does not produce.
    """

    cause: str
    at_least: Mapping[str, Likelihood]
    why: str | None


@dataclass(frozen=True, kw_only=True)
class Check:
    """Hold something one can do in the driveway that tells causes apart.

    `aspects` are the sides of the supply a normal result proves. `sources` are the marks of
    figures in its sentences, beyond those of its gauge, and `note` says more about them.
    `only_for` names the families of complaints the check makes sense for; empty means all.
    `unprompted` maps every level above the first to P(at least this level | no modelled cause).
    """

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    aspects: tuple[str, ...]
    tools: tuple[str, ...]
    effort: Effort
    cautions: tuple[str, ...]
    needs: tuple[Need, ...]
    only_for: tuple[str, ...] = ()
    steps: tuple[Step, ...]
    drawing: str | None
    gauge: str | None
    conditions: tuple[str, ...]
    levels: tuple[Level, ...]
    cannot_tell: str
    sources: tuple[str, ...] = ()
    note: str | None = None
    unprompted: Mapping[str, Likelihood]
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
