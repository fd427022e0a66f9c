"""Room 4: judge where numbers come from."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING

from build_tools.knowledge.entries import Check, Entry, Gauge, Source
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.references import marks
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.lint.judged import Judged

UNSOURCED = Complaint(
    "SRC401",
    "number-without-source",
    Severity.ERROR,
    "a reader acts on this number and cannot see how far to trust it",
)
INCOMPLETE = Complaint(
    "SRC402", "source-incomplete", Severity.ERROR, "a reader who doubts a number cannot look it up"
)
MEMORY_ONLY = Complaint(
    "SRC403",
    "memory-only",
    Severity.WARNING,
    "an entry called stable should rest on something a reader can look up",
)
STALE = Complaint(
    "SRC404", "review-due", Severity.NOTE, "cars, prices and rules change, and nobody has looked"
)
DISAGREE = Complaint(
    "SRC405",
    "values-disagree",
    Severity.ERROR,
    "the site would show two values for one thing, and the reader trusts neither",
)
# Common practice, no source: two years between reviews of an entry.
REVIEW_AFTER = timedelta(days=730)
_WEAK_MARKS = frozenset({"from-memory", "our-estimate"})
_INLINE_MARK = re.compile(r"\((?:common practice|from memory|our estimate)", re.IGNORECASE)
_ACTED_ON = re.compile(
    r"(?<![\w.])\d+(?:[.,]\d+)*(?:\s?(?:to|-)\s?\d+(?:[.,]\d+)*)?\s?"
    r"(?:V|mV|A|mA|ohms?|degC|degF|Nm|mm|percent|hours?)\b"
)


def check_numbers_sourced(entry: Check | Gauge, judged: Judged) -> Iterator[Problem]:
    """SRC401 number-without-source: every number a reader may act on says where it is from.

    In gauges that is every number. In a check without a gauge it is a figure with a unit in
    a step: it needs `source` on the step, a hazard before the step (hazards carry their own
    source), or the words "(common practice)", "(from memory)" or "(our estimate)" beside it.

    Why: a reader who stands at the car with a meter must be able to judge how far to trust
    the number.

    Mend: add `source:` with a source's id, from-memory, common-practice or our-estimate.

    Bad:   - do: Wait until the tester shows less than 0.3 V.
    Good:  - do: Wait until the tester shows less than 0.3 V.
             source: common-practice
    """
    if isinstance(entry, Gauge):
        yield from _judge_gauge(entry, judged)
        return
    if entry.gauge is not None:
        return  # the gauge carries the numbers and their sources
    for number, step in enumerate(entry.steps):
        figure = _ACTED_ON.search(step.do)
        if figure and not (step.source or step.caution or _INLINE_MARK.search(step.do)):
            what = f'"{figure.group()}" says not where it is from'
            place = ("check", entry.id, ("steps", number, "do"))
            yield judged.problem(UNSOURCED, place, what, "add `source: common-practice` or an id")


def _judge_gauge(gauge: Gauge, judged: Judged) -> Iterator[Problem]:
    mend = "add `source:` with an id or a mark"
    if not gauge.plausible.source:
        what = "`plausible` says not where its limits are from"
        yield judged.problem(UNSOURCED, ("gauge", gauge.id, ("plausible",)), what, mend)
    for number, condition in enumerate(gauge.conditions):
        several = len(condition.weights) + len(condition.points) > 1
        if several and not condition.source:
            what = f'the weights assumed for "{condition.id}" say not where they are from'
            place = ("gauge", gauge.id, ("conditions", number))
            yield judged.problem(UNSOURCED, place, what, mend)


def check_source_complete(source: Source, judged: Judged) -> Iterator[Problem]:
    """SRC402 source-incomplete: a source has title, section, publisher and year.

    A publication without a date says `year: null` and `undated: true`.

    Why: a reader who doubts a number must be able to find the page it stands on.

    Mend: fill the key in; where the text bears no date, add `undated: true`.

    Bad:   year: null
    Good:  year: null
           undated: true
    """
    value = judged.catalogue.documents["source", source.id].value
    for key in ("section", "publisher"):
        if not value.get(key, "").strip():
            what = f"`{key}` is empty"
            yield judged.problem(INCOMPLETE, ("source", source.id, (key,)), what, "fill it in")
    if source.year is None and value.get("undated") is not True:
        what = "there is no year, and the text is not called undated"
        place = ("source", source.id, ("year",))
        yield judged.problem(INCOMPLETE, place, what, "write the year, or add `undated: true`")


def check_rests_on_sources(gauge: Gauge, judged: Judged) -> Iterator[Problem]:
    """SRC403 memory-only: a stable gauge rests on at least one published source.

    Why: a gauge decides what a reading means. One that rests on memory alone is a draft.

    Mend: find a published table for one of its edges, or set `status: draft`.

    Bad:   status: stable, and every `source` in `tables` is from-memory
    Good:  status: draft
    """
    if gauge.status != "stable":
        return
    tables = judged.catalogue.documents["gauge", gauge.id].value["tables"]
    cited = {mark for _, mark in marks(tables)}
    if all(_is_weak(mark, judged) for mark in cited):
        what = "every edge of this stable gauge rests on memory, estimate or second-hand text"
        mend = "cite a published table, or write `status: draft`"
        yield judged.problem(MEMORY_ONLY, ("gauge", gauge.id, ("status",)), what, mend)


def _is_weak(mark: str, judged: Judged) -> bool:
    source = judged.catalogue.sources.get(mark)
    return mark in _WEAK_MARKS if source is None else source.mark == "second-hand"


def check_review_date(entry: Entry, judged: Judged) -> Iterator[Problem]:
    """SRC404 review-due: an entry is read again every two years.

    Why: cars, prices and rules change, and an entry nobody reads goes stale unseen.

    Mend: read it against its sources, then set `reviewed` to that day.

    Bad:   reviewed: "2021-03-02"
    Good:  reviewed: "2026-11-25"
    """
    reviewed = "" if isinstance(entry, Source) else entry.reviewed
    kind = type(entry).__name__.lower()
    try:
        day = date.fromisoformat(reviewed)
    except ValueError:
        what, mend = f'"{reviewed}" is no day of the calendar', "write an existing day"
        yield judged.problem(STALE, (kind, entry.id, ("reviewed",)), what, mend)
        return
    if judged.today - day > REVIEW_AFTER:
        what = f"last reviewed on {reviewed}"
        mend = "read the entry against its sources, then set the day"
        yield judged.problem(STALE, (kind, entry.id, ("reviewed",)), what, mend)


def check_values_agree(judged: Judged) -> Iterator[Problem]:
    """SRC405 values-disagree: one fact from one source has one value everywhere.

    Judged are prices of the same part in the same year, and edges of the same band that two
    tables of one quantity take from the same published source under the same conditions.

    Why: the site would show two values for one thing, and the reader trusts neither.

    Mend: look the value up and write it the same in both places.

    Bad:   battery 90 to 260 in one cause, battery 100 to 250 in another
    Good:  battery 90 to 260 in both
    """
    prices: dict[tuple[object, ...], tuple[str, float, float]] = {}
    for key, cause in judged.catalogue.causes.items():
        price = cause.repair.price
        if cause.repair.part is None:
            continue
        fact = (cause.repair.part.casefold(), price.source, price.year, price.currency)
        first = prices.setdefault(fact, (key, price.low, price.high))
        if first[1:] != (price.low, price.high):
            what = (
                f'"{cause.repair.part}" costs {price.low:g} to {price.high:g} here, '
                f'and {first[1]:g} to {first[2]:g} in "{first[0]}"'
            )
            place = ("cause", key, ("repair", "price"))
            yield judged.problem(DISAGREE, place, what, "write the same price in both")
    yield from _judge_edges(judged)


def _judge_edges(judged: Judged) -> Iterator[Problem]:
    seen: dict[tuple[object, ...], tuple[str, object]] = {}
    for key, gauge in judged.catalogue.gauges.items():
        for number, table in enumerate(gauge.tables):
            for place, row in enumerate(table.bands):
                source = row.source or table.source
                if source not in judged.catalogue.sources:
                    continue
                fact = (source, key, str(sorted(table.fits.items())), row.band)
                first = seen.setdefault(fact, (key, (row.start, row.below)))
                if first[1] != (row.start, row.below):
                    what = f'band "{row.band}" has other edges from "{source}" above'
                    where = ("gauge", key, ("tables", number, "bands", place))
                    yield judged.problem(DISAGREE, where, what, "keep the edges the source gives")


_DATED = ("symptom", "cause", "check", "gauge", "context", "sum", "case")
RULES = (
    rule(UNSOURCED, "entry", check_numbers_sourced, ("check", "gauge")),
    rule(INCOMPLETE, "entry", check_source_complete, ("source",)),
    rule(MEMORY_ONLY, "entry", check_rests_on_sources, ("gauge",)),
    rule(STALE, "entry", check_review_date, _DATED),
    rule(DISAGREE, "catalogue", check_values_agree),
)
