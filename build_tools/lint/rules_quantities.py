"""Room 4: judge units, edges of gauges and plausible values."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from build_tools.knowledge.entries import Case, Check, Context, Edge, EdgeCurve, Gauge, TableBand
from build_tools.knowledge.problems import Severity
from build_tools.knowledge.quantities import Quantity, Unit, UnitMismatchError, convert
from build_tools.knowledge.yaml_reader import KeyPath
from build_tools.lint.prose import passages, spot
from build_tools.lint.rule import Judged, Told, rule

_SAME = 1e-9
_FAR = 5.0
"""How many times beyond the last edge a reading is far; our choice."""
_VOLTS_OR_AMPS = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) ?(V|mV|A|mA)\b")


@rule(Severity.ERROR, each=("gauge", "context", "case"))
def check_units_fit(entry: Gauge | Context | Case, judged: Judged) -> Iterator[Told]:
    """NUM305 unit: every quantity has a unit, and the unit fits what is measured.

    Why: a number without its right unit is off by a thousand as easily as by nothing.
    Mend: use a unit the gauge or context accepts, or add it to `accepts`.
    Bad:   readings: {measure-resting-voltage: {value: 12.1, unit: A}}
    Good:  readings: {measure-resting-voltage: {value: 12.1, unit: V}}
    """
    if isinstance(entry, Case):
        yield from _judge_case_units(entry, judged)
        return
    units = judged.catalogue.vocabulary.units
    unit = units.get(entry.unit or "")
    if unit and isinstance(entry, Gauge) and unit.quantity != entry.quantity:
        what = f'unit "{unit.id}" measures {unit.quantity}, and the gauge {entry.quantity}'
        yield ("unit",), what, "correct one of the two"
    for number, name in enumerate(entry.accepts):
        if unit and name in units and units[name].quantity != unit.quantity:
            what = f'unit "{name}" cannot be turned into "{unit.id}"'
            yield ("accepts", number), what, "take it out of `accepts`"
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
                yield (*path, "unit"), what, mend


def _judge_case_units(case: Case, judged: Judged) -> Iterator[Told]:
    for check_id, reading in case.readings.items():
        check = judged.catalogue.checks.get(check_id)
        gauge = judged.catalogue.gauges.get(check.gauge or "") if check else None
        if gauge and reading.quantity.unit not in gauge.accepts:
            path: KeyPath = ("readings", check_id, "unit")
            mend = "use " + " or ".join(gauge.accepts)
            yield path, f'gauge "{gauge.id}" takes no reading in "{reading.quantity.unit}"', mend
        yield from _judge_answers(("readings", check_id), reading.conditions, judged)
    yield from _judge_answers(("context",), case.context, judged)


def _judge_answers(path: KeyPath, answers: object, judged: Judged) -> Iterator[Told]:
    if not isinstance(answers, dict):
        return
    for name, answer in answers.items():
        context = judged.catalogue.contexts.get(name)
        if context is None or not isinstance(answer, Quantity):
            continue
        if answer.unit not in context.accepts:
            accepted = " or ".join(context.accepts)
            mend = f"use {accepted}" if accepted else "use " + " or ".join(context.words)
            yield (*path, name), f'context "{name}" takes no number in "{answer.unit}"', mend


def _edges(gauge: Gauge) -> Iterator[tuple[KeyPath, Edge]]:
    for number, table in enumerate(gauge.tables):
        for place, row in enumerate(table.bands):
            for key, edge in (("from", row.start), ("below", row.below)):
                if edge is not None:
                    yield ("tables", number, "bands", place, key), edge


def _judge_gauge(gauge: Gauge) -> Iterator[Told]:
    for number, table in enumerate(gauge.tables):
        path: KeyPath = ("tables", number, "bands")
        yield from _judge_table(gauge, table.bands, path)
        order = [one.id for one in gauge.bands]
        used = [row.band for row in table.bands if row.band in order]
        if used != [one for one in order if one in used]:
            what = "the bands of this table are not in the order of `bands`, or stand twice"
            yield ("gauge", gauge.id, path), what, "list each band once, from low readings to high"


def _judge_table(gauge: Gauge, rows: Sequence[TableBand], path: KeyPath) -> Iterator[Told]:
    ends = ((0, "from", rows[0].start), (len(rows) - 1, "below", rows[-1].below))
    for place, key, edge in ends:
        if edge is not None:
            what = f'band "{rows[place].band}" leaves readings beyond its `{key}` without a band'
            place_of = ("gauge", gauge.id, (*path, place, key))
            yield place_of, what, f"take `{key}` out of this band"
    for place, (low, high) in enumerate(pairwise(rows)):
        where = ("gauge", gauge.id, (*path, place + 1))
        if low.below is None or high.start is None:
            mend = "give the first `below` and the second the same number as `from`"
            yield where, f'no edge is named between band "{low.band}" and band "{high.band}"', mend
        elif low.below != high.start:
            what = _word_gap(low, high)
            where = ("gauge", gauge.id, (*path, place + 1, "from"))
            both = f'`from` in band "{high.band}" equal `below` in band "{low.band}"'
            yield where, what, f"let {both}, if the source allows"
    for place, row in enumerate(rows):
        if not _is_rising(row.start, row.below):
            what = f'band "{row.band}" ends before it begins'
            yield ("gauge", gauge.id, (*path, place)), what, "swap or correct its edges"


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


def _judge_levels(judged: Judged) -> Iterator[Told]:
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
                yield ("check", key, ("levels",)), what, mend


@rule(Severity.ERROR, each=("gauge", "case"))
def check_plausible(entry: Gauge | Case, judged: Judged) -> Iterator[Told]:
    """NUM307 implausible-value: edges and readings lie within what is plausible.

    Why: no meter would show this, so it is a slip.
    Mend: correct the value, or widen `plausible` of the gauge and name a source.
    Bad:   {band: full, from: 126}
    Good:  {band: full, from: 12.6}
    """
    if isinstance(entry, Gauge):
        limits = entry.plausible
        if limits.low > limits.high:
            return  # told as NUM314
        for path, edge in _edges(entry):
            for value in _values(edge):
                if not limits.low <= value <= limits.high:
                    span = f"{limits.low:g} to {limits.high:g} {entry.unit}"
                    mend = "correct it, or widen `plausible`"
                    yield path, f"edge {value:g} lies outside {span}", mend
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
            yield path, what, "look at the decimal point and the unit"


def _is_plausible(quantity: Quantity, gauge: Gauge, judged: Judged) -> bool:
    try:
        value = convert(
            quantity.value, quantity.unit, gauge.unit, judged.catalogue.vocabulary.units
        )
    except UnitMismatchError:
        return True  # told as NUM305
    limits = gauge.plausible
    # Limits that are turned are told at the gauge, as NUM314.
    return limits.low > limits.high or limits.low <= value <= limits.high


@rule(Severity.ERROR, each=("gauge", "context"))
def check_limits_ordered(entry: Gauge | Context) -> Iterator[Told]:
    """NUM314 range-reversed: the low end of what is plausible lies below the high end.

    Why: no reading lies between them, so every reading would be refused.
    Mend: swap the two, or correct the slip.
    Bad:   plausible: {low: 20, high: 8, source: our-estimate}
    Good:  plausible: {low: 8, high: 20, source: our-estimate}
    """
    limits = entry.plausible
    if limits is not None and limits.low >= limits.high:
        what = f"`low` {limits.low:g} of `plausible` is not below `high` {limits.high:g}"
        yield ("plausible", "low"), what, "swap the two, or correct the slip"


_MILLIVOLTS = re.compile(r"(?<![\w.])([1-9]\d?\.\d+) ?mV\b")


@rule(Severity.WARNING)
def check_millivolts_meant(judged: Judged) -> Iterator[Told]:
    """NUM315 unit-slip-in-text: millivolts with a decimal point are most often volts.

    Why: a reader acts on a figure that is off by a thousand.
    Mend: write V, or round the millivolts to a whole number.
    Bad:   It stays under 12.4 mV at rest.
    Good:  It stays under 12.4 V at rest.
    """
    for kind, key, path, text in passages(judged, beside=True):
        for found in _MILLIVOLTS.finditer(text):
            document = judged.catalogue.documents[kind, key]
            what = f'"{found.group()}" has a fraction, as volts have and millivolts have not'
            mend = f"write {found.group(1)} V, or whole millivolts"
            yield spot(document, path, found.group()), what, mend


@rule(Severity.WARNING, each=("case",))
def check_reading_unit(case: Case, judged: Judged) -> Iterator[Told]:
    """NUM312 unit-slip: a reading means something in its unit, not only in the gauge's own.

    Told is a reading far outside every edge of its gauge whose number would fit among them in
    the gauge's own unit.

    Why: the case teaches a reading nobody takes, and its advice rests on it.
    Mend: write the unit the meter showed.
    Bad:   readings: {measure-resting-voltage: {value: 12.6, unit: mV}}
    Good:  readings: {measure-resting-voltage: {value: 12.6, unit: V}}
    """
    units = judged.catalogue.vocabulary.units
    for check_id, reading in case.readings.items():
        check = judged.catalogue.checks.get(check_id)
        gauge = judged.catalogue.gauges.get(check.gauge or "") if check else None
        if gauge is None or reading.quantity.unit in {gauge.unit, *_alike(gauge.unit, units)}:
            continue
        edges = [value for _, edge in _edges(gauge) for value in _values(edge)]
        number = reading.quantity.value
        try:
            value = convert(number, reading.quantity.unit, gauge.unit, units)
        except UnitMismatchError:
            continue  # told as NUM305
        low, high = min(edges, default=0.0) / _FAR, max(edges, default=0.0) * _FAR
        if not low <= value <= high and low <= number <= high:
            shown = f"{number:g} {reading.quantity.unit}"
            what = f"{shown} is far from every edge; {number:g} {gauge.unit} would be among them"
            yield ("readings", check_id, "unit"), what, f"write `unit: {gauge.unit}`, if it was so"


def _alike(name: str, units: Mapping[str, Unit]) -> set[str]:
    """Return the units in which a number is about the same as in this one."""
    one = units.get(name)
    return {
        other.id
        for other in units.values()
        if one and other.quantity == one.quantity and other.factor == one.factor
    }


@rule(Severity.WARNING, each=("check",))
def check_no_literal_threshold(check: Check, judged: Judged) -> Iterator[Told]:
    """NUM308 literal-threshold: what a gauge knows is not said again in a level's meaning.

    Why: when the gauge is corrected, this text goes on saying the old number.
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
                place = ("levels", number, "means")
                yield place, what, "say it in words; the gauge shows the number"


