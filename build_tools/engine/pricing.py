"""Which checks can be made now, and what checks, repairs and a workshop cost.

A check whose prerequisite has no result is offered through it, one whose prerequisite came
out worse through what the catalogue names instead. What follows from the prices is planned in
`planning`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.engine.abilities import check_requires
from build_tools.engine.one_look import reads_codes

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from build_tools.engine.cases import CarCase
    from build_tools.engine.findings import Findings
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Cause, Check, Need

HOUR_VALUE: Final = 15.0
UNRESOLVED_COST: Final = 275.0
"""What finding out in a workshop costs: our estimate. Its fee, the way there, a morning without
the car, and the share of first findings that prove wrong."""
WORKSHOP_MINUTE: Final = 2.0
WAITING_HOUR: Final = 0.5
"""What an hour of waiting costs: our estimate. The owner does other things meanwhile, but a
night without the car must not count as nothing."""
WAITED_AT_MOST: Final = 24.0
"""Hours of waiting that cost: our estimate. A trial of some days is made with the car in use."""
_LIKELY: Final = 0.5
_BATTERY: Final = "battery"


@dataclass(frozen=True)
class Offer:
    """A check that can be made: what to do first, and what all of it costs.

    `before` lists the checks that come first, in order, and `first` is the one to make now:
    the check itself when nothing comes before it. `instead` is true when `first` is there
    because a prerequisite came out worse than the check allows.
    """

    check: str
    first: str
    before: tuple[str, ...]
    cost: float
    instead: bool


def hour_value(case: CarCase) -> float:
    """Return the reader's price of an hour."""
    return HOUR_VALUE if case.hour_value is None else case.hour_value


def waited(hours: float) -> float:
    """Return the hours of one wait that cost something."""
    return min(hours, WAITED_AT_MOST)


def check_cost(check: Check, hour_value: float) -> float:
    """Return what a check costs: money, minutes at the reader's price of an hour, and waiting.

    A helper's minutes count as the owner's.
    """
    effort = check.effort
    minutes = effort.minutes * 2 if effort.needs_helper else effort.minutes
    return effort.money + minutes * hour_value / 60 + waited(effort.wait_hours) * WAITING_HOUR


def repair_cost(cause: Cause, hour_value: float) -> float:
    """Return what a repair costs: the middle of the part's price, the work and the waiting.

    In a workshop a minute costs 2 units of money (our estimate), at home the reader's own.
    """
    repair = cause.repair
    if repair.who == "workshop":
        return workshop_bill(cause)
    waiting = waited(repair.wait_hours) * WAITING_HOUR
    return repair.price.middle + repair.minutes * hour_value / 60 + waiting


def workshop_bill(cause: Cause) -> float:
    """Return what a workshop asks to put a cause right, once it is found."""
    return cause.repair.price.middle + cause.repair.minutes * WORKSHOP_MINUTE


def puts_right(catalogue: Catalogue) -> dict[str, frozenset[str]]:
    """Return, for each cause, all that its repair puts right.

    The same part mends every cause that asks for it, and a new battery comes charged: it
    puts right every cause of the battery that nothing else is bought for.
    """
    by_part: dict[str, set[str]] = {}
    charged = {
        name
        for name, cause in catalogue.causes.items()
        if cause.group == _BATTERY and cause.repair.part is None
    }
    for name, cause in catalogue.causes.items():
        if cause.repair.part is not None:
            by_part.setdefault(cause.repair.part, set()).add(name)
    by_part.setdefault(_BATTERY, set()).update(charged)
    return {
        name: frozenset({name} | by_part.get(cause.repair.part or "", set()))
        for name, cause in catalogue.causes.items()
    }


