"""Room 5: say what a sum found, in the sentences its file holds, and what a reading means.

Fills the figures into the sentence of a verdict, says why an input cannot be used and what was
taken where nothing was given, and names sources with their marks. Takes the interpretation of a
gauge and the compiled knowledge, and decides nothing. The same words as
`assets/measure/words.js`.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words, lower_first
from build_tools.knowledge.sentences import say
from build_tools.measure.sums_parts import plain_number, rounded_to_millionth, to_fahrenheit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.measure.gauges import Interpretation
    from build_tools.measure.gauges_numbers import ReadingRefused, SlipQuestion
    from build_tools.measure.sums import Refusal, SumResult
    from build_tools.measure.sums_parts import Interval

    Plain = Mapping[str, Any]

_PLACE = re.compile(r"\{([a-z0-9-]+?)(-range|-low|-high)?\}")
_WORD_UNITS = {"day": "days", "h": "h", "min": "minutes", "count": "", "ratio": "", "sg": ""}


def fixed(value: float, decimals: int) -> str:
    """Write a number with that many decimals, halves away from zero, true minus sign.

    Written out rather than left to the language, so that Python and the browser round
    alike.
    """
    scale = 10**decimals
    whole = math.floor(abs(value) * scale + 0.5)
    sign = "\u2212" if value < 0 and whole > 0 else ""
    digits = str(whole).rjust(decimals + 1, "0")
    if decimals == 0:
        return sign + digits
    return f"{sign}{digits[:-decimals]}.{digits[-decimals:]}"


def unit_words(unit: str, units: Plain) -> str:
    """Return how a unit is written after a figure, with its space; "%" takes none."""
    symbol = str(_WORD_UNITS.get(unit, units.get(unit, {}).get("symbol", unit)))
    if symbol in ("", "%"):
        return symbol
    return f"\u00a0{symbol}"


def figure_words(value: float, output: Plain, units: Plain) -> str:
    """Write a figure of a sum with its unit; a temperature in both scales."""
    said = fixed(value, output["decimals"]) + unit_words(output["unit"], units)
    if output["unit"] != "degC":
        return said
    return f"{fixed(to_fahrenheit(value), output['decimals'])}{unit_words('degF', units)} ({said})"


def _range_words(interval: Interval, output: Plain, units: Plain) -> str:
    low, high = (fixed(edge, output["decimals"]) for edge in (interval.low, interval.high))
    unit = unit_words(output["unit"], units)
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def sentence(definition: Plain, result: SumResult, units: Plain) -> str:
    """Return the verdict's sentence with its figures filled in."""
    outputs = {output["id"]: output for output in definition["outputs"]}

    def figure(match: re.Match[str]) -> str:
        output, interval = outputs[match[1]], result.outputs[match[1]]
        if match[2] == "-range":
            return _range_words(interval, output, units)
        edges = {"-low": interval.low, "-high": interval.high}
        value = edges.get(match[2] or "", interval.value)
        return figure_words(value, output, units)

    return _PLACE.sub(figure, definition["verdicts"][result.verdict])


def sum_refusal_words(definition: Plain, refusal: Refusal, units: Plain) -> str:
    """Say which input cannot be used, why, and what would do."""
    own = definition.get("refusals") or {}
    if refusal.reason in own:
        return str(own[refusal.reason])
    entries = {entry["id"]: entry for entry in definition["inputs"]}
    entry = entries.get(refusal.field, {})
    options = ", ".join(refusal.options)
    if refusal.reason == "outside-limits":
        options = _signed(" to ".join(refusal.options)) + unit_words(entry["unit"], units)
    return say(
        "sum-refused",
        reason=refusal.reason,
        label=entry.get("label", refusal.field),
        given=refusal.given,
        options=options,
    )


def mend_words(
    definition: Plain, refusal: Refusal, question: SlipQuestion | None, units: Plain
) -> str:
    """Say what to do about a refused input; a likely slip is asked about."""
    if refusal.reason in (definition.get("refusals") or {}):
        return say("sum-mend-own")
    if question is None or question.likely_value is None or question.likely_unit is None:
        return say("sum-mend", reason=refusal.reason)
    # Slips shift by powers of ten; six decimals hide what binary fractions add to them.
    meant = _signed(plain_number(rounded_to_millionth(question.likely_value)))
    return say("slip-meant", meant=meant + unit_words(question.likely_unit, units))


def _signed(text: str) -> str:
    return text.replace("-", "\u2212")


