"""Room 5: say what a reading means, in plain sentences.

Takes the interpretation of a gauge and the compiled knowledge, and makes the same sentences
as `assets/measure/words-reading.js`. It decides nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words, lower_first
from build_tools.knowledge.sentences import say
from build_tools.measure.sum_words import fixed, unit_words
from build_tools.measure.sums_parts import plain_number, rounded_to_millionth

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.measure.gauges import Interpretation
    from build_tools.measure.gauges_numbers import ReadingRefused
    from build_tools.measure.gauges_slips import SlipQuestion

    Plain = Mapping[str, Any]

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
