"""Room 5: say what a sum found, in the sentences its file holds.

Fills the figures into the verdict's sentence, says why an input cannot be used, and lists
sources with their marks. The same words as `assets/checker/output/sum-words.js`.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.reasoning.sums import Refusal, SumResult
    from build_tools.reasoning.sums_parts import Interval

    Document = Mapping[str, Any]

_PLACE = re.compile(r"\{([a-z0-9-]+?)(-range)?\}")
_WORD_UNITS = {"day": "days", "h": "h", "min": "minutes", "count": "", "ratio": "", "sg": ""}
MARKS = {
    "from-memory": "from memory",
    "common-practice": "common practice, no source",
    "our-estimate": "our estimate",
}
_REFUSALS = {
    "missing": "{label} is needed for this sum.",
    "not-a-number": "{label}: “{given}” is not a number. Write it like 12.5.",
    "not-finite": "{label}: “{given}” is not a number a meter can show.",
    "comma-or-thousands": "{label}: “{given}” can be read two ways. Use a point for decimals.",
    "unknown-unit": "{label}: the unit “{given}” is not used here. Use {options}.",
    "unknown-option": "{label}: “{given}” is not one of the choices. Use {options}.",
    "unknown-input": "This sum takes no “{given}”. It takes {options}.",
    "outside-limits": "{label}: {given} lies outside {options}. Check the decimal point and unit.",
}


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


def unit_words(unit: str, units: Document) -> str:
    """Return how a unit is written after a figure, with its space; "%" takes none."""
    symbol = str(_WORD_UNITS.get(unit, units.get(unit, {}).get("symbol", unit)))
    if symbol in ("", "%"):
        return symbol
    return f"\u00a0{symbol}"


def _range_words(interval: Interval, output: Document, units: Document) -> str:
    low, high = (fixed(edge, output["decimals"]) for edge in (interval.low, interval.high))
    unit = unit_words(output["unit"], units)
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def sentence(definition: Document, result: SumResult, units: Document) -> str:
    """Return the verdict's sentence with its figures filled in."""
    outputs = {output["id"]: output for output in definition["outputs"]}

    def figure(match: re.Match[str]) -> str:
        output, interval = outputs[match[1]], result.outputs[match[1]]
        if match[2]:
            return _range_words(interval, output, units)
        return fixed(interval.value, output["decimals"]) + unit_words(output["unit"], units)

    return _PLACE.sub(figure, definition["verdicts"][result.verdict])


def refusal_words(definition: Document, refusal: Refusal) -> str:
    """Say which input cannot be used, why, and what would do."""
    own = definition.get("refusals") or {}
    if refusal.reason in own:
        return str(own[refusal.reason])
    labels = {entry["id"]: entry["label"] for entry in definition["inputs"]}
    options = ", ".join(refusal.options)
    if refusal.reason == "outside-limits":
        options = " to ".join(refusal.options)
    return _REFUSALS[refusal.reason].format(
        label=labels.get(refusal.field, refusal.field), given=refusal.given, options=options
    )


def marks_used(definition: Document) -> list[str]:
    """List the source ids and marks a sum stands on, each once, the file's order first."""
    found = list(definition["sources"])
    entries = [*definition["constants"].values(), *definition["tables"].values()]
    for entry in entries:
        if entry["source"] not in found:
            found.append(entry["source"])
    return found


def source_document(mark: str, sources: Document) -> dict[str, Any]:
    """Describe one source or mark for people and programs."""
    if mark in MARKS:
        return {"mark": MARKS[mark]}
    source = sources[mark]
    words = "published" if source["mark"] == "published" else "second-hand"
    return {"mark": words, "id": mark, "title": source["title"]}


def _figures(definition: Document, result: SumResult) -> list[dict[str, Any]]:
    return [
        {
            "id": output["id"],
            "label": output["label"],
            "value": result.outputs[output["id"]].value,
            "low": result.outputs[output["id"]].low,
            "high": result.outputs[output["id"]].high,
            "unit": output["unit"],
            "decimals": output["decimals"],
        }
        for output in definition["outputs"]
        if output["id"] in result.outputs
    ]


def sum_document(
    definition: Document, result: SumResult, units: Document, sources: Document
) -> dict[str, Any]:
    """Return a sum's whole answer: figures, sentence, limits, next step and sources."""
    refused = None
    if result.refused is not None:
        refused = {
            "field": result.refused.field,
            "reason": result.refused.reason,
            "why": refusal_words(definition, result.refused),
        }
    unit_of = {entry["id"]: entry.get("unit") for entry in definition["inputs"]}
    numbers = {
        name: {"value": value, "unit": unit_of[name]} for name, value in result.numbers.items()
    }
    return {
        "id": definition["id"],
        "kind": "sum",
        "inputs": {**numbers, **result.choices},
        "verdict": result.verdict,
        "outputs": _figures(definition, result),
        "refused": refused,
        "sentence": None if refused else sentence(definition, result, units),
        "does_not_tell": definition["does_not_tell"],
        "next": definition["next"],
        "next_check": definition["next_check"],
        "cautions": list(definition["cautions"]),
        "sources": [source_document(mark, sources) for mark in marks_used(definition)],
        "note": definition["note"],
    }
