"""Room 4: judge the advice that comes of the knowledge, case by case and complaint by complaint.

These rules ask the reasoning, so they take seconds where the others take none. They say
nothing while the files have errors: advice from a catalogue with holes would mislead.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from build_tools.engine.cases import CarCase, case_document, read_case
from build_tools.engine.noisy_max import (
    WIDTH_LIMIT,
    ContradictoryEvidence,
    FrontierTooWide,
    frontier_width,
)
from build_tools.engine.supply import is_supply_cause
from build_tools.engine.triage import stand
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.engine.network import Network
    from build_tools.engine.triage import Standing
    from build_tools.knowledge.entries import Case, Symptom
    from build_tools.knowledge.record_entries import Expectation
    from build_tools.lint.judged import Judged

OTHER_ADVICE = Complaint(
    "CAS802",
    "case-advice-differs",
    Severity.ERROR,
    "the owner of such a car would get other advice than the author of the case holds right",
)
TOO_MUCH_WORK = Complaint(
    "REA704",
    "too-much-work",
    Severity.ERROR,
    "a reader who makes these checks would be told that the findings are too entangled",
)
SUPPLY_LATER = Complaint(
    "REA705",
    "supply-not-first",
    Severity.WARNING,
    "the reader is led past the supply, though it often makes this complaint",
)
MOST_CHECKS = 8
"""Checks of one complaint that must be workable with abnormal results at once; our choice."""

OFTEN = 0.35
_SLACK = 1e-9


def check_case_advice(case: Case, judged: Judged) -> Iterator[Problem]:
    """CAS802 case-advice-differs: a worked case gets the advice that its author expects.

    Compared are the group and the cause among the first three, the state of the supply, the
    first next check and the stop-now lines, as far as `expect` names them. For a draft a
    difference is a warning.

    Why: a case is a promise. A number changed elsewhere must not break it unseen.

    Mend: look with `python -m build_tools try ID`. If the new advice is better, say so and
    change `expect`; otherwise look at the number that was changed.

    Bad:   expect: {next: load-test-battery}     (the advice is measure-resting-voltage)
    Good:  expect: {next: measure-resting-voltage}
    """
    if judged.network is None:
        return
    car, problems = read_case(case_document(case), judged.catalogue)
    if problems:
        what = f"`{problems[0].path}` cannot be used: {problems[0].what}"
        yield judged.problem(OTHER_ADVICE, ("case", case.id, ("id",)), what, problems[0].mend)
        return
    try:
        standing = stand(judged.catalogue, judged.network, car)
    except (ContradictoryEvidence, FrontierTooWide) as error:
        mend = "look whether a level is written that cannot go with the others"
        yield judged.problem(OTHER_ADVICE, ("case", case.id, ("id",)), str(error), mend)
        return
    for field, what, mend in differences(case.expect, standing):
        place = ("case", case.id, ("expect", field))
        found = judged.problem(OTHER_ADVICE, place, what, mend)
        yield found if case.status == "stable" else replace(found, severity=Severity.WARNING)


def differences(expect: Expectation, standing: Standing) -> Iterator[tuple[str, str, str]]:
    """Yield (field, what differs, what to write) for each expectation that does not hold."""
    matter = standing.matter
    ranked = sorted(matter.posteriors, key=lambda name: (-matter.posteriors[name], name))[:3]
    groups = [matter.catalogue.causes[name].group for name in ranked]
    wanted = expect.group_in_first_three
    if wanted and wanted not in groups:
        what = f'group "{wanted}" is not among the first three: {_quoted(groups)}'
        yield "group_in_first_three", what, _mend("group_in_first_three", groups[0])
    wanted = expect.cause_in_first_three
    if wanted and wanted not in ranked:
        what = f'cause "{wanted}" is not among the first three: {_quoted(ranked)}'
        yield "cause_in_first_three", what, _mend("cause_in_first_three", ranked[0])
    if expect.supply and expect.supply != matter.supply.state:
        what = f'the supply is judged "{matter.supply.state}", not "{expect.supply}"'
        yield "supply", what, _mend("supply", matter.supply.state)
    first = standing.offered[0].offer.first if standing.offered else None
    if expect.checks_next and expect.next != first:
        what = f"the first next check is {_named(first)}, not {_named(expect.next)}"
        yield "next", what, _mend("next", first or "null")
    missing = set(expect.stop_now) - {one.id for one in matter.findings.stop_now}
    if missing:
        what = f"stop-now lines are missing: {_quoted(sorted(missing))}"
        yield "stop_now", what, "add the line to the symptom or level that calls for it"


def _mend(field: str, value: str) -> str:
    return f"see why with `try`; if this advice is the better one, write `{field}: {value}`"


def _named(check: str | None) -> str:
    return "none" if check is None else f'"{check}"'


def _quoted(words: list[str]) -> str:
    return ", ".join(f'"{word}"' for word in words)


def check_work_budget(symptom: Symptom, judged: Judged) -> Iterator[Problem]:
    """REA704 too-much-work: the exact sum stays workable with the checks a symptom lists.

    Counted is the widest table for the symptom with the first eight checks under its causes,
    all abnormal, and readings near an edge.

    Why: nothing is cut off silently; past the limit the checker has to say that it cannot.

    Mend: list fewer checks first, or take out links that hardly ever matter.

    Bad:   a symptom whose checks each have shifts for most of its causes
    Good:  checks with shifts for the few causes they are made for
    """
    if judged.network is None:
        return
    listed = dict.fromkeys(check for link in symptom.causes for check in link.checks)
    names = [name for name in listed if name in judged.network.finding_by_id][:MOST_CHECKS]
    evidence = _all_abnormal(judged, judged.network, [symptom.id, *names])
    width = frontier_width(judged.network, evidence)
    if width > WIDTH_LIMIT:
        what = f"its first {len(names)} checks need a table of {width} numbers"
        mend = f"at most {WIDTH_LIMIT} are allowed; take out links that hardly ever matter"
        yield judged.problem(TOO_MUCH_WORK, ("symptom", symptom.id, ("causes",)), what, mend)


def _all_abnormal(
    judged: Judged, network: Network, names: list[str]
) -> dict[str, tuple[float, ...]]:
    """Return evidence that keeps every level of a reading apart, and of others the worst."""
    evidence = {}
    for name in names:
        levels = len(network.finding_by_id[name].levels)
        check = judged.catalogue.checks.get(name)
        if check is not None and check.gauge:
            evidence[name] = tuple((one + 1) / levels for one in range(levels))
        else:
            evidence[name] = (*([0.0] * (levels - 1)), 1.0)
    return evidence


def check_supply_first(symptom: Symptom, judged: Judged) -> Iterator[Problem]:
    """REA705 supply-not-first: a complaint the supply often makes begins with a supply check.

    In scope are complaints with a supply cause that makes them at least sometimes (.35).
    Where another check rightly leads, an exception with its reason says so.

    Why: to prove the supply before buying parts is what this site is for.

    Mend: give a supply check a shift that tells, or write the reason into lint_exceptions.yml.

    Bad:   causes: [{cause: battery-empty, how_often: usually, ...}], first check: look-at-hoses
    Good:  the same, with measure-resting-voltage moved by battery-empty
    """
    if judged.network is None or symptom.role != "complaint":
        return
    causes = judged.catalogue.causes
    often = [
        link.cause
        for link in symptom.causes
        if link.cause in causes
        and is_supply_cause(judged.catalogue, link.cause)
        and link.how_often.value >= OFTEN - _SLACK
    ]
    if not often:
        return
    offered = stand(judged.catalogue, judged.network, CarCase(symptoms=(symptom.id,))).offered
    if offered and not judged.catalogue.checks[offered[0].offer.check].aspects:
        first = offered[0].offer.first
        what = f'the first check advised is "{first}", though "{often[0]}" often makes this'
        mend = "let a supply check tell this cause, or write an exception with the reason"
        yield judged.problem(SUPPLY_LATER, ("symptom", symptom.id, ("causes",)), what, mend)


RULES = (
    rule(OTHER_ADVICE, "entry", check_case_advice, ("case",), asks="reasoning"),
    rule(TOO_MUCH_WORK, "entry", check_work_budget, ("symptom",), asks="reasoning"),
    rule(SUPPLY_LATER, "entry", check_supply_first, ("symptom",), asks="reasoning"),
)
