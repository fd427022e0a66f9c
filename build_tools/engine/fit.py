"""How surprising the results are together, and which fits least.

Each result is foretold from the complaints and the results before it, as a sequential monitor does
(Dawid 1984; Cowell, Dawid and Spiegelhalter 1993, from memory). Minus the logarithm of what was
foretold for it is its surprise; they add up to the logarithm of the evidence given the complaints.
What such a sum comes to when the model is right follows from the same foretold chances, level by
level, so the share of such cases that surprise as much is known without any table. Complaints
are not judged: nobody comes without one.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from build_tools.engine.diagnosis import Diagnosis
from build_tools.engine.noisy_max import FrontierTooWide, foretell

BAD_FIT: Final = 0.005
"""Share of cases below which results are said to hardly fit: one in two hundred, our choice.

Cases that people bring are odder than the model's own draws: of the worked cases none is below
one in fifty."""

WORK_LIMIT: Final = 1_500_000
"""Numbers these sums may go through; past it nothing is said. About 0.2 s in Python."""

_LEAST_LIMIT: Final = 3_000_000
"""The same for naming the result that fits least, which is asked only where they fit badly."""

_STEP: Final = 0.05
_LEAST: Final = 1e-12


@dataclass(frozen=True)
class Fit:
    """How the results fit together.

    `chance` is the share of cases like this, were the model right, whose results surprise as
    much. `bad` says that it is too small to be taken for chance; then `least` is the check whose
    result the others foretell least.
    """

    chance: float
    bad: bool
    least: str | None


class _Foretold:
    """Foretells one finding from others, counting the work."""

    def __init__(self, diagnosis: Diagnosis, limit: int) -> None:
        self._limit = limit
        self._network = diagnosis.network
        self._odds = diagnosis.findings.odds
        self.work = 0

    def chances(self, name: str, others: Mapping[str, Sequence[float]]) -> list[float] | None:
        """Return P(level | others) for each level; None past the bound of work."""
        try:
            shares, work = foretell(self._network, self._odds, others, name)
        except FrontierTooWide:
            return None
        self.work += work
        return None if self.work > self._limit else [max(_LEAST, one) for one in shares]


def judge_fit(diagnosis: Diagnosis) -> Fit | None:
    """Judge how the results of a case fit together; None past the bound of work."""
    findings, evidence = diagnosis.findings, diagnosis.findings.evidence
    if diagnosis.work > WORK_LIMIT:
        return None
    made = [name for name in evidence if name in findings.results]
    known: dict[str, Sequence[float]] = {
        name: weights for name, weights in evidence.items() if name not in findings.results
    }
    foretold = _Foretold(diagnosis, WORK_LIMIT)
    surprise = 0.0
    spread = [1.0]
    for name in made:
        chances = foretold.chances(name, known)
        if chances is None:
            return None
        steps = [_steps(chance) for chance in chances]
        weights = evidence[name]
        for step, weight in zip(steps, weights, strict=True):
            surprise += step * weight
        spread = _with(spread, steps, chances)
        known[name] = weights
    # Whole steps that reach what was seen, less a little for a reading between two levels.
    reached = math.ceil(surprise - 1e-6)
    chance = min(1.0, sum_of(spread[reached:]))
    if chance >= BAD_FIT:
        return Fit(chance, bad=False, least=None)
    return Fit(chance, bad=True, least=_least(diagnosis, made))


def _least(diagnosis: Diagnosis, made: Sequence[str]) -> str | None:
    """Return the check whose result the others foretell least; None past the bound of work."""
    evidence = diagnosis.findings.evidence
    found: list[tuple[float, str]] = []
    foretold = _Foretold(diagnosis, _LEAST_LIMIT)
    for name in made:
        others = {other: weights for other, weights in evidence.items() if other != name}
        chances = foretold.chances(name, others)
        if chances is None:
            return None
        seen = 0.0
        for chance, weight in zip(chances, evidence[name], strict=True):
            seen += chance * weight
        # Against the likeliest level: a result that is one of many is not odd for that.
        found.append((round(math.log(seen / max(chances)), 9), name))
    return min(found)[1] if found else None


def _steps(chance: float) -> int:
    return math.floor(-math.log(chance) / _STEP + 0.5)


def _with(spread: Sequence[float], steps: Sequence[int], chances: Sequence[float]) -> list[float]:
    """Add one more result to the spread of surprises, in whole steps."""
    after = [0.0] * (len(spread) + max(steps))
    for step, chance in zip(steps, chances, strict=True):
        for place, share in enumerate(spread):
            after[place + step] += share * chance
    return after


def sum_of(numbers: Sequence[float]) -> float:
    """Add up one by one, as the browser does."""
    total = 0.0
    for one in numbers:
        total += one
    return total
