"""Room 5: write a case as plain text: what was noticed, told, measured and found.

For a message or a forum, before the advice of `triage_text`. Twin of
`assets/case/case-text.js`; it judges nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.knowledge.markup import lower_first
from build_tools.measure.sum_words import unit_words
from build_tools.measure.sums_parts import plain_number
from build_tools.measure.words_reading import reading_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.measure.gauges import Interpretation

    Document = Mapping[str, Any]


def case_text(knowledge: Document, case: Document, readings: Mapping[str, Interpretation]) -> str:
    """Return the case as lines; `readings` are the interpretations the advice rests on."""
    lines = [
        _listed("Noticed", knowledge["symptoms"], case.get("symptoms")),
        _listed("Not so", knowledge["symptoms"], case.get("absent")),
        _told(knowledge, case.get("context") or {}),
        *_measured(knowledge, case.get("readings") or {}, readings),
        *_found(knowledge, case.get("outcomes") or {}),
        _listed("Cannot be done here", knowledge["checks"], case.get("not_possible")),
        _listed("Tools at hand", knowledge["tools"], case.get("tools")),
        _listed("Mended already, and the trouble stayed", knowledge["causes"], case.get("mended")),
    ]
    return "\n".join(line for line in lines if line)


def _listed(name: str, entries: Document, ids: list[str] | None) -> str:
    if ids is None:
        return ""
    titles = "; ".join(entries[one]["title"] for one in ids)
    return f"{name}: {titles or 'none'}" if titles or name == "Tools at hand" else ""


def quantity_words(knowledge: Document, value: float, unit: str) -> str:
    """Write a number and its unit as they were given."""
    number = plain_number(value).replace("-", "\N{MINUS SIGN}")
    return number + unit_words(unit, knowledge["units"])


def fact_words(knowledge: Document, name: str, value: Any) -> str:  # noqa: ANN401 - what a fact can be
    """Write one fact: its title and the answer."""
    context = knowledge["contexts"][name]
    title = context["title"]
    if isinstance(value, dict):
        return f"{title}: {quantity_words(knowledge, value['value'], value['unit'])}"
    labels = {one["id"]: one["label"] for one in context.get("options") or []}
    if value in labels:
        return f"{title}: {lower_first(labels[value])}"
    return f"{title}: {quantity_words(knowledge, value, context['unit'])}"


def _told(knowledge: Document, context: Document) -> str:
    facts = [fact_words(knowledge, name, value) for name, value in context.items()]
    return f"The car: {'; '.join(facts)}" if facts else ""


def reading_line(knowledge: Document, check: str, reading: Document) -> str:
    """Write a reading with its conditions on one line."""
    value = quantity_words(knowledge, reading["value"], reading["unit"])
    facts = [
        lower_first(fact_words(knowledge, name, one))
        for name, one in reading.items()
        if name in knowledge["contexts"]
    ]
    under = f" ({'; '.join(facts)})" if facts else ""
    return f"{knowledge['checks'][check]['title']}: {value}{under}"


def _measured(
    knowledge: Document, given: Document, readings: Mapping[str, Interpretation]
) -> list[str]:
    lines = ["Measured:"] if given else []
    for check, reading in given.items():
        lines.append(f"  {reading_line(knowledge, check, reading)}")
        if check in readings:
            lines.append(f"    {reading_words(knowledge, readings[check])}")
    return lines


def _found(knowledge: Document, outcomes: Document) -> list[str]:
    lines = ["Found:"] if outcomes else []
    for check, level in outcomes.items():
        entry = knowledge["checks"][check]
        labels = {one["id"]: one["label"] for one in entry["levels"]}
        lines.append(f"  {entry['title']}: {lower_first(labels[level])}")
    return lines
