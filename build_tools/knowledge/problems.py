"""Room 1: say what is wrong, where, why it matters and how to mend it.

A problem is a value. Rooms return problems; only the command line prints them.
This file sorts and renders them as text, JSON or annotations for a code host; it
does not find any.
"""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """Rank a problem: an error stops the build, a warning asks, a note tells."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, order=True)
class Span:
    """Name one place: a file with forward slashes, a line and a column from 1."""

    file: str
    line: int = 1
    column: int = 1


@dataclass(frozen=True)
class Problem:
    """One thing to mend.

    `what` quotes the reader's own words, `why` speaks of the reader of the site and
    `mend` is the smallest edit. None of them ends with a full stop.
    """

    span: Span
    severity: Severity
    code: str
    slug: str
    what: str
    why: str
    mend: str


@dataclass(frozen=True)
class Complaint:
    """Name a kind of problem once: its code, slug, severity and why it matters."""

    code: str
    slug: str
    severity: Severity
    why: str

    def at(self, span: Span, what: str, mend: str, *, why: str | None = None) -> Problem:
        """Make a problem of this kind at a place."""
        return Problem(span, self.severity, self.code, self.slug, what, why or self.why, mend)


def sort_problems(problems: Iterable[Problem]) -> list[Problem]:
    """Order problems by place, then code, dropping exact repeats."""
    return sorted(set(problems), key=lambda p: (p.span, p.code, p.what))


def count_words(problems: Iterable[Problem]) -> str:
    """Tell how many problems of each severity there are, in words."""
    found = list(problems)
    parts = []
    for severity in Severity:
        number = sum(1 for problem in found if problem.severity is severity)
        if number:
            parts.append(f"{number} {severity.value}{'' if number == 1 else 's'}")
    return ", ".join(parts) or "no problems"


def render_text(problems: Iterable[Problem]) -> str:
    """Write problems as blocks for a person at a terminal."""
    return _ESCAPES.sub("?", "\n".join(_block(problem) for problem in problems))


# Signs that could steer a terminal or turn the direction of what stands there.
_ESCAPES = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
# Problems of a build: no rule stands behind them, and their lines say all there is.
_OF_A_BUILD = "BLD"


def _block(problem: Problem) -> str:
    place = f"{problem.span.file}:{problem.span.line}:{problem.span.column}"
    more = f"  more: python -m build_tools explain {problem.code}\n"
    return (
        f"{place}: {problem.severity.value} {problem.code} {problem.slug}\n"
        f"  {problem.what}\n"
        f"  why:  {problem.why}\n"
        f"  mend: {problem.mend}\n"
        f"{'' if problem.code.startswith(_OF_A_BUILD) else more}"
    )


def render_json(problems: Iterable[Problem]) -> str:
    """Write problems as a JSON list, one flat object each."""
    rows = [{**vars(one.span), **vars(one), "severity": one.severity.value} for one in problems]
    for row in rows:
        del row["span"]
    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"


_ANNOTATION_LEVEL = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}


def render_annotations(problems: Iterable[Problem]) -> str:
    """Write problems as workflow commands, which code hosts show beside the line."""
    lines = []
    for problem in problems:
        fields = (
            f"file={_escape_field(problem.span.file)},line={problem.span.line},"
            f"col={problem.span.column},title={problem.code} {problem.slug}"
        )
        text = _escape_text(f"{problem.what}\nwhy: {problem.why}\nmend: {problem.mend}")
        lines.append(f"::{_ANNOTATION_LEVEL[problem.severity]} {fields}::{text}\n")
    return "".join(lines)


def _escape_text(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _escape_field(text: str) -> str:
    return _escape_text(text).replace(":", "%3A").replace(",", "%2C")
