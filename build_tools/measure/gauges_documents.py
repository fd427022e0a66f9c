"""Room reasoning: write gauges, contexts and units in the plain form that `interpret` takes.

The same form goes into the compiled knowledge, so the page and the command line read one
shape. Nothing is judged here.
"""

from typing import Any

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import (
    Context,
    Edge,
    EdgeCurve,
    Gauge,
    GaugeCondition,
    GaugeTable,
    Plausible,
)
from build_tools.knowledge.quantities import Unit
from build_tools.measure.gauges import Scales


def gauge_document(gauge: Gauge) -> dict[str, Any]:
    """Return a gauge with the keys of its file, all lists in the file's order."""
    meters: dict[str, Any] = {
        name: {"percent": meter.percent, "plus": meter.plus}
        for name, meter in sorted(gauge.meters.items())
    }
    if meters:
        meters["source"] = gauge.meters_source
    return {
        "id": gauge.id,
        "title": gauge.title,
        "summary": gauge.summary,
        "quantity": gauge.quantity,
        "unit": gauge.unit,
        "accepts": list(gauge.accepts),
        "plausible": _plausible(gauge.plausible),
        "decimals": gauge.decimals,
        "conditions": [_condition(one) for one in gauge.conditions],
        "bands": [{"id": one.id, "label": one.label, "says": one.says} for one in gauge.bands],
        "tables": [_table(one) for one in gauge.tables],
        "spread": [
            {"when": dict(sorted(one.when.items())), "plus": one.plus, "source": one.source}
            for one in gauge.spread
        ],
        "meters": meters,
        "does_not_tell": gauge.does_not_tell,
    }


def _plausible(limits: Plausible) -> dict[str, Any]:
    return {"low": limits.low, "high": limits.high, "source": limits.source}


def _condition(condition: GaugeCondition) -> dict[str, Any]:
    if condition.points:
        if_unknown: dict[str, Any] = {"points": [list(point) for point in condition.points]}
    else:
        if_unknown = dict(sorted(condition.weights.items()))
    return {"id": condition.id, "if_unknown": if_unknown, "source": condition.source}


def _table(table: GaugeTable) -> dict[str, Any]:
    bands = []
    for one in table.bands:
        band: dict[str, Any] = {"band": one.band}
        if one.start is not None:
            band["from"] = _edge(one.start)
        if one.below is not None:
            band["below"] = _edge(one.below)
        if one.source is not None:
            band["source"] = one.source
        bands.append(band)
    fits = {name: list(options) for name, options in sorted(table.fits.items())}
    return {"for": fits, "source": table.source, "bands": bands}


def _edge(edge: Edge) -> float | dict[str, Any]:
    if not isinstance(edge, EdgeCurve):
        return edge
    return {"by": edge.by, "unit": edge.unit, "points": [list(point) for point in edge.points]}


def context_document(context: Context) -> dict[str, Any]:
    """Return a context with the keys of its file."""
    document: dict[str, Any] = {
        "id": context.id,
        "title": context.title,
        "summary": context.summary,
        "question": context.question,
        "role": context.role,
        "type": context.type,
    }
    if context.type == "choice":
        document["options"] = [
            {
                "id": one.id,
                "label": one.label,
                **({"stop_now": list(one.stop_now)} if one.stop_now else {}),
                **({"as_cold_as": one.as_cold_as} if one.as_cold_as is not None else {}),
                **({"share": one.share} if one.share is not None else {}),
            }
            for one in context.options
        ]
        return document
    document["unit"] = context.unit
    document["accepts"] = list(context.accepts)
    if context.plausible is not None:
        document["plausible"] = {"low": context.plausible.low, "high": context.plausible.high}
    document["bands"] = [
        {
            "id": one.id,
            **({} if one.start is None else {"from": one.start}),
            **({} if one.below is None else {"below": one.below}),
        }
        for one in context.bands
    ]
    return document


def unit_document(unit: Unit) -> dict[str, Any]:
    """Return a unit: canonical value = value * factor + offset."""
    return {
        "symbol": unit.symbol,
        "quantity": unit.quantity,
        "canonical": unit.canonical,
        "factor": unit.factor,
        "offset": unit.offset,
    }


def scales_of(catalogue: Catalogue) -> Scales:
    """Return the units and contexts of a catalogue in plain form."""
    return Scales(
        units={name: unit_document(one) for name, one in catalogue.vocabulary.units.items()},
        contexts={name: context_document(one) for name, one in catalogue.contexts.items()},
    )
