"""Room 4: judge whether findings tell causes apart, the worked cases, and the advice they get.

Rules that ask for advice take seconds where the others take none. They say nothing while the
files have errors: advice from a catalogue with holes would mislead.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations

from build_tools.engine.cases import case_document, read_case
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import (
    WIDTH_LIMIT,
    ContradictoryEvidence,
    FrontierTooWide,
    frontier_width,
)
from build_tools.engine.triage import Assessment, assess
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Case, Expectation, Symptom
from build_tools.knowledge.problems import Severity
from build_tools.lint.rule import Judged, Told, rule


@rule(Severity.ERROR)
def check_cause_can_rise(judged: Judged) -> Iterator[Told]:
    """REA701 cause-never-raised: some finding makes every cause likelier.

    Why: whatever the reader finds, this cause never comes into view.
    Mend: link it from a symptom with `how_often`, or give a check a shift for it.
    Bad:   a cause that stands in no symptom's `causes` and no check's `shifts`
    Good:  causes: [{cause: drive-belt-slipping, how_often: often, ...}]
    """
    spoken_for = {
        link.cause for symptom in judged.catalogue.symptoms.values() for link in symptom.causes
    } | {shift.cause for check in judged.catalogue.checks.values() for shift in check.shifts}
    for key in judged.catalogue.causes:
        if key not in spoken_for:
            mend = "link it from a symptom, or give a check a shift for it"
            yield ("cause", key, ("id",)), f'no symptom and no check makes "{key}" likelier', mend


@rule(Severity.WARNING)
def check_causes_separable(judged: Judged) -> Iterator[Told]:
    """REA702 causes-inseparable: some check tells two causes of one symptom apart.

    Two causes are told apart when a check has different shifts for them. A pair that is
    known to be inseparable is named under `confused_with` with `told_apart_by: null`.

    Why: the reader is left with two causes and nothing to tell them apart.
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
                mend = "give a check different shifts for them, or name the pair in `confused_with`"
                yield ("cause", one, ("id",)), f'no check tells "{one}" and "{other}" apart', mend


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


@rule(Severity.WARNING, each=("symptom",))
def check_checks_move_causes(symptom: Symptom, judged: Judged) -> Iterator[Told]:
    """REA703 check-moves-nothing: a check listed for a symptom moves one of its causes.

    Preparations with a single outcome are left alone.

    Why: the reader does a check whose outcome changes nothing for this symptom.
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
                mend = f"add `{link.cause}` to its `shifts`, or list another check"
                yield ("causes", number, "checks", place), what, mend


MOST_CHECKS = 8
"""Checks of one complaint that must be workable with abnormal results at once; our choice."""


@rule(Severity.ERROR, each=("case",), asks="reasoning")
def check_case_advice(case: Case, judged: Judged) -> Iterator[Told]:
    """CAS802 case-advice-differs: a worked case gets the advice that its author expects.

    Compared are the group and the cause among the first three, the state of the supply, the
    first next check and the stop-now lines, as far as `expect` names them. For a draft a
    difference is a warning.

    Why: the owner of such a car would get other advice than the author of the case holds
    right. A number changed elsewhere must not break it unseen.
    Mend: look with `python -m build_tools try ID`. If the new advice is better, say so and
    change `expect`; otherwise look at the number that was changed.
    Bad:   expect: {next: load-test-battery}     (the advice is measure-resting-voltage)
    Good:  expect: {next: measure-resting-voltage}
    """
    if judged.network is None:
        return
    car, problems = read_case(case_document(case), judged.catalogue)
    if problems:
        yield ("id",), f"`{problems[0].path}` cannot be used: {problems[0].what}", problems[0].mend
        return
    try:
        assessment = assess(judged.catalogue, judged.network, car)
        differing = list(differences(case.expect, assessment))
    except (ContradictoryEvidence, FrontierTooWide) as error:
        yield ("id",), str(error), "look whether a level is written that cannot go with the others"
        return
    for field, what, mend in differing:
        grave = Severity.ERROR if case.status == "stable" else Severity.WARNING
        yield ("expect", field), what, mend, grave


def differences(expect: Expectation, assessment: Assessment) -> Iterator[tuple[str, str, str]]:
    """Yield (field, what differs, what to write) for each expectation that does not hold."""
    diagnosis = assessment.diagnosis
    ranked = sorted(diagnosis.posteriors, key=lambda name: (-diagnosis.posteriors[name], name))[:3]
    groups = [diagnosis.catalogue.causes[name].group for name in ranked]
    wanted = expect.group_in_first_three
    if wanted and wanted not in groups:
        what = f'group "{wanted}" is not among the first three: {_quoted(groups)}'
        yield "group_in_first_three", what, _mend("group_in_first_three", groups[0])
    wanted = expect.cause_in_first_three
    if wanted and wanted not in ranked:
        what = f'cause "{wanted}" is not among the first three: {_quoted(ranked)}'
        yield "cause_in_first_three", what, _mend("cause_in_first_three", ranked[0])
    if expect.supply and expect.supply != diagnosis.supply.state:
        what = f'the supply is judged "{diagnosis.supply.state}", not "{expect.supply}"'
        yield "supply", what, _mend("supply", diagnosis.supply.state)
    if expect.checks_next:
        first = assessment.offered[0].offer.first if assessment.offered else None
        if expect.next != first:
            what = f"the first next check is {_named(first)}, not {_named(expect.next)}"
            yield "next", what, _mend("next", first or "null")
    missing = set(expect.stop_now) - {one.id for one in diagnosis.findings.stop_now}
    if missing:
        what = f"stop-now lines are missing: {_quoted(sorted(missing))}"
        yield "stop_now", what, "add the line to the symptom or level that calls for it"


def _mend(field: str, value: str) -> str:
    return f"see why with `try`; if this advice is the better one, write `{field}: {value}`"


def _named(check: str | None) -> str:
    return "none" if check is None else f'"{check}"'


def _quoted(words: list[str]) -> str:
    return ", ".join(f'"{word}"' for word in words)


@rule(Severity.ERROR, each=("symptom",), asks="reasoning")
def check_work_budget(symptom: Symptom, judged: Judged) -> Iterator[Told]:
    """REA704 too-much-work: the exact sum stays workable with the checks a symptom lists.

    Counted is the widest table for the symptom with the first eight checks under its causes,
    all abnormal, and readings near an edge.

    Why: a reader who makes these checks would be told that the findings are too entangled.
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
        mend = f"at most {WIDTH_LIMIT} are allowed; take out links that hardly ever matter"
        yield ("causes",), f"its first {len(names)} checks need a table of {width} numbers", mend


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


