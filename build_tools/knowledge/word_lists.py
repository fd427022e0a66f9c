"""Room 2: turn the documents of symptoms/vocabulary into one Vocabulary.

Expects documents that fit their schemas; a list that is missing or unfit stays empty, and
the words drawn from it are then told as unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from build_tools.knowledge.quantities import Unit
from build_tools.knowledge.vocabulary import (
    Family,
    Group,
    Hazard,
    Scale,
    StopLine,
    Synonym,
    Tool,
    Vocabulary,
)

Raw = Mapping[str, Any]
WORD_LISTS = (
    "families",
    "glossary",
    "groups",
    "hazards",
    "link_words",
    "scale",
    "stop_lines",
    "synonyms",
    "tools",
    "units",
)


def vocabulary(documents: Mapping[str, Raw]) -> Vocabulary:
    """Build the vocabulary from list name -> plain document."""

    def items(name: str, build: Callable[[Raw], Any], key: str = "id") -> dict[str, Any]:
        return {one[key]: build(one) for one in documents.get(name, {}).get("items", ())}

    return Vocabulary(
        families=items("families", _family),
        tools=items("tools", _tool),
        hazards=items("hazards", _hazard),
        stop_lines=items("stop_lines", _stop_line),
        groups=items("groups", _group),
        glossary=items("glossary", lambda one: str(one["plain"]), key="term"),
        synonyms=tuple(_synonym(one) for one in documents.get("synonyms", {}).get("items", ())),
        link_words=items("link_words", lambda one: int(one["number"]), key="word"),
        units=_units(documents.get("units", {}).get("items", ())),
        scale=_scale(documents.get("scale", {})),
    )


def _family(value: Raw) -> Family:
    return Family(
        id=value["id"],
        title=value["title"],
        order=value["order"],
        summary=value.get("summary") or "",
    )


def _tool(value: Raw) -> Tool:
    return Tool(id=value["id"], title=value["title"], hint=value["hint"])


def _hazard(value: Raw) -> Hazard:
    return Hazard(
        id=value["id"],
        title=value["title"],
        text=value["text"].strip(),
        source=value.get("source") or "",
    )


def _stop_line(value: Raw) -> StopLine:
    return StopLine(
        id=value["id"],
        text=value["text"].strip(),
        why=value["why"].strip(),
        source=value.get("source") or "",
    )


def _group(value: Raw) -> Group:
    return Group(
        id=value["id"],
        title=value["title"],
        supply=value["supply"],
        fallback=value.get("fallback") or "",
    )


def _synonym(value: Raw) -> Synonym:
    return Synonym(
        word=value["word"], means=value.get("means") or "", offers=value.get("offers") or ""
    )


def _units(rows: Any) -> dict[str, Unit]:  # noqa: ANN401 - a list of plain rows
    """Build units; the canonical one of a quantity has factor 1 and offset 0, first wins."""
    canonical: dict[str, str] = {}
    for row in rows:
        if row["factor"] == 1 and row["offset"] == 0:
            canonical.setdefault(row["quantity"], row["id"])
    return {
        row["id"]: Unit(
            id=row["id"],
            symbol=row["symbol"],
            quantity=row["quantity"],
            canonical=canonical.get(row["quantity"], row["id"]),
            factor=float(row["factor"]),
            offset=float(row["offset"]),
        )
        for row in rows
    }


def _scale(value: Raw) -> Scale:
    return Scale(
        frequency=dict(value.get("frequency", {})),
        prior=dict(value.get("prior", {})),
        leak=dict(value.get("leak", {})),
        source=value.get("source", "our-estimate"),
    )