@rule(Severity.NOTE, each=("gauge",))
def check_digits(gauge: Gauge) -> Iterator[Told]:
    """NUM309 too-many-digits: edges have no more digits than the gauge shows.

    Why: digits the gauge never shows promise more than the source knows.
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
                yield path, what, "round it as its source gives it, or raise `decimals`"


def _judge_ranges(judged: Judged) -> Iterator[Told]:
    for key, context in judged.catalogue.contexts.items():
        for place, (low, high) in enumerate(pairwise(context.bands)):
            if low.below is None or low.below != high.start:
                what = f'range "{low.id}" does not end where range "{high.id}" begins'
                mend = f'let `from` in "{high.id}" equal `below` in "{low.id}"'
                yield ("context", key, ("bands", place + 1)), what, mend


@rule(Severity.ERROR)
def check_bands_meet(judged: Judged) -> Iterator[Told]:
    """NUM306 gauge-bands-gap: bands meet without gap or overlap, and each means one level.

    Why: a reader with such a reading would get no answer. An overlap gives two meanings and
    the order of the file decides which wins.
    Mend: let each band's `below` equal the next band's `from`. The lower end belongs to a
    band, the upper end does not. The first band has no `from`, the last no `below`. In the
    check, list every band under exactly one level.
    Bad:   {band: low, below: 3.0}, {band: fair, from: 3.2}
    Good:  {band: low, below: 3.0}, {band: fair, from: 3.0}
    """
    for gauge in judged.catalogue.gauges.values():
        yield from _judge_gauge(gauge)
    yield from _judge_levels(judged)
    yield from _judge_ranges(judged)
