"""Room 4: judge whether the findings can tell the causes apart at all."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.knowledge.entries import Symptom
    from build_tools.lint.judged import Judged

UNRAISED = Complaint(
    "REA701",
    "cause-never-raised",
    Severity.ERROR,
    "whatever the reader finds, this cause never comes into view",
)
INSEPARABLE = Complaint(
    "REA702",
    "causes-inseparable",
    Severity.WARNING,
    "the reader is left with two causes and nothing to tell them apart",
)
IDLE_CHECK = Complaint(
    "REA703",
    "check-moves-nothing",
    Severity.WARNING,
    "the reader does a check whose outcome changes nothing for this symptom",
)


def check_cause_can_rise(judged: Judged) -> Iterator[Problem]:
    """REA701 cause-never-raised: some finding makes every cause likelier.

    Why: a cause no symptom and no check speaks for stays where it began, and is a page
    nobody is led to.

    Mend: link it from a symptom with `how_often`, or give a check a shift for it.

    Bad:   a cause that stands in no symptom's `causes` and no check's `shifts`
    Good:  causes: [{cause: drive-belt-slipping, how_often: often, ...}]
    """
    spoken_for = {
        link.cause for symptom in judged.catalogue.symptoms.values() for link in symptom.causes
    } | {shift.cause for check in judged.catalogue.checks.values() for shift in check.shifts}
    for key in judged.catalogue.causes:
        if key not in spoken_for:
            what = f'no symptom and no check makes "{key}" likelier'
            mend = "link it from a symptom, or give a check a shift for it"
            yield judged.problem(UNRAISED, ("cause", key, ("id",)), what, mend)


def check_causes_separable(judged: Judged) -> Iterator[Problem]:
    """REA702 causes-inseparable: some check tells two causes of one symptom apart.

    Two causes are told apart when a check has different shifts for them. A pair that is
    known to be inseparable is named under `confused_with` with `told_apart_by: null`.

    Why: the reader would be left with both and nothing more to do.

    Mend: add or change a check's `shifts`, or name the pair under `confused_with`.

    Bad:   two causes of one symptom that no check mentions
    Good:  shifts: [{cause: starter-worn, at_least: {no-difference: usually}}]
    """
    profiles = {key: _profile(key, judged) for key in judged.catalogue.causes}
    told: set[tuple[str, str]] = set()
    for symptom in judged.catalogue.symptoms.values():
        linked = sorted({link.cause for link in symptom.causes} & profiles.keys())
        for one, other in combinations(linked, 2):
            if (one, other) in told or profiles[one] != profiles[other]:
                continue
            told.add((one, other))
            if not _is_known_pair(one, other, judged):
                what = f'no check tells "{one}" and "{other}" apart'
                mend = "give a check different shifts for them, or name the pair in `confused_with`"
                yield judged.problem(INSEPARABLE, ("cause", one, ("id",)), what, mend)


def _profile(cause: str, judged: Judged) -> tuple[object, ...]:
    return tuple(
        (key, tuple((level, one.value) for level, one in sorted(shift.at_least.items())))
        for key, check in judged.catalogue.checks.items()
        for shift in check.shifts
        if shift.cause == cause
    )


def _is_known_pair(one: str, other: str, judged: Judged) -> bool:
    causes = judged.catalogue.causes
    return any(
        alike.cause == second and alike.told_apart_by is None
        for first, second in ((one, other), (other, one))
        for alike in causes[first].confused_with
    )


def check_checks_move_causes(symptom: Symptom, judged: Judged) -> Iterator[Problem]:
    """REA703 check-moves-nothing: a check listed for a symptom moves one of its causes.

    Preparations with a single outcome are left alone.

    Why: the reader does the work, and nothing changes.

    Mend: give the check a shift for one of the symptom's causes, or list another check.

    Bad:   checks: [check-fuel-level] under a cause no fuel level speaks for
    Good:  checks: [measure-resting-voltage]
    """
    linked = {link.cause for link in symptom.causes}
    for number, link in enumerate(symptom.causes):
        for place, name in enumerate(link.checks):
            check = judged.catalogue.checks.get(name)
            if check is None or len(check.levels) == 1:
                continue
            if not linked & {shift.cause for shift in check.shifts}:
                what = f'check "{name}" moves no cause of this symptom'
                where = ("symptom", symptom.id, ("causes", number, "checks", place))
                mend = f"add `{link.cause}` to its `shifts`, or list another check"
                yield judged.problem(IDLE_CHECK, where, what, mend)


RULES = (
    rule(UNRAISED, "catalogue", check_cause_can_rise),
    rule(INSEPARABLE, "catalogue", check_causes_separable),
    rule(IDLE_CHECK, "entry", check_checks_move_causes, ("symptom",)),
)
