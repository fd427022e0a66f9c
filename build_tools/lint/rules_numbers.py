"""Room 4: judge probabilities."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from build_tools.knowledge.entries import Check, Entry, Gauge, Likelihood
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.references import Pattern, matches
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.yaml_reader import KeyPath
    from build_tools.lint.judged import Judged

OUT_OF_RANGE = Complaint(
    "NUM301", "probability-range", Severity.ERROR, "the inference cannot use it"
)
CERTAIN = Complaint(
    "NUM302",
    "probability-certain",
    Severity.WARNING,
    "one wrong finding would rule a cause out for ever, or in",
)
BAD_SUM = Complaint(
    "NUM303",
    "distribution",
    Severity.ERROR,
    "the checker would weigh more or less than the whole",
)
NO_LEAK = Complaint(
    "NUM304",
    "leak-missing",
    Severity.ERROR,
    "a finding could never show by chance, and one odd result would decide everything",
)
_SLACK = 1e-6
_LIKELIHOODS: Mapping[str, tuple[Pattern, ...]] = {
    "symptom": (("unprompted",), ("causes", "*", "how_often")),
    "cause": (("how_common",),),
    "check": (("unprompted", "*"), ("shifts", "*", "at_least", "*")),
}


def _marked_numbers(
    kind: str, entry: Entry, judged: Judged
) -> Iterator[tuple[KeyPath, dict[str, object], float]]:
    value = judged.catalogue.documents[kind, entry.id].value
    for pattern in _LIKELIHOODS[kind]:
        for path, raw in matches(value, pattern):
            if isinstance(raw, dict) and isinstance(raw.get("value"), int | float):
                yield path, raw, float(raw["value"])


def _kind_of(entry: Entry) -> str:
    return type(entry).__name__.lower()


def check_probability_range(entry: Entry, judged: Judged) -> Iterator[Problem]:
    """NUM301 probability-range: a likelihood is a fraction between 0 and 1.

    Why: the inference cannot use anything else.

    Mend: write a fraction and name its source. Percent signs are not used.

    Bad:   how_often: {value: 35, source: our-estimate}
    Good:  how_often: {value: 0.35, source: our-estimate}
    """
    kind = _kind_of(entry)
    for path, _, value in _marked_numbers(kind, entry, judged):
        if not 0 <= value <= 1:
            what = f"likelihood {value:g} is not between 0 and 1"
            part = value / 100
            mend = f"write a fraction, perhaps {part:g}" if 0 < part < 1 else "write a fraction"
            yield judged.problem(OUT_OF_RANGE, (kind, entry.id, (*path, "value")), what, mend)


def check_probability_certain(entry: Entry, judged: Judged) -> Iterator[Problem]:
    """NUM302 probability-certain: exactly 0 or 1 needs `certain_because`.

    Why: after a certain likelihood no later finding can change anything; a single slip of
    the meter would decide the case.

    Mend: write 0.98 or 0.02, or add `certain_because` with one sentence.

    Bad:   at_least: {fails: {value: 1, source: our-estimate}}
    Good:  at_least: {fails: almost-always}
    """
    kind = _kind_of(entry)
    for path, raw, value in _marked_numbers(kind, entry, judged):
        if value in {0, 1} and not raw.get("certain_because"):
            what = f"likelihood {value:g} leaves no room for doubt"
            mend = "write 0.98 or 0.02, or add `certain_because: ...`"
            yield judged.problem(CERTAIN, (kind, entry.id, (*path, "value")), what, mend)


def check_distributions(entry: Check | Gauge, judged: Judged) -> Iterator[Problem]:
    """NUM303 distribution: assumed weights sum to 1, and worse levels are never likelier.

    The likelihoods in `at_least` and `unprompted` are P(at least this level), so they may
    not rise towards the worse levels, and none in between may be left out.

    Why: the checker would weigh more or less than the whole, or refuse the network.

    Mend: make the weights of `if_unknown` sum to 1; let the worse level's likelihood be no
    higher than the milder one's.

    Bad:   at_least: {dim: seldom, out: usually}
    Good:  at_least: {dim: usually, out: seldom}
    """
    if isinstance(entry, Gauge):
        yield from _judge_weights(entry, judged)
        return
    yield from _judge_order(entry, entry.unprompted, ("unprompted",), judged)
    for number, shift in enumerate(entry.shifts):
        yield from _judge_order(entry, shift.at_least, ("shifts", number, "at_least"), judged)


def _judge_weights(gauge: Gauge, judged: Judged) -> Iterator[Problem]:
    for number, condition in enumerate(gauge.conditions):
        weights = list(condition.weights.values()) or [weight for _, weight in condition.points]
        total = math.fsum(weights)
        if abs(total - 1) > _SLACK:
            what = f'weights of "{condition.id}" sum to {total:g}, not to 1'
            place = ("gauge", gauge.id, ("conditions", number, "if_unknown"))
            yield judged.problem(BAD_SUM, place, what, "change one of them so that they sum to 1")


def _judge_order(
    check: Check, at_least: Mapping[str, Likelihood], path: KeyPath, judged: Judged
) -> Iterator[Problem]:
    milder: tuple[str, float] | None = None
    for level in check.levels[1:]:
        here = at_least.get(level.id)
        if here is None:
            milder = (level.id, 0.0)
            continue
        if milder is not None and here.value > milder[1] + _SLACK:
            gentle = f'the milder "{milder[0]}" ({milder[1]:g})'
            what = f'"{level.id}" ({here.value:g}) is likelier than {gentle}'
            mend = f'give "{milder[0]}" at least the likelihood of "{level.id}"'
            place = ("check", check.id, (*path, level.id))
            yield judged.problem(BAD_SUM, place, what, mend)
        milder = (level.id, here.value)


def check_leak_given(check: Check, judged: Judged) -> Iterator[Problem]:
    """NUM304 leak-missing: every level above the first has an `unprompted` likelihood.

    Why: without it an abnormal result could never come about by chance, and one odd
    reading would decide the case.

    Mend: add the level to `unprompted` with one-in-20, one-in-100 or one-in-500.

    Bad:   unprompted: {}
    Good:  unprompted: {fails: one-in-100}
    """
    for level in check.levels[1:]:
        if level.id not in check.unprompted:
            what = f'level "{level.id}" has no likelihood under `unprompted`'
            mend = f"add `{level.id}: one-in-100` under `unprompted`"
            yield judged.problem(NO_LEAK, ("check", check.id, ("unprompted",)), what, mend)


_WITH_LIKELIHOODS = ("symptom", "cause", "check")
RULES = (
    rule(OUT_OF_RANGE, "entry", check_probability_range, _WITH_LIKELIHOODS),
    rule(CERTAIN, "entry", check_probability_certain, _WITH_LIKELIHOODS),
    rule(BAD_SUM, "entry", check_distributions, ("check", "gauge")),
    rule(NO_LEAK, "entry", check_leak_given, ("check",)),
)
