"""Room 2: follow references to a part of another entry: a level, a band, an option.

Whole entries that are missing are told by references.py; here they are passed over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.quantities import Quantity
from build_tools.knowledge.references import DANGLING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from build_tools.knowledge.entries import Case, Cause, Check, Context, Gauge
    from build_tools.knowledge.problems import Problem
    from build_tools.knowledge.yaml_reader import Document, KeyPath


@dataclass(frozen=True)
class Known:
    """Hold the entries whose parts may be named."""

    checks: Mapping[str, Check]
    gauges: Mapping[str, Gauge]
    contexts: Mapping[str, Context]

    def levels(self, check: str) -> tuple[str, ...] | None:
        """Return a check's level ids, None when there is no such check."""
        found = self.checks.get(check)
        return tuple(one.id for one in found.levels) if found else None

    def options(self, context: str) -> tuple[str, ...] | None:
        """Return the words a context may take, None when there is no such context."""
        found = self.contexts.get(context)
        return found.words if found else None


class Follower:
    """Judge the parts named in one document."""

    def __init__(self, document: Document, known: Known) -> None:
        self.document = document
        self.known = known

    def word(
        self, path: KeyPath, word: str | None, allowed: Iterable[str] | None, noun: str
    ) -> Iterator[Problem]:
        """Yield a problem when a word is not allowed; None allows anything."""
        if word is None or allowed is None or word in (choices := tuple(allowed)):
            return
        key = path and path[-1] == word
        span = self.document.key_span(*path) if key else self.document.span(*path)
        yield DANGLING.at(span, f'{noun} has no "{word}"', did_you_mean(word, choices))

    def option(self, path: KeyPath, context: str, word: object) -> Iterator[Problem]:
        """Yield a problem when a context has no such option or range."""
        if isinstance(word, str):
            yield from self.word(path, word, self.known.options(context), f'context "{context}"')


def follow_cause(cause: Cause, follower: Follower) -> Iterator[Problem]:
    """Follow the options and levels a cause names."""
    for number, factor in enumerate(cause.context):
        yield from follower.option(("context", number, "is"), factor.when, factor.equals)
    for number, one in enumerate(cause.confirmed_by):
        levels = follower.known.levels(one.check)
        path = ("confirmed_by", number, "level")
        yield from follower.word(path, one.level, levels, f'check "{one.check}"')


def follow_check(check: Check, follower: Follower) -> Iterator[Problem]:
    """Follow the levels, bands and conditions a check names."""
    raised = [one.id for one in check.levels[1:]]
    noun = "this check, above its first level,"
    for number, need in enumerate(check.needs):
        levels = follower.known.levels(need.check)
        path: KeyPath = ("needs", number, "at_most")
        yield from follower.word(path, need.at_most, levels, f'check "{need.check}"')
    for level in check.unprompted:
        yield from follower.word(("unprompted", level), level, raised, noun)
    for number, shift in enumerate(check.shifts):
        for level in shift.at_least:
            path = ("shifts", number, "at_least", level)
            yield from follower.word(path, level, raised, noun)
    gauge = follower.known.gauges.get(check.gauge or "")
    if check.gauge and gauge is None:
        return
    bands = [one.id for one in gauge.bands] if gauge else []
    holder = f'gauge "{gauge.id}"' if gauge else "a check without a gauge"
    for number, one in enumerate(check.levels):
        for place, band in enumerate(one.bands):
            yield from follower.word(("levels", number, "bands", place), band, bands, holder)
    conditions = [one.id for one in gauge.conditions] if gauge else []
    for number, condition in enumerate(check.conditions):
        yield from follower.word(("conditions", number), condition, conditions, holder)


def follow_gauge(gauge: Gauge, follower: Follower) -> Iterator[Problem]:
    """Follow the bands, options and contexts a gauge names."""
    bands = [one.id for one in gauge.bands]
    raw = follower.document.value
    for number, condition in enumerate(gauge.conditions):
        for option in condition.weights:
            path: KeyPath = ("conditions", number, "if_unknown", option)
            yield from follower.option(path, condition.id, option)
    for number, table in enumerate(gauge.tables):
        for place, row in enumerate(table.bands):
            path = ("tables", number, "bands", place, "band")
            yield from follower.word(path, row.band, bands, "this gauge")
        for context, options in table.fits.items():
            listed = isinstance(raw["tables"][number]["for"][context], list)
            for place, option in enumerate(options):
                path = ("tables", number, "for", context, *((place,) if listed else ()))
                yield from follower.option(path, context, option)
    for number, spread in enumerate(gauge.spread):
        for context, option in spread.when.items():
            yield from follower.option(("spread", number, "when", context), context, option)


def follow_case(case: Case, follower: Follower) -> Iterator[Problem]:
    """Follow the options, levels and gauges a case names."""
    for context, answer in case.context.items():
        if not isinstance(answer, Quantity):
            yield from follower.option(("context", context), context, answer)
    for check, level in case.outcomes.items():
        levels = follower.known.levels(check)
        yield from follower.word(("outcomes", check), level, levels, f'check "{check}"')
    for check, reading in case.readings.items():
        yield from _follow_reading(check, reading.conditions, follower)


def _follow_reading(
    check: str, conditions: Mapping[str, str | Quantity], follower: Follower
) -> Iterator[Problem]:
    found = follower.known.checks.get(check)
    if found is None:
        return
    path: KeyPath = ("readings", check)
    if found.gauge is None:
        mend = "move it to `outcomes` and name a level"
        what = f'check "{check}" has no gauge, so it takes no reading'
        yield DANGLING.at(follower.document.key_span(*path), what, mend)
    gauge = follower.known.gauges.get(found.gauge or "")
    if gauge is None:
        return
    allowed = [one.id for one in gauge.conditions]
    for name, answer in conditions.items():
        yield from follower.word((*path, name), name, allowed, f'gauge "{gauge.id}"')
        if not isinstance(answer, Quantity) and name in allowed:
            yield from follower.option((*path, name), name, answer)
