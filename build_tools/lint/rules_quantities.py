"""Room 4: judge units, edges of gauges and plausible values."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from build_tools.knowledge.entries import Case, Check, Context, Edge, EdgeCurve, Gauge, TableBand
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.quantities import Quantity, UnitMismatchError, convert
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from build_tools.knowledge.yaml_reader import KeyPath
    from build_tools.lint.judged import Judged

BAD_UNIT = Complaint(
    "NUM305",
    "unit",
    Severity.ERROR,
    "a number without its right unit is off by a thousand as easily as by nothing",
)
GAP = Complaint(
    "NUM306", "gauge-bands-gap", Severity.ERROR, "a reader with such a reading would get no answer"
)
IMPLAUSIBLE = Complaint(
    "NUM307", "implausible-value", Severity.WARNING, "no meter would show this, so it is a slip"
)
LITERAL = Complaint(
    "NUM308",
    "literal-threshold",
    Severity.WARNING,
    "when the gauge is corrected, this text goes on saying the old number",
)
TOO_FINE = Complaint(
    "NUM309",
    "too-many-digits",
    Severity.NOTE,
    "digits the gauge never shows promise more than the source knows",
)
_SAME = 1e-9
_VOLTS_OR_AMPS = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) ?(V|mV|A|mA)\b")


def check_units_fit(entry: Gauge | Context | Case, judged: Judged) -> Iterator[Problem]:
    """NUM305 unit: every quantity has a unit, and the unit fits what is measured.

    Why: 350 could be millivolts or volts; the wrong one is off by a thousand.

    Mend: use a unit the gauge or context accepts, or add it to `accepts`.

    Bad:   readings: {measure-resting-voltage: {value: 12.1, unit: A}}
    Good:  readings: {measure-resting-voltage: {value: 12.1, unit: V}}
    """
    if isinstance(entry, Case):
        yield from _judge_case_units(entry, judged)
        return
    kind = "gauge" if isinstance(entry, Gauge) else "context"
    units = judged.catalogue.vocabulary.units
    unit = units.get(entry.unit or "")
    if unit and isinstance(entry, Gauge) and unit.quantity != entry.quantity:
        what = f'unit "{unit.id}" measures {unit.quantity}, and the gauge {entry.quantity}'
        yield judged.problem(BAD_UNIT, (kind, entry.id, ("unit",)), what, "correct one of the two")
    for number, name in enumerate(entry.accepts):
        if unit and name in units and units[name].quantity != unit.quantity:
            what = f'unit "{name}" cannot be turned into "{unit.id}"'
            place = (kind, entry.id, ("accepts", number))
            yield judged.problem(BAD_UNIT, place, what, "take it out of `accepts`")
    if isinstance(entry, Gauge):
        for path, edge in _edges(entry):
            context = (
                judged.catalogue.contexts.get(edge.by) if isinstance(edge, EdgeCurve) else None
            )
            if context and isinstance(edge, EdgeCurve) and edge.unit not in context.accepts:
                what = f'context "{edge.by}" is not given in "{edge.unit}"'
                mend = (
                    "use one of " + ", ".join(context.accepts)
                    if context.accepts
                    else "use a number"
                )
                yield judged.problem(BAD_UNIT, (kind, entry.id, (*path, "unit")), what, mend)


def _judge_case_units(case: Case, judged: Judged) -> Iterator[Problem]:
    for check_id, reading in case.readings.items():
        check = judged.catalogue.checks.get(check_id)
        gauge = judged.catalogue.gauges.get(check.gauge or "") if check else None
        if gauge and reading.quantity.unit not in gauge.accepts:
            path: KeyPath = ("readings", check_id, "unit")
            what = f'gauge "{gauge.id}" takes no reading in "{reading.quantity.unit}"'
            mend = "use " + " or ".join(gauge.accepts)
            yield judged.problem(BAD_UNIT, ("case", case.id, path), what, mend)
        yield from _judge_answers(case, ("readings", check_id), reading.conditions, judged)
    yield from _judge_answers(case, ("context",), case.context, judged)


def _judge_answers(case: Case, path: KeyPath, answers: object, judged: Judged) -> Iterator[Problem]:
    if not isinstance(answers, dict):
        return
    for name, answer in answers.items():
        context = judged.catalogue.contexts.get(name)
        if context is None or not isinstance(answer, Quantity):
            continue
        if answer.unit not in context.accepts:
            accepted = " or ".join(context.accepts)
            what = f'context "{name}" takes no number in "{answer.unit}"'
            mend = f"use {accepted}" if accepted else "use " + " or ".join(context.words)
            yield judged.problem(BAD_UNIT, ("case", case.id, (*path, name)), what, mend)


def _edges(gauge: Gauge) -> Iterator[tuple[KeyPath, Edge]]:
    for number, table in enumerate(gauge.tables):
        for place, row in enumerate(table.bands):
            for key, edge in (("from", row.start), ("below", row.below)):
                if edge is not None:
                    yield ("tables", number, "bands", place, key), edge


def _judge_gauge(gauge: Gauge, judged: Judged) -> Iterator[Problem]:
    for number, table in enumerate(gauge.tables):
        path: KeyPath = ("tables", number, "bands")
        yield from _judge_table(gauge, table.bands, path, judged)
        order = [one.id for one in gauge.bands]
        used = [row.band for row in table.bands if row.band in order]
        if used != [one for one in order if one in used]:
            what = "the bands of this table are not in the order of `bands`, or stand twice"
            mend = "list each band once, from low readings to high"
            yield judged.problem(GAP, ("gauge", gauge.id, path), what, mend)


def _judge_table(
    gauge: Gauge, rows: Sequence[TableBand], path: KeyPath, judged: Judged
) -> Iterator[Problem]:
    ends = ((0, "from", rows[0].start), (len(rows) - 1, "below", rows[-1].below))
    for place, key, edge in ends:
        if edge is not None:
            what = f'band "{rows[place].band}" leaves readings beyond its `{key}` without a band'
            place_of = ("gauge", gauge.id, (*path, place, key))
            yield judged.problem(GAP, place_of, what, f"take `{key}` out of this band")
    for place, (low, high) in enumerate(pairwise(rows)):
        where = ("gauge", gauge.id, (*path, place + 1))
        if low.below is None or high.start is None:
            what = f'no edge is named between band "{low.band}" and band "{high.band}"'
            mend = "give the first `below` and the second the same number as `from`"
            yield judged.problem(GAP, where, what, mend)
        elif low.below != high.start:
            what = _word_gap(low, high)
            where = ("gauge", gauge.id, (*path, place + 1, "from"))
            both = f'`from` in band "{high.band}" equal `below` in band "{low.band}"'
            mend = f"let {both}, if the source allows"
            yield judged.problem(GAP, where, what, mend)
    for place, row in enumerate(rows):
        if not _is_rising(row.start, row.below):
            what = f'band "{row.band}" ends before it begins'
            where = ("gauge", gauge.id, (*path, place))
            yield judged.problem(GAP, where, what, "swap or correct its edges")


def _word_gap(low: TableBand, high: TableBand) -> str:
    if isinstance(low.below, float) and isinstance(high.start, float):
        between = f"{min(low.below, high.start):g} up to {max(low.below, high.start):g}"
        covers = "no band covers" if low.below < high.start else "two bands cover"
        return (
            f'{covers} readings from {between} (band "{low.band}" ends, band "{high.band}" begins)'
        )
    return f'band "{low.band}" ends elsewhere than band "{high.band}" begins'


def _is_rising(start: Edge | None, below: Edge | None) -> bool:
    if start is None or below is None:
        return True
    return max(_values(start)) < max(_values(below)) and min(_values(start)) < min(_values(below))


def _values(edge: Edge) -> list[float]:
    return [y for _, y in edge.points] if isinstance(edge, EdgeCurve) else [edge]


def _judge_levels(judged: Judged) -> Iterator[Problem]:
    for key, check in judged.catalogue.checks.items():
        gauge = judged.catalogue.gauges.get(check.gauge or "")
        if gauge is None:
            continue
        taken = [band for level in check.levels for band in level.bands]
        for band in gauge.bands:
            if taken.count(band.id) != 1:
                often = "no level" if band.id not in taken else "more than one level"
                what = f'band "{band.id}" of gauge "{gauge.id}" means {often} of this check'
                mend = f"add {band.id} to the `bands` of exactly one level"
                yield judged.problem(GAP, ("check", key, ("levels",)), what, mend)


def check_plausible(entry: Gauge | Case, judged: Judged) -> Iterator[Problem]:
    """NUM307 implausible-value: edges and readings lie within what is plausible.

    Why: a reading nobody could take is a slip of the decimal point or of the unit.

    Mend: correct the value, or widen `plausible` of the gauge and name a source.

    Bad:   {band: full, from: 126}
    Good:  {band: full, from: 12.6}
    """
    if isinstance(entry, Gauge):
        limits = entry.plausible
        for path, edge in _edges(entry):
            for value in _values(edge):
                if not limits.low <= value <= limits.high:
                    span = f"{limits.low:g} to {limits.high:g} {entry.unit}"
                    what = f"edge {value:g} lies outside {span}"
                    mend = "correct it, or widen `plausible`"
                    yield judged.problem(IMPLAUSIBLE, ("gauge", entry.id, path), what, mend)
        return
    for check_id, reading in entry.readings.items():
        check = judged.catalogue.checks.get(check_id)
        gauge = judged.catalogue.gauges.get(check.gauge or "") if check else None
        if gauge and not _is_plausible(reading.quantity, gauge, judged):
            limits = gauge.plausible
            what = (
                f"reading {reading.quantity.value:g} {reading.quantity.unit} lies outside "
                f"{limits.low:g} to {limits.high:g} {gauge.unit}"
            )
            path = ("readings", check_id, "value")
            mend = "look at the decimal point and the unit"
            yield judged.problem(IMPLAUSIBLE, ("case", entry.id, path), what, mend)


def _is_plausible(quantity: Quantity, gauge: Gauge, judged: Judged) -> bool:
    try:
        value = convert(
            quantity.value, quantity.unit, gauge.unit, judged.catalogue.vocabulary.units
        )
    except UnitMismatchError:
        return True  # told as NUM305
    return gauge.plausible.low <= value <= gauge.plausible.high


def check_no_literal_threshold(check: Check, judged: Judged) -> Iterator[Problem]:
    """NUM308 literal-threshold: what a gauge knows is not said again in a level's meaning.

    Why: when the gauge is corrected, the text goes on saying the old number, and the two
    contradict each other on one page.

    Mend: say it in words and leave the number to the gauge.

    Bad:   means: Below 12.4 V it needs a charge.
    Good:  means: It needs a charge.
    """
    gauge = judged.catalogue.gauges.get(check.gauge or "")
    if gauge is None:
        return
    edges = {value for _, edge in _edges(gauge) for value in _values(edge)}
    units = judged.catalogue.vocabulary.units
    for number, level in enumerate(check.levels):
        for text, unit in _VOLTS_OR_AMPS.findall(level.means):
            try:
                value = convert(float(text), unit, gauge.unit, units)
            except UnitMismatchError:
                continue
            if any(abs(value - edge) < _SAME for edge in edges):
                what = f'"{text} {unit}" is an edge of gauge "{gauge.id}"'
                place = ("check", check.id, ("levels", number, "means"))
                yield judged.problem(
                    LITERAL, place, what, "say it in words; the gauge shows the number"
                )


def check_digits(gauge: Gauge, judged: Judged) -> Iterator[Problem]:
    """NUM309 too-many-digits: edges have no more digits than the gauge shows.

    Why: the page rounds to `decimals`, so a finer edge looks wrong beside the readings.

    Mend: round the edge as the source gives it, or raise `decimals`.

    Bad:   decimals: 1 with {band: low, below: 12.06}
    Good:  decimals: 2 with {band: low, below: 12.06}
    """
    told: set[float] = set()
    for path, edge in _edges(gauge):
        for value in _values(edge):
            if round(value, gauge.decimals) != value and value not in told:
                told.add(value)  # the next band begins with the same edge
                what = f"edge {value:g} has more digits than the {gauge.decimals} the gauge shows"
                mend = "round it as its source gives it, or raise `decimals`"
                yield judged.problem(TOO_FINE, ("gauge", gauge.id, path), what, mend)


def _judge_ranges(judged: Judged) -> Iterator[Problem]:
    for key, context in judged.catalogue.contexts.items():
        for place, (low, high) in enumerate(pairwise(context.bands)):
            if low.below is None or low.below != high.start:
                what = f'range "{low.id}" does not end where range "{high.id}" begins'
                mend = f'let `from` in "{high.id}" equal `below` in "{low.id}"'
                yield judged.problem(GAP, ("context", key, ("bands", place + 1)), what, mend)


def check_bands_meet(judged: Judged) -> Iterator[Problem]:
    """NUM306 gauge-bands-gap: bands meet without gap or overlap, and each means one level.

    Why: a reading that falls between two bands gets no meaning, and the reader who
    measured it is left alone. An overlap gives two meanings and the order of the file
    decides which wins.

    Mend: let each band's `below` equal the next band's `from`. The lower end belongs to a
    band, the upper end does not. The first band has no `from`, the last no `below`. In the
    check, list every band under exactly one level.

    Bad:   {band: low, below: 3.0}, {band: fair, from: 3.2}
    Good:  {band: low, below: 3.0}, {band: fair, from: 3.0}
    """
    for gauge in judged.catalogue.gauges.values():
        yield from _judge_gauge(gauge, judged)
    yield from _judge_levels(judged)
    yield from _judge_ranges(judged)


RULES = (
    rule(BAD_UNIT, "entry", check_units_fit, ("gauge", "context", "case")),
    rule(GAP, "catalogue", check_bands_meet),
    rule(IMPLAUSIBLE, "entry", check_plausible, ("gauge", "case")),
    rule(LITERAL, "entry", check_no_literal_threshold, ("check",)),
    rule(TOO_FINE, "entry", check_digits, ("gauge",)),
)
