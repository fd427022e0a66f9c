"""Room 4: judge the worked cases, as far as that needs no reasoning."""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.knowledge.problems import Complaint, Problem, Severity, Span
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.knowledge.entries import Case
    from build_tools.lint.judged import Judged

NO_CASE = Complaint(
    "CAS801",
    "symptom-without-case",
    Severity.ERROR,
    "nobody would notice when a change spoils the advice for this symptom",
)
NO_OTHER = Complaint(
    "CAS803",
    "supply-always-wanting",
    Severity.WARNING,
    "nobody would notice when the site blames the battery for everything",
)
IMPOSSIBLE = Complaint(
    "CAS804",
    "finding-out-of-place",
    Severity.ERROR,
    "the case shows a finding that none of its symptoms' causes produces",
)


def check_symptom_has_case(judged: Judged) -> Iterator[Problem]:
    """CAS801 symptom-without-case: every stable complaint has a worked case.

    Why: the case plays the advice through; without it nobody notices when a change spoils it.

    Mend: write one with `python -m build_tools new case ID`, or set `status: draft`.

    Bad:   status: stable, and no case names the symptom
    Good:  symptoms/cases/lamps-on-a-frosty-morning.yml with symptoms: [many-lamps-at-once]
    """
    played = {name for case in judged.catalogue.cases.values() for name in case.symptoms}
    for key, symptom in judged.catalogue.symptoms.items():
        if symptom.role == "complaint" and symptom.status == "stable" and key not in played:
            what = f'no worked case begins with "{key}"'
            mend = "write one: python -m build_tools new case ID"
            yield judged.problem(NO_CASE, ("symptom", key, ("status",)), what, mend)


def check_some_case_is_other(judged: Judged) -> Iterator[Problem]:
    """CAS803 supply-always-wanting: some case's cause lies outside the supply.

    Why: a site that finds the battery at the bottom of everything would pass its own cases.

    Mend: write a case whose expected group is none of battery, connection, charging, drain.

    Bad:   every case expects the group battery
    Good:  expect: {group_in_first_three: starter, supply: sound, next: null}
    """
    cases = judged.catalogue.cases
    groups = judged.catalogue.vocabulary.groups
    expected = [case.expect.group_in_first_three or "" for case in cases.values()]
    if expected and all(name in groups and groups[name].supply for name in expected):
        span: Span = judged.span("case", next(iter(cases)), "expect")
        what = "every worked case expects a cause in the supply"
        yield NO_OTHER.at(span, what, "write a case whose cause lies elsewhere")


def check_findings_fit(case: Case, judged: Judged) -> Iterator[Problem]:
    """CAS804 finding-out-of-place: an abnormal outcome is one the symptoms' causes produce.

    Why: a case is there to be learned from; a finding nothing accounts for teaches nothing.

    Mend: correct the outcome, add the symptom that was noticed too, or give the check a
    shift for one of the causes.

    Bad:   symptoms: [evap-code-or-cap-message], outcomes: {look-at-drive-belt: worn-or-loose}
    Good:  symptoms: [red-charging-lamp], outcomes: {look-at-drive-belt: worn-or-loose}
    """
    symptoms = judged.catalogue.symptoms
    linked = {
        link.cause for name in case.symptoms if name in symptoms for link in symptoms[name].causes
    }
    for name, level in case.outcomes.items():
        check = judged.catalogue.checks.get(name)
        levels = [one.id for one in check.levels] if check else []
        if check is None or level not in levels or levels.index(level) == 0:
            continue
        produced = any(level in shift.at_least for shift in check.shifts if shift.cause in linked)
        if not produced:
            what = f'no cause of these symptoms moves "{name}" to "{level}"'
            mend = "correct the outcome, or add the symptom that was noticed too"
            yield judged.problem(IMPOSSIBLE, ("case", case.id, ("outcomes", name)), what, mend)


RULES = (
    rule(NO_CASE, "catalogue", check_symptom_has_case),
    rule(NO_OTHER, "catalogue", check_some_case_is_other),
    rule(IMPOSSIBLE, "entry", check_findings_fit, ("case",)),
)
