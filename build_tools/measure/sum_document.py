"""Room 5: give a sum's whole answer as one document for pages and programs.

The shape is that of any reading: inputs, outputs, sentence, limits, next step, sources and
the reading it can be entered as. It works nothing out and prints nothing. The same as
`assets/measure/sum-document.js`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.measure.words import (
    assumption_words,
    marks_used,
    mend_words,
    sentence,
    source_document,
    sum_refusal_words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.measure.sums import SumResult

    Plain = Mapping[str, Any]


def sum_document(
    definition: Plain, result: SumResult, units: Plain, sources: Plain
) -> dict[str, Any]:
    """Return a sum's whole answer.

    `refused` is set where an input cannot be used; `question` beside it says what was
    probably meant. `near_edge` is true for verdicts too close to call. `to_case` is the
    reading a check can take, or None.
    """
    refused = result.refused is not None
    said = [] if refused else assumption_words(definition, result, units)
    return {
        "id": definition["id"],
        "kind": "sum",
        "title": definition["title"],
        "inputs": _inputs(definition, result),
        "verdict": result.verdict,
        "outputs": _figures(definition, result),
        "band": None,
        "band_weights": None,
        "near_edge": (result.verdict or "").startswith("near"),
        "assumptions": said,
        "question": _question(result),
        "refused": _refused(definition, result, units),
        "sentence": None if refused else sentence(definition, result, units),
        "does_not_tell": definition["does_not_tell"],
        "next": definition["next"],
        "next_check": definition["next_check"],
        "cautions": list(definition["cautions"]),
        "sources": [source_document(mark, sources) for mark in marks_used(definition)],
        "note": definition.get("note"),
        "to_case": None if refused else _to_case(definition, result),
    }


def _units_of(definition: Plain) -> dict[str, str]:
    return {entry["id"]: entry["unit"] for entry in definition["inputs"] if "unit" in entry}


def _inputs(definition: Plain, result: SumResult) -> dict[str, Any]:
    units = _units_of(definition)
    numbers = {
        name: {"value": value, "unit": units[name]} for name, value in result.numbers.items()
    }
    return {
        **numbers,
        **{name: {"value": one, "unit": None} for name, one in result.choices.items()},
    }


def _figures(definition: Plain, result: SumResult) -> list[dict[str, Any]]:
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


def _question(result: SumResult) -> dict[str, Any] | None:
    if result.question is None:
        return None
    asked = result.question
    return {
        "field": asked.field,
        "likely_value": asked.likely_value,
        "likely_unit": asked.likely_unit,
        "why": asked.why,
    }


def _refused(definition: Plain, result: SumResult, units: Plain) -> dict[str, Any] | None:
    if result.refused is None:
        return None
    return {
        "field": result.refused.field,
        "reason": result.refused.reason,
        "why": sum_refusal_words(definition, result.refused, units),
        "mend": mend_words(definition, result.refused, result.question, units),
    }


def _to_case(definition: Plain, result: SumResult) -> dict[str, Any] | None:
    """Return the reading this sum can be entered as, the first way that fits."""
    for way in definition.get("to_case") or ():
        reading = _reading(definition, result, way)
        chosen = all(result.choices.get(name) == one for name, one in way.get("when", {}).items())
        meant = result.verdict in way.get("verdicts", [result.verdict])
        if reading is not None and chosen and meant:
            conditions = _conditions(definition, result, way.get("conditions", {}))
            return {"check": way["check"], **reading, "conditions": conditions}
    return None


def _conditions(definition: Plain, result: SumResult, wanted: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for context, name in wanted.items():
        if name in result.choices:
            found[context] = result.choices[name]
        elif name in result.numbers:
            unit = _units_of(definition)[name]
            found[context] = {"value": result.numbers[name], "unit": unit}
    return found


def _reading(definition: Plain, result: SumResult, way: Plain) -> dict[str, Any] | None:
    if "input" in way:
        if way["input"] not in result.numbers:
            return None
        unit = _units_of(definition)[way["input"]]
        return {"value": result.numbers[way["input"]], "unit": unit}
    if way["output"] not in result.outputs:
        return None
    unit = next(one["unit"] for one in definition["outputs"] if one["id"] == way["output"])
    return {"value": result.outputs[way["output"]].value, "unit": unit}
