"""Room 4: hold what the rules judge, and what many of them need."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.knowledge.problems import Severity
from build_tools.knowledge.references import named_things
from build_tools.knowledge.yaml_reader import KeyPath

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from build_tools.engine.network import Network
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.problems import Complaint, Problem, Span

Place = tuple[str, str, KeyPath]


@dataclass(frozen=True)
class Judged:
    """Hold a catalogue, the problems met while reading it, and the day it is judged on.

    `former` are the (kind, id) of the entries at the base revision, None without one.
    """

    catalogue: Catalogue
    reading: Sequence[Problem]
    today: date
    former: frozenset[tuple[str, str]] | None = None

    def reported(self, code: str) -> Iterator[Problem]:
        """Yield the problems of a code that were met while reading."""
        return (problem for problem in self.reading if problem.code == code)

    def span(self, kind: str, entry_id: str, *path: str | int) -> Span:
        """Return where a value of an entry stands."""
        return self.catalogue.place(kind, entry_id, *path)

    def problem(self, complaint: Complaint, place: Place, what: str, mend: str) -> Problem:
        """Make a problem at a place given as (kind, id, path)."""
        kind, entry_id, path = place
        return complaint.at(self.span(kind, entry_id, *path), what, mend)

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
    def pointed_to(self) -> frozenset[tuple[str, str]]:
        """Return (kind, id) of everything some other file names."""
        return frozenset(
            (target, name)
            for (kind, _), document in self.catalogue.documents.items()
            if kind in {"symptom", "cause", "check", "gauge", "context", "case", "sum"}
            and isinstance(document.value, dict)
            for _, target, name in named_things(kind, document)
        )