@rule(Severity.ERROR)
def check_symptom_has_case(judged: Judged) -> Iterator[Told]:
    """CAS801 symptom-without-case: every stable complaint has a worked case.

    Why: nobody would notice when a change spoils the advice for this symptom.
    Mend: write one with `python -m build_tools new case ID`, or set `status: draft`.
    Bad:   status: stable, and no case names the symptom
    Good:  symptoms/cases/lamps-on-a-frosty-morning.yml with symptoms: [many-lamps-at-once]
    """
    played = {name for case in judged.catalogue.cases.values() for name in case.symptoms}
    for key, symptom in judged.catalogue.symptoms.items():
        if symptom.role == "complaint" and symptom.status == "stable" and key not in played:
            mend = "write one: python -m build_tools new case ID"
            yield ("symptom", key, ("status",)), f'no worked case begins with "{key}"', mend


@rule(Severity.WARNING)
def check_some_case_is_other(judged: Judged) -> Iterator[Told]:
    """CAS803 supply-always-wanting: some case's cause lies outside the supply.

    Why: nobody would notice when the site blames the battery for everything.
    Mend: write a case whose expected group is none of battery, connection, charging, drain.
    Bad:   every case expects the group battery
    Good:  expect: {group_in_first_three: starter, supply: sound, next: null}
    """
    cases = judged.catalogue.cases
    groups = judged.catalogue.vocabulary.groups
    expected = [case.expect.group_in_first_three or "" for case in cases.values()]
    if expected and all(name in groups and groups[name].supply for name in expected):
        what = "every worked case expects a cause in the supply"
        place = ("case", next(iter(cases)), ("expect",))
        yield place, what, "write a case whose cause lies elsewhere"


@rule(Severity.ERROR, each=("case",))
def check_expectation_holds(case: Case) -> Iterator[Told]:
    """CAS805 expected-and-forbidden: a case does not forbid what it expects.

    Why: no advice can meet the case, and whoever mends the advice is led astray.
    Mend: take it out of `never`, or out of what is expected.
    Bad:   cause_in_first_three: starter-worn, never: [starter-worn]
    Good:  cause_in_first_three: starter-worn, never: [battery-worn-out]
    """
    expect = case.expect
    alone = {expect.cause_in_first_three, expect.next}
    for number, name in enumerate(expect.never):
        every = (
            {name} == set(several) for several in (expect.causes_any_of, expect.first_step_any_of)
        )
        if name in alone or any(every):
            what = f'"{name}" is expected and stands in `never`: both cannot hold'
            mend = f"take {name} out of `never`, or expect another"
            yield ("expect", "never", number), what, mend


@rule(Severity.ERROR, each=("case",))
def check_findings_fit(case: Case, judged: Judged) -> Iterator[Told]:
    """CAS804 finding-out-of-place: an abnormal outcome is one the symptoms' causes produce.

    Why: the reader learns from a car that no cause explains.
    Mend: correct the outcome, add the symptom that was noticed too, or give the check a
    shift for one of the causes.
    Bad:   symptoms: [evap-code-or-cap-message], outcomes: {look-at-drive-belt: worn-or-loose}
    Good:  symptoms: [red-charging-lamp], outcomes: {look-at-drive-belt: worn-or-loose}
    """
    for name, level in out_of_place(judged.catalogue, case.symptoms, case.outcomes):
        what = f'no cause of these symptoms moves "{name}" to "{level}"'
        mend = "correct the outcome, or add the symptom that was noticed too"
        yield ("outcomes", name), what, mend


def out_of_place(
    catalogue: Catalogue, noticed: Iterable[str], outcomes: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    """Yield each check with its level that no cause of what was noticed produces."""
    symptoms = catalogue.symptoms
    linked = {link.cause for name in noticed if name in symptoms for link in symptoms[name].causes}
    for name, level in outcomes.items():
        check = catalogue.checks.get(name)
        levels = [one.id for one in check.levels] if check else []
        if check is None or level not in levels or levels.index(level) == 0:
            continue
        if not any(level in shift.at_least for shift in check.shifts if shift.cause in linked):
            yield name, level
