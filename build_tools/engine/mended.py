"""What a repair, or a result that changed the car, does to a case.

A case has no clock: what it tells is taken to hold now. So a result that changed the car, such as
a full charge, sets the abnormal results aside that it touches, unless they were told to be from
after it; and mending a cause takes away the results of every check that the cause shifts. What
is measured again counts as usual. A cause mended without any change is as good as ruled out, but
not wholly: a new part can be bad, and a repair can miss. One whose repair helped is likelier.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from build_tools.engine.abilities import reached

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.cases import CarCase
    from build_tools.engine.network import Network
    from build_tools.knowledge.catalogue import Catalogue

SAME, BETTER, GONE, ENDED = "same", "better", "gone", "ended"
HOW_IT_HELPED: Final = (BETTER, GONE)

# Our estimates. About one repair in fifty does not hold. Trouble that comes and goes may stay
# away by itself after a repair, in about one case in twenty, and an owner finds a car somewhat
# better in about one of three whatever was done to it. A result that shows the end has had its say.
REPAIR_TIMES: Final = {SAME: 0.02, BETTER: 3.0, GONE: 20.0, ENDED: 1.0}

_HALF: Final = 0.5


@dataclass(frozen=True)
class SetAside:
    """A result that no longer stands, and the check and level that changed the car after it."""

    check: str
    by: str
    level: str


def set_aside(
    catalogue: Catalogue, case: CarCase, results: Mapping[str, tuple[float, ...]]
) -> tuple[SetAside, ...]:
    """List the results that another one has overtaken, in the order of the results.

    A normal result stands beside a change for the better, and so does what was told again.
    """
    found: dict[str, SetAside] = {}
    for name, weights in results.items():
        check = catalogue.checks[name]
        for other, level in reached([one.resets for one in check.levels], check, weights):
            abnormal = sum(results.get(other, ())[1:]) >= _HALF
            if abnormal and other not in case.again:
                found.setdefault(other, SetAside(other, name, level))
    return tuple(found[name] for name in results if name in found)


def repairs_told(
    catalogue: Catalogue, case: CarCase, results: Mapping[str, tuple[float, ...]]
) -> dict[str, str]:
    """Return what became of the trouble after each repair, by cause: same, better, gone, ended.

    A result that puts a cause right counts as its repair; unless it shows that the trouble has
    ended, what was noticed is taken to be there still.
    """
    told = dict.fromkeys(case.mended, SAME) | dict(case.helped)
    for name, weights in results.items():
        check = catalogue.checks[name]
        for cause, _ in reached([one.mends for one in check.levels], check, weights):
            told.setdefault(cause, SAME)
        for cause, _ in reached([one.ends for one in check.levels], check, weights):
            told.setdefault(cause, ENDED)
    return {name: told[name] for name in sorted(told) if name in catalogue.causes}


def repaired_odds(
    catalogue: Catalogue, odds: Mapping[str, float], repairs: Mapping[str, str]
) -> dict[str, float]:
    """Return the odds after repairs; a new part in vain speaks for every cause that asks for it."""
    times = {name: REPAIR_TIMES[how] for name, how in repairs.items()}
    parts = {catalogue.causes[name].repair.part for name, how in repairs.items() if how == SAME}
    for name, cause in catalogue.causes.items():
        if cause.repair.part is not None and cause.repair.part in parts:
            times.setdefault(name, REPAIR_TIMES[SAME])
    return {name: one * times.get(name, 1.0) for name, one in odds.items()}


def answers_after(
    catalogue: Catalogue, case: CarCase, repairs: Iterable[str], answers: Mapping[str, str]
) -> dict[str, str]:
    """Return the answers as repairs leave them, such as the age of a battery that is new."""
    after = dict(answers)
    for name in repairs:
        sets = catalogue.causes[name].repair.sets
        after |= {context: word for context, word in sets.items() if context not in case.again}
    return {name: after[name] for name in sorted(after)}


def checks_shifted_by(catalogue: Catalogue, network: Network, cause: str) -> tuple[str, ...]:
    """List, by id, the checks whose results say something about a cause.

    Those with a link from the cause, and those that confirm it; one that is its repair is none.
    """
    confirming = {one.check for one in catalogue.causes[cause].confirmed_by}
    linked = {one.id for one in network.findings if cause in one.links}
    is_repair = {
        name
        for name, check in catalogue.checks.items()
        if any(cause in (*level.mends, *level.ends) for level in check.levels)
    }
    found = (confirming | linked) & catalogue.checks.keys()
    return tuple(sorted(found - is_repair))


def mend(
    catalogue: Catalogue, network: Network, case: CarCase, cause: str, how: str = SAME
) -> CarCase:
    """Return the case after a repair, and what became of the trouble.

    Results of checks the cause shifts are taken away, unless the trouble is gone: then they
    tell what it was.

    Raises:
        KeyError: if there is no such cause.
    """
    gone = set() if how == GONE else set(checks_shifted_by(catalogue, network, cause))
    helped = {name: one for name, one in case.helped.items() if name != cause}
    mended = tuple(one for one in case.mended if one != cause)
    return replace(
        case,
        readings={name: one for name, one in case.readings.items() if name not in gone},
        outcomes={name: one for name, one in case.outcomes.items() if name not in gone},
        mended=(*mended, cause) if how == SAME else mended,
        helped=helped if how == SAME else {**helped, cause: how},
    )
