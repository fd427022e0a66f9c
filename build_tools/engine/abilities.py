"""What the car can and may do, as told by what is known of it.

Everything is taken to be there until something takes it away. In this order, each overruling
what stands before it: what symptoms take away, what they show, what results show or allow
again, what they take away, and stop-now lines, which nothing overrules. What is shown to be
there is there with all it implies; what is allowed again is that alone. It decides nothing
about steps; those say what they require.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from build_tools.engine.cases import CarCase
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Cause, Check, Symptom
    from build_tools.knowledge.vocabulary import Ability

NEAR: Final = "near"
"""To be at the car; whatever is not done away from it requires this beside what it names."""

_REACHED: Final = 0.5

Because = dict[str, Any]


@dataclass(frozen=True)
class Lost:
    """Why an ability is not there: the one it goes back to, and what took that away."""

    root: str
    because: Because


@dataclass(frozen=True)
class Abilities:
    """What is left, and what is lost with its reason; both in the order of the word list."""

    left: tuple[str, ...] = ()
    lost: Mapping[str, Lost] = field(default_factory=dict)

    def missing(self, requires: Iterable[str]) -> Lost | None:
        """Return why a step cannot be taken, None when it can."""
        for one in requires:
            if one in self.lost:
                return self.lost[one]
        return None


def check_requires(check: Check) -> tuple[str, ...]:
    """Return all that making a check requires."""
    return check.requires if check.away else (NEAR, *check.requires)


def repair_requires(cause: Cause) -> tuple[str, ...]:
    """Return all that putting a cause right requires."""
    return (NEAR, *cause.repair.requires)


def abilities_left(
    catalogue: Catalogue,
    case: CarCase,
    results: Mapping[str, tuple[float, ...]],
    stop_lines: Iterable[str],
) -> Abilities:
    """Return what is left of the abilities.

    `results` has a weight per level, adding up to 1, for every check that was made, and
    `stop_lines` the lines that stand.
    """
    words = catalogue.vocabulary.abilities
    closure = implied(words)
    gone: dict[str, Because] = {}

    def show(shown: Iterable[str]) -> None:
        for one in shown:
            for other in closure.get(one, ()):
                gone.pop(other, None)

    _hear_symptoms([one for one in map(catalogue.symptoms.get, case.symptoms) if one], gone, show)
    _hear_results(catalogue, results, gone, show)
    for line in stop_lines:
        taken = catalogue.vocabulary.stop_lines[line].takes_away
        gone |= {one: {"kind": "stop", "line": line} for one in taken}
    lost = {
        one: Lost(root, gone[root])
        for one, others in closure.items()
        if (root := next((other for other in others if other in gone), None)) is not None
    }
    return Abilities(tuple(one for one in words if one not in lost), lost)


def _hear_symptoms(
    symptoms: list[Symptom], gone: dict[str, Because], show: Callable[[Iterable[str]], None]
) -> None:
    for symptom in symptoms:
        gone |= {one: {"kind": "symptom", "symptom": symptom.id} for one in symptom.takes_away}
    for symptom in symptoms:
        show(symptom.shows)


def _hear_results(
    catalogue: Catalogue,
    results: Mapping[str, tuple[float, ...]],
    gone: dict[str, Because],
    show: Callable[[Iterable[str]], None],
) -> None:
    made = [(catalogue.checks[name], weights) for name, weights in results.items()]
    for check, weights in made:
        show(one for one, _ in reached([level.shows for level in check.levels], check, weights))
        for one, _ in reached([level.allows for level in check.levels], check, weights):
            gone.pop(one, None)
    for check, weights in made:
        for one, level in reached([level.takes_away for level in check.levels], check, weights):
            gone[one] = {"kind": "level", "check": check.id, "level": level}


def implied(words: Mapping[str, Ability]) -> dict[str, tuple[str, ...]]:
    """Return, for each ability, all that it takes, itself included, in the order of the list."""
    found: dict[str, tuple[str, ...]] = {}
    for name in words:
        taken: set[str] = set()
        ahead = [name]
        while ahead:
            one = ahead.pop()
            if one in words and one not in taken:
                taken.add(one)
                ahead += words[one].implies
        found[name] = tuple(one for one in words if one in taken)
    return found


def reached(
    named: list[tuple[str, ...]], check: Check, weights: tuple[float, ...]
) -> Iterator[tuple[str, str]]:
    """Yield each thing named whose levels together carry half the weight, with the likeliest."""
    for one in dict.fromkeys(one for each in named for one in each):
        places = [place for place, each in enumerate(named) if one in each]
        if sum(weights[place] for place in places) >= _REACHED:
            yield one, check.levels[max(places, key=weights.__getitem__)].id
