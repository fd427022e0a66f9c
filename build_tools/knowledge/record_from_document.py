"""Room 2: turn the document of a gauge, context, case or source into its frozen object.

Expects a document that fits its schema.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from build_tools.knowledge.entries import (
    Band,
    Case,
    Context,
    ContextBand,
    Edge,
    EdgeCurve,
    Expectation,
    Gauge,
    GaugeCondition,
    GaugeTable,
    Meter,
    Option,
    Plausible,
    Source,
    Spread,
    Sum,
    TableBand,
)
from build_tools.knowledge.from_document import listed, named
from build_tools.knowledge.quantities import Quantity
from build_tools.knowledge.record_entries import CaseReading

Raw = Mapping[str, Any]


def gauge(value: Raw) -> Gauge:
    """Build a gauge."""
    meters = value.get("meters") or {}
    return Gauge(
        **named(value),
        quantity=value["quantity"],
        unit=value["unit"],
        accepts=listed(value, "accepts"),
        plausible=_plausible(value["plausible"]),
        decimals=value["decimals"],
        conditions=tuple(_condition(one) for one in listed(value, "conditions")),
        bands=tuple(
            Band(id=one["id"], label=one["label"], says=one["says"]) for one in value["bands"]
        ),
        tables=tuple(_table(one) for one in value["tables"]),
        spread=tuple(
            Spread(when=dict(one["when"]), plus=float(one["plus"]), source=one["source"])
            for one in listed(value, "spread")
        ),
        meters={
            key: Meter(percent=float(one["percent"]), plus=float(one["plus"]))
            for key, one in meters.items()
            if key != "source"
        },
        meters_source=meters.get("source"),
        does_not_tell=value["does_not_tell"],
    )


def _plausible(value: Raw) -> Plausible:
    return Plausible(
        low=float(value["low"]), high=float(value["high"]), source=value.get("source", "")
    )


def _condition(value: Raw) -> GaugeCondition:
    unknown = value.get("if_unknown") or {}
    points = tuple((float(x), float(y)) for x, y in unknown.get("points", ()))
    weights = {key: float(one) for key, one in unknown.items() if key != "points"}
    return GaugeCondition(
        id=value["id"], weights=weights, points=points, source=value.get("source")
    )


def _table(value: Raw) -> GaugeTable:
    fits = {
        key: tuple(one) if isinstance(one, list) else (str(one),)
        for key, one in (value.get("for") or {}).items()
    }
    bands = tuple(
        TableBand(
            band=one["band"],
            start=_edge(one.get("from")),
            below=_edge(one.get("below")),
            source=one.get("source"),
        )
        for one in value["bands"]
    )
    return GaugeTable(fits=fits, source=value["source"], bands=bands)


def _edge(value: Any) -> Edge | None:  # noqa: ANN401 - a number, a group or nothing
    if isinstance(value, dict):
        points = tuple((float(x), float(y)) for x, y in value["points"])
        return EdgeCurve(by=value["by"], unit=value["unit"], points=points)
    return None if value is None else float(value)


def context(value: Raw) -> Context:
    """Build a context."""
    plausible = value.get("plausible")
    return Context(
        **named(value),
        question=value["question"],
        role=value["role"],
        type=value["type"],
        options=tuple(Option(id=one["id"], label=one["label"]) for one in listed(value, "options")),
        unit=value.get("unit"),
        accepts=listed(value, "accepts"),
        plausible=_plausible(plausible) if plausible else None,
        bands=tuple(
            ContextBand(
                id=one["id"], start=_edge_number(one, "from"), below=_edge_number(one, "below")
            )
            for one in listed(value, "bands")
        ),
    )


def _edge_number(value: Raw, key: str) -> float | None:
    return None if value.get(key) is None else float(value[key])


def case(value: Raw, default_units: Mapping[str, str]) -> Case:
    """Build a worked case; bare numbers take the context's own unit from `default_units`."""
    expect = value["expect"]
    tools = value.get("tools")
    return Case(
        id=value["id"],
        title=value["title"],
        status=value["status"],
        reviewed=value["reviewed"],
        story=value["story"],
        symptoms=listed(value, "symptoms"),
        absent=listed(value, "absent"),
        context=_answers(value.get("context") or {}, default_units),
        readings={
            key: CaseReading(
                quantity=Quantity(value=float(one["value"]), unit=one["unit"]),
                conditions=_answers(
                    {name: raw for name, raw in one.items() if name not in {"value", "unit"}},
                    default_units,
                ),
            )
            for key, one in (value.get("readings") or {}).items()
        },
        outcomes=dict(value.get("outcomes") or {}),
        tools=None if tools is None else tuple(tools),
        not_possible=listed(value, "not_possible"),
        expect=Expectation(
            group_in_first_three=expect.get("group_in_first_three"),
            cause_in_first_three=expect.get("cause_in_first_three"),
            supply=expect.get("supply"),
            checks_next="next" in expect,
            next=expect.get("next"),
            stop_now=listed(expect, "stop_now"),
        ),
    )


def _answers(value: Raw, default_units: Mapping[str, str]) -> dict[str, str | Quantity]:
    answers: dict[str, str | Quantity] = {}
    for key, raw in value.items():
        if isinstance(raw, dict):
            answers[key] = Quantity(value=float(raw["value"]), unit=raw["unit"])
        elif isinstance(raw, str):
            answers[key] = raw
        else:
            answers[key] = Quantity(value=float(raw), unit=default_units.get(key, ""))
    return answers


def sum_entry(value: Raw) -> Sum:
    """Build a sum."""
    return Sum(
        **named(value),
        group=value["group"],
        question=value["question"],
        formula=value["formula"],
        next_check=value.get("next_check"),
        cautions=listed(value, "cautions"),
        sources=listed(value, "sources"),
        document=value,
    )


def source(value: Raw) -> Source:
    """Build a source."""
    return Source(
        id=value["id"],
        title=value["title"],
        section=value.get("section") or "",
        publisher=value.get("publisher") or "",
        year=value.get("year"),
        mark=value["mark"],
        seen=value["seen"],
        note=value.get("note") or "",
    )
