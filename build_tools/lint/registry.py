"""Room 4: keep every rule in order, run them, and explain them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.data.nearest import did_you_mean
from build_tools.data.problems import Problem, sort_problems
from build_tools.lint import (
    exceptions,
    rules_cases,
    rules_files,
    rules_identity,
    rules_numbers,
    rules_quantities,
    rules_reasoning,
    rules_references,
    rules_safety,
    rules_sources,
    rules_wording,
)
from build_tools.lint.judged import Judged
from build_tools.model.assemble import load_catalogue
from build_tools.model.readiness_assemble import load_readiness

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from datetime import date
    from pathlib import Path

    from build_tools.lint.rule import Rule

RULES: tuple[Rule, ...] = tuple(
    sorted(
        (
            *rules_files.RULES,
            *rules_identity.RULES,
            *rules_references.RULES,
            *rules_numbers.RULES,
            *rules_quantities.RULES,
            *rules_sources.RULES,
            *rules_wording.RULES,
            *rules_safety.RULES,
            *rules_reasoning.RULES,
            *rules_cases.RULES,
            *exceptions.RULES,
        ),
        key=lambda one: one.code,
    )
)


class RuleFailureError(Exception):
    """Say that a rule itself failed, and at which entry; the tool is wrong, not the file."""


def lint(root: Path, *, today: date, only: Collection[str] = ()) -> list[Problem]:
    """Judge the knowledge below a folder by every rule, or only by some codes.

    Exceptions that are written down are left out of the result; a needless exception is a
    problem of its own.

    Raises:
        RuleFailureError: if a rule fails on an entry.
    """
    catalogue, reading = load_catalogue(root)
    _, readiness = load_readiness(root)
    judged = Judged(catalogue, (*reading, *readiness), today)
    found = [problem for one in RULES for problem in _run(one, judged)]
    kept = exceptions.apply(root, found, judged)
    return sort_problems(one for one in kept if not only or one.code in only)


def _run(rule: Rule, judged: Judged) -> Iterator[Problem]:
    if rule.scope != "entry":
        yield from _guarded(rule, "the catalogue", judged)
        return
    for kind in rule.kinds:
        for entry_id, entry in judged.catalogue.of_kind(kind).items():
            yield from _guarded(rule, f"{kind} {entry_id}", entry, judged)


def _guarded(rule: Rule, name: str, *arguments: object) -> list[Problem]:
    try:
        return list(rule.check(*arguments))
    except Exception as error:
        raise RuleFailureError(f"rule {rule.code} failed on {name}: {error!r}") from error


def find_rule(code: str) -> Rule:
    """Return the rule of a code, in any case of letters.

    Raises:
        LookupError: with the codes that are close, if there is none.
    """
    for one in RULES:
        if one.code == code.upper():
            return one
    known = [one.code for one in RULES]
    where = "list them: python -m build_tools explain"
    raise LookupError(
        f'no rule has the code "{code}"; {did_you_mean(code.upper(), known, where=where)}'
    )


def explain(code: str) -> str:
    """Return the explanation of a rule as text.

    Raises:
        LookupError: if there is no such rule.
    """
    one = find_rule(code)
    judged_by = {"file": "each file", "entry": "each entry", "catalogue": "the whole catalogue"}
    return f"{one.explanation}\n\nSeverity: {one.severity.value}. Judges {judged_by[one.scope]}.\n"
