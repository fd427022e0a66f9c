"""Room 4: hold what the rules judge, and what many of them need."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from build_tools.data.yaml_reader import KeyPath
from build_tools.model.references import named_things

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from build_tools.data.problems import Complaint, Problem, Span
    from build_tools.model.catalogue import Catalogue

Place = tuple[str, str, KeyPath]


@dataclass(frozen=True)
class Judged:
    """Hold a catalogue, the problems met while reading it, and the day it is judged on."""

    catalogue: Catalogue
    reading: Sequence[Problem]
    today: date

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
    def pointed_to(self) -> frozenset[tuple[str, str]]:
        """Return (kind, id) of everything some other file names."""
        return frozenset(
            (target, name)
            for (kind, _), document in self.catalogue.documents.items()
            if kind in {"symptom", "cause", "check", "gauge", "context", "case", "sum"}
            and isinstance(document.value, dict)
            for _, target, name in named_things(kind, document)
        )