class Offers:
    """The offers of one case; `worse` predicts P(a check comes out above a level)."""

    def __init__(
        self,
        catalogue: Catalogue,
        case: CarCase,
        findings: Findings,
        worse: Callable[[str, int], float],
    ) -> None:
        self._catalogue = catalogue
        self._case = case
        self._results: Mapping[str, tuple[float, ...]] = findings.results
        self._abilities = findings.abilities
        self._answers = findings.answers
        self._unnamed = findings.unnamed
        self._worse = worse
        # What a line takes for good, no look gives back.
        lines = catalogue.vocabulary.stop_lines
        self._taken = {
            ability
            for one in findings.stop_now
            if not one.until_looked
            for ability in lines[one.id].takes_away
        }
        self._families = {
            catalogue.symptoms[name].family
            for name in (*case.symptoms, *case.past)
            if name in catalogue.symptoms and catalogue.symptoms[name].role == "complaint"
        }
        self._hour = hour_value(case)

    def all(self) -> dict[str, Offer]:
        """Return every check that can be made now or after its prerequisites, by id."""
        offers: dict[str, Offer] = {}
        for name in self._catalogue.checks:
            if (path := self._path(name, ())) is not None:
                steps, cost, instead = path
                offers[name] = Offer(name, steps[0], steps[:-1], cost, instead)
        return offers

    def _open(self, name: str) -> bool:
        case = self._case
        check = self._catalogue.checks.get(name)
        if check is None or name in self._results or name in (*case.not_possible, *self._unnamed):
            return False
        if self._abilities.missing(check_requires(check)) is not None:
            return False
        if any(self._answers.get(one) in words for one, words in check.told_by.items()):
            return False
        if not self._fits(check) or self._lists_nothing(check):
            return False
        given_back = check.levels[0].allows
        if given_back and self._taken.issuperset(given_back):
            return False
        return case.tools is None or all(tool in case.tools for tool in check.tools)

    def _fits(self, check: Check) -> bool:
        """Say whether the check makes sense for what was noticed.

        Where nothing was, what is meant for certain complaints alone does not, unless it goes on
        from a result.
        """
        if not self._families:
            follows = any(need.check in self._results for need in check.needs)
            return follows or not check.only_with or bool(check.only_for)
        limited = check.only_for or check.only_with
        return (
            not limited
            or not self._families.isdisjoint(check.only_for)
            or not set(check.only_with).isdisjoint(self._case.symptoms)
        )

    def _lists_nothing(self, check: Check) -> bool:
        """Say whether the check reads a list of codes that came out empty."""
        results = [self._results.get(need.check) for need in check.needs]
        return reads_codes(check) and any(one and one[0] >= _LIKELY for one in results)

    def _path(
        self, name: str, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        """Return the checks to make, ending with `name`, their cost, and how they begin."""
        if name in above or not self._open(name):
            return None
        check = self._catalogue.checks[name]
        steps: tuple[str, ...] = ()
        cost = check_cost(check, self._hour)
        instead = False
        for need in check.needs:
            found = self._meet(need, (*above, name))
            if found is None:
                return None
            more, extra, through_other = found
            instead = instead or (through_other and not steps)
            steps += tuple(step for step in more if step not in steps)
            cost += extra
        return (*steps, name), cost, instead

    def _meet(
        self, need: Need, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        """Return what meets a prerequisite: nothing, the check itself, or the one instead."""
        if need.check not in self._catalogue.checks:
            return (), 0.0, False
        at_most = self._at_most(need)
        weights = self._results.get(need.check)
        if weights is None:
            return self._meet_unmade(need, at_most, above)
        if at_most is None or sum(weights[: at_most + 1]) >= _LIKELY:
            return (), 0.0, False
        if need.otherwise is None:
            return None
        done = self._results.get(need.otherwise)
        if done is not None:
            # Its best level mends what was amiss; any other leaves the check unfit to make.
            return ((), 0.0, False) if done[0] >= _LIKELY else None
        path = self._path(need.otherwise, above)
        return None if path is None else (path[0], path[1], True)

    def _meet_unmade(
        self, need: Need, at_most: int | None, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        path = self._path(need.check, above)
        if path is None:
            return None
        steps, cost, instead = path
        if at_most is not None and need.otherwise is not None:
            other = self._path(need.otherwise, (*above, need.check))
            if other is not None:
                cost += self._worse(need.check, at_most) * other[1]
        return steps, cost, instead

    def _at_most(self, need: Need) -> int | None:
        levels = [level.id for level in self._catalogue.checks[need.check].levels]
        if need.at_most is None or need.at_most not in levels:
            return None
        return levels.index(need.at_most)
