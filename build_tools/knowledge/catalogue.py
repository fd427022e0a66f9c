"""Room 2: look up every entry by kind and id, in one fixed order.

Read-only. Entries that do not fit their schema are not in it; references inside it may
still point to nothing, and the problems returned beside it say so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from build_tools.knowledge.folders import KINDS
from build_tools.knowledge.readiness_entries import Inspection, Monitor, Readiness
from build_tools.knowledge.vocabulary import Vocabulary

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.entries import (
        Case,
        Cause,
        Check,
        Context,
        Entry,
        Gauge,
        Source,
        Sum,
        Symptom,
    )
    from build_tools.knowledge.problems import Span
    from build_tools.knowledge.yaml_reader import Document


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """The whole knowledge; each mapping is sorted by id.

    `documents` keeps, by (kind, id), what every readable file said and where, also for
    entries that were refused. Word lists stand there as ("vocabulary", name).
    `redirects` maps a former id to the new one, or to None when it was retired.
    """

    symptoms: Mapping[str, Symptom] = field(default_factory=dict)
    causes: Mapping[str, Cause] = field(default_factory=dict)
    checks: Mapping[str, Check] = field(default_factory=dict)
    gauges: Mapping[str, Gauge] = field(default_factory=dict)
    contexts: Mapping[str, Context] = field(default_factory=dict)
    cases: Mapping[str, Case] = field(default_factory=dict)
    sums: Mapping[str, Sum] = field(default_factory=dict)
    sources: Mapping[str, Source] = field(default_factory=dict)
    monitors: Mapping[str, Monitor] = field(default_factory=dict)
    inspections: Mapping[str, Inspection] = field(default_factory=dict)
    vocabulary: Vocabulary = field(default_factory=Vocabulary)
    documents: Mapping[tuple[str, str], Document] = field(default_factory=dict)
    redirects: Mapping[str, str | None] = field(default_factory=dict)

    def of_kind(self, kind: str) -> Mapping[str, Entry]:
        """Return the entries of a kind, sorted by id.

        Raises:
            KeyError: if there is no such kind.
        """
        if kind not in KINDS:
            raise KeyError(kind)
        entries: Mapping[str, Entry] = getattr(self, f"{kind}s")
        return entries

    @property
    def readiness(self) -> Readiness:
        """Return the monitors and inspection rules alone.

        Monitors go by file name, a longer name first, as in every edition of the data.
        """
        monitors = dict(sorted(self.monitors.items(), key=lambda pair: f"{pair[0]}.yml"))
        return Readiness(monitors, self.inspections)

    def place(self, kind: str, entry_id: str, *path: str | int) -> Span:
        """Return where a value of an entry stands, or the nearest place that exists."""
        return self.documents[kind, entry_id].span(*path)
