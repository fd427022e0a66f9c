"""Room 5: say what a reading means, in plain sentences.

Takes the interpretation of a gauge and the compiled knowledge, and makes the same sentences
as `assets/measure/words-reading.js`. It decides nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words, lower_first
from build_tools.measure.sum_words import MARKS, fixed, unit_words
from build_tools.measure.sums_parts import plain_number, rounded_to_millionth

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.measure.gauges import Interpretation
    from build_tools.measure.gauges_numbers import ReadingRefused
    from build_tools.measure.gauges_slips import SlipQuestion

    Plain = Mapping[str, Any]

_REFUSALS: Final = {
    "not-a-number": "“{given}” is not a number. Write it like 12.5.",
    "not-finite": "“{given}” is not a number a meter can show.",
    "comma-or-thousands": "“{given}” can be read two ways. Write 12.5 or 12500, without a comma.",
    "unknown-unit": "The unit “{given}” is not used here. Use {options}.",
    "unknown-option": "“{given}” is not one of the answers. Use {options}.",
    "unknown-condition": "“{given}” is not asked for here. Use {options}.",
    "outside-plausible": "{given} cannot be right here. Measure again.",
    "condition-needed": "This reading cannot be judged without that condition.",
    "no-table": "No table covers these conditions. Leave one of them out.",
    "no-gauge": "This check has no gauge.",
}


def _number(value: float) -> str:
    """Write a number without the dust that moving a decimal point leaves, true minus sign."""
    return plain_number(rounded_to_millionth(value)).replace("-", "\N{MINUS SIGN}")


def reading_words(knowledge: Plain, found: Interpretation) -> str:
    """Say which band a reading lies in, and how sure that is when it lies near an edge."""
    gauge = knowledge["gauges"][found.gauge]
    bands = {band["id"]: band for band in gauge["bands"]}
    if found.band is None:
        return ""
    value = fixed(found.value, gauge["decimals"]) + unit_words(gauge["unit"], knowledge["units"])
    band = bands[found.band]
    words = f"{value} reads “{lower_first(band['label'])}”. {band['says']}"
    if not found.near_edge:
        return words
    share = fraction_words(found.band_weights[found.band])
    others = [name for name in found.band_weights if name != found.band]
    # Ties go to the earlier band; the shift keeps both languages on the same side.
    other = max(others, key=lambda name: round(found.band_weights[name], 9), default=None)
    if other is None:
        return words
    label = lower_first(bands[other]["label"])
    return f"{words} It is close to an edge ({share}); it may be “{label}”."


def assumption_words(knowledge: Plain, assumption: Plain) -> str:
    """Say what was taken where nothing was measured."""
    mark = MARKS.get(assumption.get("source") or "", "see sources")
    if assumption["kind"] == "unit":
        unit = unit_words(assumption["unit"], knowledge["units"]).strip() or assumption["unit"]
        return f"No unit was given, so {unit} is taken."
    title = str(
        knowledge["contexts"].get(assumption["condition"], {}).get("title", assumption["condition"])
    )
    if assumption["kind"] == "thermometer":
        unit = unit_words(assumption["unit"], knowledge["units"])
        return f"{title}: taken to be right within {_number(assumption['value'])}{unit} ({mark})."
    return f"{title} was not given, so what is usual was allowed for ({mark})."


def question_words(knowledge: Plain, question: SlipQuestion) -> str:
    """Ask about a likely slip of the unit or the decimal point."""
    units = knowledge["units"]
    typed = f"{_number(question.typed_value)}{unit_words(question.typed_unit, units)}"
    limit = unit_words(question.unit_of_limits, units)
    fits = (
        f"What fits here lies between {_number(question.low)} and {_number(question.high)}{limit}."
    )
    if question.likely_value is None or question.likely_unit is None:
        return f"{typed} cannot be right here. {fits}"
    meant = f"{_number(question.likely_value)}{unit_words(question.likely_unit, units)}"
    return f"Did you mean {meant}? {typed} would be unusual. {fits}"


def refusal_words(refused: ReadingRefused) -> str:
    """Say why a reading cannot be used and what would do."""
    options = " or ".join(refused.options)
    return _REFUSALS[refused.reason].format(given=refused.given, options=options)
