"""Room 5: lay out the page of a source, and find every place that leans on it."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from build_tools.knowledge import markup
from build_tools.site.page_gauge import gauge_marks
from build_tools.site.page_monitor import monitor_marks
from build_tools.site.page_sum import sum_marks

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Cause, Check, Source, Symptom
    from build_tools.knowledge.readiness_entries import Monitor
    from build_tools.site.page_press import Page, Press

_SEEN_WORDS = {
    "full": "We read the whole text.",
    "excerpt": "We read an excerpt.",
    "second-hand": "We have it from another text that quotes it.",
}


def source_page(press: Press, source: Source, uses: Mapping[str, list[tuple[str, str]]]) -> Page:
    """Render the page of a source; `uses` comes from `find_uses`."""
    return press.page(
        "source.html.j2",
        f"sources/{source.id}",
        title=source.title,
        description=f"{source.title}, {source.section}",
        source=source,
        mark_words=markup.MARK_WORDS[source.mark],
        seen=_SEEN_WORDS.get(source.seen, source.seen),
        uses=[press.refer(kind, one) for kind, one in uses.get(source.id, [])],
    )


def find_uses(
    catalogue: Catalogue, monitors: Mapping[str, Monitor] | None = None
) -> dict[str, list[tuple[str, str]]]:
    """Return, for each mark, the (kind, id) of every entry that carries it, each once."""
    uses: dict[str, dict[tuple[str, str], None]] = defaultdict(dict)
    for mark, kind, entry_id in _all_uses(catalogue):
        uses[mark][kind, entry_id] = None
    for monitor in (monitors or {}).values():
        for mark in monitor_marks(monitor):
            uses[mark]["monitor", monitor.id] = None
    return {mark: list(places) for mark, places in uses.items()}


def _all_uses(catalogue: Catalogue) -> Iterator[tuple[str, str, str]]:
    yield from _reading_uses(catalogue)
    for check in catalogue.checks.values():
        for mark in _check_marks(check):
            yield mark, "check", check.id
    for cause in catalogue.causes.values():
        for mark in _cause_marks(cause):
            yield mark, "cause", cause.id
    for symptom in catalogue.symptoms.values():
        for mark in _symptom_marks(symptom):
            yield mark, "symptom", symptom.id


def _reading_uses(catalogue: Catalogue) -> Iterator[tuple[str, str, str]]:
    for gauge in catalogue.gauges.values():
        for mark in gauge_marks(gauge):
            yield mark, "gauge", gauge.id
    for one in catalogue.sums.values():
        for mark in sum_marks(one):
            yield mark, "sum", one.id


def _check_marks(check: Check) -> Iterator[str]:
    yield check.effort.source
    yield from (one.source for one in check.unprompted.values())
    for shift in check.shifts:
        yield from (one.source for one in shift.at_least.values())


def _cause_marks(cause: Cause) -> Iterator[str]:
    yield cause.how_common.source
    yield cause.repair.price.source


def _symptom_marks(symptom: Symptom) -> Iterator[str]:
    yield symptom.unprompted.source
    yield from (link.how_often.source for link in symptom.causes)
