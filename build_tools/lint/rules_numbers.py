"""Room 4: judge probabilities, and where numbers come from."""

import math
import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from build_tools.knowledge.entries import Cause, Check, Entry, Gauge, Likelihood, Source
from build_tools.knowledge.problems import Severity
from build_tools.knowledge.references import Pattern, marks, matches
from build_tools.knowledge.yaml_reader import KeyPath
from build_tools.lint.rule import WRITTEN, Judged, Told, rule

_SLACK = 1e-6
_LIKELIHOODS: Mapping[str, tuple[Pattern, ...]] = {
    "symptom": (("unprompted",), ("causes", "*", "how_often")),
    "cause": (("how_common",),),
    "check": (("unprompted", "*"), ("shifts", "*", "at_least", "*")),
}


def _marked_numbers(
    kind: str, entry: Entry, judged: Judged
) -> Iterator[tuple[KeyPath, dict[str, object], float]]:
    value = judged.catalogue.documents[kind, entry.id].value
    for pattern in _LIKELIHOODS[kind]:
        for path, raw in matches(value, pattern):
            if isinstance(raw, dict) and isinstance(raw.get("value"), int | float):
                yield path, raw, float(raw["value"])


def _kind_of(entry: Entry) -> str:
    return type(entry).__name__.lower()


@rule(Severity.ERROR, each=("symptom", "cause", "check"))
def check_probability_range(entry: Entry, judged: Judged) -> Iterator[Told]:
    """NUM301 probability-range: a likelihood is a fraction between 0 and 1.

    Why: the inference cannot use it.
    Mend: write a fraction and name its source. Percent signs are not used.
    Bad:   how_often: {value: 35, source: our-estimate}
    Good:  how_often: {value: 0.35, source: our-estimate}
    """
    kind = _kind_of(entry)
    for path, _, value in _marked_numbers(kind, entry, judged):
        if not 0 <= value <= 1:
            what = f"likelihood {value:g} is not between 0 and 1"
            part = value / 100
            mend = f"write a fraction, perhaps {part:g}" if 0 < part < 1 else "write a fraction"
            yield (*path, "value"), what, mend


@rule(Severity.ERROR, each=("symptom", "cause", "check"))
def check_probability_certain(entry: Entry, judged: Judged) -> Iterator[Told]:
    """NUM302 probability-certain: exactly 0 or 1 needs `certain_because`.

    Why: one wrong finding would rule a cause out for ever, or in.
    Mend: write 0.98 or 0.02, or add `certain_because` with one sentence.
    Bad:   at_least: {fails: {value: 1, source: our-estimate}}
    Good:  at_least: {fails: almost-always}
    """
    kind = _kind_of(entry)
    for path, raw, value in _marked_numbers(kind, entry, judged):
        if value in {0, 1} and not raw.get("certain_because"):
            mend = "write 0.98 or 0.02, or add `certain_because: ...`"
            yield (*path, "value"), f"likelihood {value:g} leaves no room for doubt", mend


@rule(Severity.ERROR, each=("check", "gauge"))
def check_distributions(entry: Check | Gauge) -> Iterator[Told]:
    """NUM303 distribution: assumed weights sum to 1, and worse levels are never likelier.

    The likelihoods in `at_least` and `unprompted` are P(at least this level), so they may
    not rise towards the worse levels, and none in between may be left out.

    Why: the checker would weigh more or less than the whole.
    Mend: make the weights of `if_unknown` sum to 1; let the worse level's likelihood be no
    higher than the milder one's.
    Bad:   at_least: {dim: seldom, out: usually}
    Good:  at_least: {dim: usually, out: seldom}
    """
    if isinstance(entry, Gauge):
        yield from _judge_weights(entry)
        return
    yield from _judge_order(entry, entry.unprompted, ("unprompted",))
    for number, shift in enumerate(entry.shifts):
        yield from _judge_order(entry, shift.at_least, ("shifts", number, "at_least"))


def _judge_weights(gauge: Gauge) -> Iterator[Told]:
    for number, condition in enumerate(gauge.conditions):
        weights = list(condition.weights.values()) or [weight for _, weight in condition.points]
        total = math.fsum(weights)
        if abs(total - 1) > _SLACK:
            what = f'weights of "{condition.id}" sum to {total:g}, not to 1'
            place = ("conditions", number, "if_unknown")
            yield place, what, "change one of them so that they sum to 1"


def _judge_order(check: Check, at_least: Mapping[str, Likelihood], path: KeyPath) -> Iterator[Told]:
    milder: tuple[str, float] | None = None
    for level in check.levels[1:]:
        here = at_least.get(level.id)
        if here is None:
            milder = (level.id, 0.0)
            continue
        if milder is not None and here.value > milder[1] + _SLACK:
            gentle = f'the milder "{milder[0]}" ({milder[1]:g})'
            what = f'"{level.id}" ({here.value:g}) is likelier than {gentle}'
            mend = f'give "{milder[0]}" at least the likelihood of "{level.id}"'
            yield (*path, level.id), what, mend
        milder = (level.id, here.value)