def assumption_words(definition: Plain, result: SumResult, units: Plain) -> list[str]:
    """Say what was taken where nothing was given, and which units were assumed."""
    given = {*result.numbers, *result.choices}
    said = []
    for entry in definition["inputs"]:
        if entry["id"] in result.assumed_units:
            unit = unit_words(entry["unit"], units).strip() or entry["unit"]
            said.append(say("sum-unit-assumed", label=entry["label"], unit=unit))
        taken = entry.get("if_left_out")
        if taken is not None and not given & {entry["id"], *taken.get("unless", ())}:
            said.append(str(taken["says"]))
    return said


def marks_used(definition: Plain) -> list[str]:
    """List the source ids and marks a sum stands on, each once, the file's order first."""
    found = list(definition["sources"])
    constants, tables = definition.get("constants") or {}, definition.get("tables") or {}
    entries = [*constants.values(), *tables.values()]
    for entry in entries:
        if entry["source"] not in found:
            found.append(entry["source"])
    return found


def source_document(mark: str, sources: Plain) -> dict[str, Any]:
    """Describe one source or mark for people and programs."""
    source = sources.get(mark)
    if source is None:
        return {"mark": say("mark", mark=mark)}
    return {"mark": say("mark", mark=source["mark"]), "id": mark, "title": source["title"]}


_UNTOLD: Final = "unknown-condition"


def _number(value: float) -> str:
    """Write a number without the dust that moving a decimal point leaves, true minus sign."""
    return plain_number(rounded_to_millionth(value)).replace("-", "\N{MINUS SIGN}")


def reading_words(knowledge: Plain, found: Interpretation) -> str:
    """Say which band a reading lies in, and how sure that is when it lies near an edge."""
    gauge = knowledge["gauges"][found.gauge]
    bands = {band["id"]: band for band in gauge["bands"]}
    if found.band is None:
        return ""
    # As meters are read aloud: 12.1, not 12.10, after what was typed.
    shown = fixed(found.value, gauge["decimals"])
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    value = shown + unit_words(gauge["unit"], knowledge["units"])
    band = bands[found.band]
    words = say("reading", value=value, band=lower_first(band["label"]), says=band["says"])
    if not found.near_edge:
        return words
    odds = fraction_words(found.band_weights[found.band])
    others = [name for name in found.band_weights if name != found.band]
    # Ties go to the earlier band; the shift keeps both languages on the same side.
    other = max(others, key=lambda name: round(found.band_weights[name], 9), default=None)
    if other is None:
        return words
    label = lower_first(bands[other]["label"])
    return f"{words} {say('reading-near-edge', odds=odds, other=label)}"


def assumptions_words(knowledge: Plain, assumptions: Sequence[Plain]) -> list[str]:
    """Say all that was taken where nothing was measured, conditions of one mark in one sentence."""
    usual: dict[str, list[str]] = {}
    for one in assumptions:
        if one["kind"] == _UNTOLD:
            condition = knowledge["contexts"].get(one["condition"], {"title": one["condition"]})
            usual.setdefault(one["source"], []).append(lower_first(condition["title"]))
    together = [
        say(
            "reading-assumed-all",
            titles=", ".join(titles),
            mark=say("mark", mark=source) or "see sources",
        )
        for source, titles in usual.items()
    ]
    others = [one for one in assumptions if one["kind"] != _UNTOLD]
    return [*together, *(_assumption_words(knowledge, one) for one in others)]


def _assumption_words(knowledge: Plain, assumption: Plain) -> str:
    unit = unit_words(assumption.get("unit") or "", knowledge["units"])
    condition = assumption.get("condition") or ""
    return say(
        "reading-assumed",
        kind=assumption["kind"],
        unit=unit.strip() or assumption.get("unit"),
        title=knowledge["contexts"].get(condition, {}).get("title", condition),
        within=f"{_number(assumption.get('value') or 0.0)}{unit}",
        mark=say("mark", mark=assumption.get("source")) or "see sources",
    )


def question_words(knowledge: Plain, question: SlipQuestion) -> str:
    """Ask about a likely slip of the unit or the decimal point."""
    units = knowledge["units"]
    typed = f"{_number(question.typed_value)}{unit_words(question.typed_unit, units)}"
    limit = unit_words(question.unit_of_limits, units)
    fits = say("slip-fits", low=_number(question.low), high=_number(question.high) + limit)
    if question.likely_value is None or question.likely_unit is None:
        return f"{say('slip-impossible', typed=typed)} {fits}"
    meant = f"{_number(question.likely_value)}{unit_words(question.likely_unit, units)}"
    return f"{say('slip-meant', meant=meant)} {say('slip-unusual', typed=typed)} {fits}"


def refusal_words(refused: ReadingRefused) -> str:
    """Say why a reading cannot be used and what would do."""
    options = " or ".join(refused.options)
    return say("reading-refused", reason=refused.reason, given=refused.given, options=options)
