"""Room 5: play a worked case through the reasoning, one finding at a time.

First with what the owner noticed and nothing measured, then after each result, with the
reasons in words. At each step the result that was advised next is taken, if the case has it,
otherwise the next one in the file. At the end the author's expectations are held against
the advice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.cli.triage_command import triage_document
from build_tools.engine.cases import case_document
from build_tools.engine.words import supply_name
from build_tools.knowledge.markup import fraction_words, lower_first
from build_tools.knowledge.sentences import say

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Case

    Document = Mapping[str, Any]

_MOST_CAUSES: Final = 3


def play(catalogue: Catalogue, case: Case) -> Iterator[dict[str, Any]]:
    """Yield each step: what was added, and the advice then, as `triage` gives it.

    `added` is None for the first step; later it names the check and what it showed, and
    `advised` says whether the step before had asked for it.

    Raises:
        CaseRefused, ContradictoryEvidence: as `triage_document`.
    """
    whole = case_document(case)
    results = {**whole.get("readings", {}), **whole.get("outcomes", {})}
    waiting = list(results)
    told: dict[str, Any] = {**whole, "readings": {}, "outcomes": {}}
    advice = triage_document(catalogue, told)
    yield {"added": None, "advised": True, "advice": advice}
    while waiting:
        offered = [one["check"] for one in advice["next"]]
        first = offered[0] if offered else None
        check = first if first in waiting else waiting[0]
        waiting.remove(check)
        kind = "readings" if check in whole.get("readings", {}) else "outcomes"
        told = {**told, kind: {**told[kind], check: results[check]}}
        advice = triage_document(catalogue, told)
        added = {"check": check, "result": results[check]}
        yield {"added": added, "advised": check == first, "advice": advice}


def unmet(case: Case, advice: Document) -> list[str]:
    """Return, in words, each expectation of a case that the last advice does not meet."""
    expect = case.expect
    causes = advice["causes"][:_MOST_CAUSES]
    groups, names = [one["group"] for one in causes], [one["id"] for one in causes]
    first = advice["next"][0]["check"] if advice["next"] else None
    missing = sorted(set(expect.stop_now) - {one["id"] for one in advice["stop_now"]})
    lines = []
    if expect.group_in_first_three and expect.group_in_first_three not in groups:
        lines.append(f"group {expect.group_in_first_three} is not among {', '.join(groups)}")
    if expect.cause_in_first_three and expect.cause_in_first_three not in names:
        lines.append(f"cause {expect.cause_in_first_three} is not among {', '.join(names)}")
    if expect.supply and expect.supply != advice["supply"]["state"]:
        lines.append(f"supply is {advice['supply']['state']}, expected is {expect.supply}")
    if expect.checks_next and expect.next != first:
        lines.append(f"next check is {first or 'none'}, expected is {expect.next or 'none'}")
    if missing:
        lines.append(f"stop-now lines are missing: {', '.join(missing)}")
    return lines


def step_text(catalogue: Catalogue, number: int, step: Document) -> str:
    """Write one step: what came in, what is likely and why, what is next and why."""
    advice = step["advice"]
    lines = [_heading(catalogue, number, step)]
    lines += [f"  {say('advice-stop', text=one['text'])}" for one in advice["stop_now"]]
    for cause in advice["causes"][:_MOST_CAUSES]:
        lines.append(f"  {cause['title']}: {fraction_words(cause['probability'])}")
        for said, key in (("more", "raised_by"), ("less", "lowered_by")):
            if cause[key]:
                lines.append(f"    {said} likely because of {'; '.join(cause[key])}")
    lines.append(f"  {say('advice-supply', state=supply_name(advice['supply']))}")
    lines += _next_text(advice)
    return "\n".join(lines)


def _heading(catalogue: Catalogue, number: int, step: Document) -> str:
    added = step["added"]
    if added is None:
        return f"{number}. Before any result"
    check = catalogue.checks[added["check"]]
    aside = "" if step["advised"] else " (the advice was another check)"
    return f"{number}. After: {lower_first(check.title)}, {_shown(check, added['result'])}{aside}"


def _shown(check: Any, result: object) -> str:  # noqa: ANN401 - a check of the catalogue
    if not isinstance(result, dict):
        labels = {one.id: lower_first(one.label) for one in check.levels}
        return str(labels.get(result, result))
    conditions = [
        f"{key} {_quantity(value)}" for key, value in result.items() if key not in {"value", "unit"}
    ]
    under = f" ({', '.join(conditions)})" if conditions else ""
    return _quantity(result) + under


def _quantity(value: object) -> str:
    if not isinstance(value, dict):
        return str(value)
    return f"{value.get('value', 0):g} {value.get('unit') or ''}".strip()


def _next_text(advice: Document) -> list[str]:
    if advice["repair"] is not None:
        repair = advice["repair"]
        now = say("advice-repair", who=repair["who"], action=repair["action"])
        return [f"  {now}", *(f"    {one}" for one in repair["because"])]
    if not advice["next"]:
        return ["  No check is left that would help"]
    first = advice["next"][0]
    return [f"  Next check: {first['title']}", *(f"    {one}" for one in first["because"])]
