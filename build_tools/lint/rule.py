"""Room 4: say what a lint rule is."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from build_tools.knowledge.problems import Complaint, Problem, Severity

Scope = Literal["file", "entry", "catalogue"]
Asks = Literal["files", "reasoning", "base"]
"""What a rule needs: the files, the advice that comes of them, or a former state to compare."""


@dataclass(frozen=True)
class Rule:
    """Hold one rule.

    A rule of scope file hands on what reading a file has told; one of scope entry is asked
    once for every entry of its kinds; one of scope catalogue sees everything at once.
    `asks` says what it needs beside them. The docstring of `check` is the rule's public
    explanation.
    """

    code: str
    slug: str
    severity: Severity
    scope: Scope
    check: Callable[..., Iterator[Problem]]
    kinds: tuple[str, ...] = ()
    asks: Asks = "files"

    @property
    def explanation(self) -> str:
        """Return what the rule asks, why, and how to mend it."""
        return inspect.cleandoc(self.check.__doc__ or "")


def rule(
    complaint: Complaint,
    scope: Scope,
    check: Callable[..., Iterator[Problem]],
    kinds: tuple[str, ...] = (),
    *,
    asks: Asks = "files",
) -> Rule:
    """Make the rule of a complaint."""
    return Rule(complaint.code, complaint.slug, complaint.severity, scope, check, kinds, asks)