@rule(Severity.ERROR, each=("check",))
def check_leak_given(check: Check) -> Iterator[Told]:
    """NUM304 leak-missing: every level above the first has an `unprompted` likelihood.

    Why: a finding could never show by chance, and one odd result would decide everything.
    Mend: add the level to `unprompted` with one-in-20, one-in-100 or one-in-500.
    Bad:   unprompted: {}
    Good:  unprompted: {fails: one-in-100}
    """
    for level in check.levels[1:]:
        if level.id not in check.unprompted:
            mend = f"add `{level.id}: one-in-100` under `unprompted`"
            yield ("unprompted",), f'level "{level.id}" has no likelihood under `unprompted`', mend


_READERS = 2  # an author and a second reader
# Common practice, no source: two years between reviews of an entry.
REVIEW_AFTER = timedelta(days=730)
# Common practice, no source: a confirming result seldomer than this confirms nothing.
_AT_TIMES = 0.2
_WEAK_MARKS = frozenset({"from-memory", "our-estimate"})
_INLINE_MARK = re.compile(r"\((?:common practice|from memory|our estimate)", re.IGNORECASE)
_ACTED_ON = re.compile(
    r"(?<![\w.])\d+(?:[.,]\d+)*(?:\s?(?:to|-)\s?\d+(?:[.,]\d+)*)?\s?"
    r"(?:V|mV|A|mA|ohms?|degC|degF|Nm|mm|percent|hours?)\b"
)


@rule(Severity.ERROR, each=("check", "gauge"))
def check_numbers_sourced(entry: Check | Gauge) -> Iterator[Told]:
    """SRC401 number-without-source: every number a reader may act on says where it is from.

    In gauges that is every number. In a check without a gauge it is a figure with a unit in
    a step: it needs `source` on the step, a hazard before the step (hazards carry their own
    source), or the words "(common practice)", "(from memory)" or "(our estimate)" beside it.

    Why: a reader acts on this number and cannot see how far to trust it.
    Mend: add `source:` with a source's id, from-memory, common-practice or our-estimate.
    Bad:   - do: Wait until the tester shows less than 0.3 V.
    Good:  - do: Wait until the tester shows less than 0.3 V.
             source: common-practice
    """
    if isinstance(entry, Gauge):
        yield from _judge_gauge(entry)
        return
    if entry.gauge is not None:
        return  # the gauge carries the numbers and their sources
    for number, step in enumerate(entry.steps):
        figure = _ACTED_ON.search(step.do)
        if figure and not (step.source or step.caution or _INLINE_MARK.search(step.do)):
            what = f'"{figure.group()}" says not where it is from'
            yield ("steps", number, "do"), what, "add `source: common-practice` or an id"


def _judge_gauge(gauge: Gauge) -> Iterator[Told]:
    mend = "add `source:` with an id or a mark"
    if not gauge.plausible.source:
        yield ("plausible",), "`plausible` says not where its limits are from", mend
    for number, condition in enumerate(gauge.conditions):
        several = len(condition.weights) + len(condition.points) > 1
        if several and not condition.source:
            what = f'the weights assumed for "{condition.id}" say not where they are from'
            yield ("conditions", number), what, mend


@rule(Severity.ERROR, each=("source",))
def check_source_complete(source: Source, judged: Judged) -> Iterator[Told]:
    """SRC402 source-incomplete: a source has title, section, publisher and year.

    A publication without a date says `year: null` and `undated: true`.

    Why: a reader who doubts a number cannot look it up.
    Mend: fill the key in; where the text bears no date, add `undated: true`.
    Bad:   year: null
    Good:  year: null
           undated: true
    """
    value = judged.catalogue.documents["source", source.id].value
    for key in ("section", "publisher"):
        if not value.get(key, "").strip():
            yield (key,), f"`{key}` is empty", "fill it in"
    if source.year is None and value.get("undated") is not True:
        what = "there is no year, and the text is not called undated"
        yield ("year",), what, "write the year, or add `undated: true`"


