"""Room 4: say what a lint rule is, and hold what the rules judge.

A rule is one function: the first line of its docstring holds its code, its slug and what it
asks, the paragraph "Why:" the line that messages show; the decorator says how grave it is and
what it is asked of.
"""

import inspect
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Literal, TypeVar

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.problems import Complaint, Problem, Severity, Span
from build_tools.knowledge.references import named_things
from build_tools.knowledge.yaml_reader import KeyPath
from build_tools.lint.dangers import Acts, Danger, acts_of, dangers

Asks = Literal["files", "reasoning", "base"]
"""What a rule needs: the files, the advice that comes of them, or a former state to compare."""

Place = tuple[str, str, KeyPath]
Told = tuple[KeyPath | Place | Span, str, str] | tuple[KeyPath | Place | Span, str, str, Severity]
"""What a rule yields: where, what is wrong, how to mend it, and its own severity if it differs.

A rule asked of each entry names the path inside it; one that sees everything (kind, id, path).
"""


@dataclass(frozen=True)
class Judged:
    """A catalogue, the problems met while reading it, and the day it is judged on.

    `former` gives the status of each (kind, id) at the base revision, None without one; `pages` the
    (name, text) of the pages that a reader meets, in Markdown; `screens` those of the browser's
    modules and the drawings, in which only what a reader sees is left.
    """

    catalogue: Catalogue
    reading: Sequence[Problem]
    today: date
    former: Mapping[tuple[str, str], str] | None = None
    pages: Sequence[tuple[str, str]] = ()
    screens: Sequence[tuple[str, str]] = ()

    @cached_property
    def passages(self) -> dict[bool, list[tuple[str, str, KeyPath, str]]]:
        """Keep the prose that was found, for the next rule that asks; see `prose.passages`."""
        return {}

    @cached_property
    def network(self) -> Network | None:
        """Return the network to ask for advice, None while the files have errors.

        Advice from a catalogue with holes would only add misleading messages.
        """
        if any(problem.severity is Severity.ERROR for problem in self.reading):
            return None
        try:
            return network_from_catalogue(self.catalogue)
        except ValueError:
            # A rule on numbers says which one, and where.
            return None

    @cached_property
    def dangers(self) -> tuple[Danger, ...]:
        """Return the acts that can hurt, none while their list cannot be used."""
        document = self.catalogue.documents.get(("vocabulary", "dangers"))
        broken = document and any(one.span.file == document.file for one in self.reading)
        return tuple(dangers(document.value)) if document and not broken else ()

    @cached_property
    def acts(self) -> Acts:
        """Return the finder of those acts in texts."""
        return acts_of(self.dangers)

    @cached_property
    def pointed_to(self) -> frozenset[tuple[str, str]]:
        """Return (kind, id) of everything some other file names."""
        return frozenset(
            (target, name)
            for (kind, _), document in self.catalogue.documents.items()
            if kind in WRITTEN and isinstance(document.value, dict)
            for _, target, name in named_things(kind, document)
        )


@dataclass(frozen=True)
class Rule:
    """One rule: what it complains of, what it is asked of, and its check.

    A rule with `kinds` is asked once for every entry of them; one without sees everything at
    once. One without a check hands on what reading the files has told already.
    """

    complaint: Complaint
    explanation: str
    judges: str
    check: Callable[..., Iterator[Told] | None] | None = None
    kinds: tuple[str, ...] = ()
    asks: Asks = "files"

    @property
    def code(self) -> str:
        """Return the code, which is never used for another rule."""
        return self.complaint.code

    @property
    def slug(self) -> str:
        """Return the name in words."""
        return self.complaint.slug

    @property
    def severity(self) -> Severity:
        """Return how grave its problems are, unless one says otherwise."""
        return self.complaint.severity

    def run(self, judged: Judged, kind: str = "", entry: object = None) -> Iterator[Problem]:
        """Yield the problems of an entry, or of everything for a rule without kinds."""
        if self.check is None:
            yield from (one for one in judged.reading if one.code == self.code)
            return
        asked = (entry, judged) if kind else (judged,)
        wanted = asked[: len(inspect.signature(self.check).parameters)]
        for where, what, mend, *severity in self.check(*wanted) or ():
            place = (kind, getattr(entry, "id", ""), where) if kind else where
            span = place if isinstance(place, Span) else _span(judged, place)
            grave = severity[0] if severity else self.complaint.severity
            told = self.complaint
            yield Problem(span, grave, told.code, told.slug, what, told.why, mend)


def _span(judged: Judged, place: Any) -> Span:  # noqa: ANN401 - a place or a path
    kind, key, path = place
    return judged.catalogue.place(kind, key, *path)


WRITTEN = ("symptom", "cause", "check", "gauge", "context", "sum", "case")
"""The kinds with a title, a summary and a day of review; sources have none of their own."""

RULES: list[Rule] = []
"""Every rule, as its module is read."""

_Check = TypeVar("_Check", bound="Callable[..., Iterator[Told] | None]")


def rule(
    severity: Severity, *, each: tuple[str, ...] = (), asks: Asks = "files"
) -> Callable[[_Check], _Check]:
    """Make a rule of a check, asked of `each` entry of some kinds or of everything at once."""

    def keep(check: _Check) -> _Check:
        text = inspect.getdoc(check) or ""
        code, slug = text.split(":")[0].split()
        paragraph = text.partition("\nWhy: ")[2].split("\nMend: ")[0]
        why = " ".join(paragraph.split()).split(". ")[0].removesuffix(".")
        judges = "each entry" if each else "the whole catalogue"
        complaint = Complaint(code, slug, severity, why)
        RULES.append(Rule(complaint, text, judges, check, each, asks))
        return check

    return keep


def reports(complaint: Complaint, judges: str) -> Callable[[_Check], _Check]:
    """Explain by a docstring the problems that reading the files has told already."""

    def keep(explained: _Check) -> _Check:
        RULES.append(Rule(complaint, inspect.getdoc(explained) or "", judges))
        return explained

    return keep