@rule(Severity.WARNING, each=("gauge",))
def check_rests_on_sources(gauge: Gauge, judged: Judged) -> Iterator[Told]:
    """SRC403 memory-only: a stable gauge rests on at least one published source.

    Why: an entry called stable should rest on something a reader can look up. One that rests
    on memory alone is a draft.
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
        yield ("status",), what, "cite a published table, or write `status: draft`"


def _is_weak(mark: str, judged: Judged) -> bool:
    source = judged.catalogue.sources.get(mark)
    return mark in _WEAK_MARKS if source is None else source.mark == "second-hand"


@rule(Severity.NOTE, each=WRITTEN)
def check_review_date(entry: Entry, judged: Judged) -> Iterator[Told]:
    """SRC404 review-due: an entry is read again every two years.

    A day that the calendar does not have, or that is still to come, is an error.

    Why: cars, prices and rules change, and nobody has looked.
    Mend: read it against its sources, then set `reviewed` to that day.
    Bad:   reviewed: "2021-03-02"
    Good:  reviewed: "2026-11-25"
    """
    reviewed = "" if isinstance(entry, Source) else entry.reviewed
    try:
        day = date.fromisoformat(reviewed)
    except ValueError:
        what = f'"{reviewed}" is no day of the calendar'
        yield ("reviewed",), what, "write an existing day", Severity.ERROR
        return
    if day > judged.today:
        what = f'"{reviewed}" is later than today, {judged.today}'
        yield ("reviewed",), what, "write the day on which it was read", Severity.ERROR
    if judged.today - day > REVIEW_AFTER:
        mend = "read the entry against its sources, then set the day"
        yield ("reviewed",), f"last reviewed on {reviewed}", mend


@rule(Severity.ERROR)
def check_values_agree(judged: Judged) -> Iterator[Told]:
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
            yield ("cause", key, ("repair", "price")), what, "write the same price in both"
    yield from _judge_edges(judged)


def _judge_edges(judged: Judged) -> Iterator[Told]:
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
                    yield where, what, "keep the edges the source gives"


@rule(Severity.WARNING, each=("cause",))
def check_confirmation_common(cause: Cause, judged: Judged) -> Iterator[Told]:
    """NUM310 rare-confirmation: the level that confirms a cause is one it gives at times.

    A fifth is asked for: common practice, no source.

    Why: the check would hardly ever confirm what it is named for.
    Mend: name a milder level, or another check.
    Bad:   confirmed_by: [{check: C, level: fails}], and C is moved to fails almost-never
    Good:  confirmed_by: [{check: C, level: fails}], and C is moved to fails usually
    """
    for number, one in enumerate(cause.confirmed_by):
        check = judged.catalogue.checks.get(one.check)
        for shift in check.shifts if check else ():
            given = shift.at_least.get(one.level) if shift.cause == cause.id else None
            if given and given.value < _AT_TIMES:
                what = (
                    f'this cause moves "{one.check}" to "{one.level}" in {given.value:g} of cases'
                )
                mend = "name a milder level, or another check"
                yield ("confirmed_by", number, "level"), what, mend


# Common practice, no source: of all cars in trouble, no single cause has more than this share.
_MOST_COMMON = 0.3


@rule(Severity.WARNING, each=("cause",))
def check_prior_believable(cause: Cause) -> Iterator[Told]:
    """NUM313 prior-too-high: no cause is at work in more than three of ten cars in trouble.

    `how_common` speaks of all cars that have some trouble, not of those with this symptom.

    Why: it would come first whatever else is found.
    Mend: think of a hundred cars with any trouble at all, and count those with this cause.
    Bad:   how_common: {value: 0.8, source: our-estimate}
    Good:  how_common: {value: 0.008, source: our-estimate}
    """
    if cause.how_common.value > _MOST_COMMON:
        what = f"`how_common` {cause.how_common.value:g} is a share of all cars in trouble"
        yield (
            ("how_common",),
            what,
            f"most causes lie between 0.002 and 0.1, none above {_MOST_COMMON}",
        )


@rule(Severity.ERROR, each=("cause",))
def check_prices_ordered(cause: Cause) -> Iterator[Told]:
    """NUM311 price-reversed: the low price is not above the high one.

    Why: the reader plans with a price that cannot be.
    Mend: swap the two, or correct the slip.
    Bad:   price: {low: 400, high: 140, ...}
    Good:  price: {low: 140, high: 400, ...}
    """
    price = cause.repair.price
    if price.low > price.high:
        what = f"`low` {price.low:g} is above `high` {price.high:g}"
        yield ("repair", "price", "low"), what, "swap the two, or correct the slip"


@rule(Severity.WARNING, asks="base")
def check_new_begins_as_draft(judged: Judged) -> Iterator[Told]:
    """SRC406 stable-at-once: an entry becomes stable by two names in `read_by`.

    Runs with `--base REV` only, for entries that were not stable there.

    Why: an entry called stable has been read by a second person, and one name shows only the first.
    Mend: write `status: draft`; the second reader makes it stable and adds both names.
    Bad:   a new file with status: stable
    Good:  a new file with status: draft
    """
    if judged.former is None:
        return
    for kind in WRITTEN:
        for key, entry in judged.catalogue.of_kind(kind).items():
            was = judged.former.get((kind, key))
            alone = len(getattr(entry, "read_by", ())) < _READERS
            if was != "stable" and getattr(entry, "status", "") == "stable" and alone:
                state = "is new" if was is None else f"was {was}"
                what = f'"{key}" {state} and calls itself stable without two names in `read_by`'
                mend = "write `status: draft`, or both names: `read_by: [author, second reader]`"
                yield (kind, key, ("status",)), what, mend
