"""Room 5: make a case from an older or a foreign link fit the knowledge of today.

Renamed ids follow the redirects; what is retired, unknown or no longer a level is left out,
and every such change is listed, never made in silence. Twin of
`assets/case/case-adopt.js`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    Document = Mapping[str, Any]

# A chain of renamings longer than this is a ring.
_MOST_STEPS: Final = 8


@dataclass
class _Adopter:
    """Hold the knowledge while one case is adopted; changes gather in order."""

    knowledge: Document
    redirects: Mapping[str, Any]
    changes: list[dict[str, Any]] = field(default_factory=list)

    def today(self, kind: str, name: str) -> str | None:
        """Return what an id is called today, None when there is nothing of the kind any more."""
        found, former = name, None
        for _ in range(_MOST_STEPS):
            if found in self.knowledge[kind]:
                if found != name:
                    self.note("renamed", kind, name, to=found)
                return found
            former = self.redirects.get(found)
            if not isinstance(former, str):
                break
            found = former
        if isinstance(former, dict):
            self.note("retired", kind, name, reason=str(former.get("retired") or ""))
        else:
            self.note("unknown", kind, name)
        return None

    def note(self, change: str, kind: str, name: str, **more: str) -> None:
        self.changes.append({"change": change, "kind": kind, "id": name, **more})

    def ids(self, kind: str, names: list[str] | None) -> list[str]:
        found = [self.today(kind, name) for name in names or []]
        return list(dict.fromkeys(one for one in found if one is not None))

    def fact(self, name: str, value: object) -> tuple[str, Any] | None:
        """Return a fact as it is told today: its id and value."""
        found = self.today("contexts", name)
        if found is None:
            return None
        context = self.knowledge["contexts"][found]
        if context["type"] == "choice":
            if any(one["id"] == value for one in context["options"]):
                return found, value
            self.note("option-gone", "contexts", found, value=str(value))
            return None
        unit = context.get("unit")
        quantity = {"value": value, "unit": unit} if _is_number(value) else value
        if _is_quantity(quantity, context.get("accepts") or [unit]):
            return found, quantity
        self.note("value-gone", "contexts", found)
        return None

    def facts(self, values: Document) -> dict[str, Any]:
        found = [self.fact(name, value) for name, value in values.items()]
        return dict(one for one in found if one is not None)

    def reading(self, check: str, given: Document) -> dict[str, Any] | None:
        gauge = self.knowledge["gauges"].get(self.knowledge["checks"][check].get("gauge"))
        if gauge is None or not _is_quantity(given, gauge["accepts"]):
            self.note("reading-gone", "checks", check)
            return None
        rest = {key: one for key, one in given.items() if key not in ("value", "unit", "confirmed")}
        confirmed = {"confirmed": True} if given.get("confirmed") is True else {}
        head = {"value": given["value"], "unit": given["unit"]}
        return {**head, **self.facts(rest), **confirmed}

    def readings(self, values: Document) -> dict[str, Any]:
        kept = {}
        for name, given in values.items():
            check = self.today("checks", name)
            reading = None if check is None else self.reading(check, given)
            if check is not None and reading is not None:
                kept[check] = reading
        return kept

    def outcomes(self, values: Document, readings: Document) -> dict[str, str]:
        kept = {}
        for name, level in values.items():
            check = self.today("checks", name)
            if check is None or check in readings:
                continue
            if any(one["id"] == level for one in self.knowledge["checks"][check]["levels"]):
                kept[check] = level
            else:
                self.note("level-gone", "checks", check, value=str(level))
        return kept


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is_quantity(value: object, accepts: list[str]) -> bool:
    if not isinstance(value, dict):
        return False
    return _is_number(value.get("value")) and value.get("unit") in accepts


def adopt_case(
    knowledge: Document, redirects: Mapping[str, Any], document: Document
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return the case as it can be used today, and every change that this took.

    A change has `change` (renamed, retired, unknown, level-gone, option-gone, value-gone,
    reading-gone), `kind` (the collection of the knowledge), `id` and what belongs to it.
    """
    adopter = _Adopter(knowledge, redirects)
    symptoms = adopter.ids("symptoms", document.get("symptoms"))
    context = adopter.facts(document.get("context") or {})
    readings = adopter.readings(document.get("readings") or {})
    outcomes = adopter.outcomes(document.get("outcomes") or {}, readings)
    case: dict[str, Any] = {
        "symptoms": symptoms,
        "context": context,
        "readings": readings,
        "outcomes": outcomes,
        "not_possible": adopter.ids("checks", document.get("not_possible")),
    }
    absent = [one for one in adopter.ids("symptoms", document.get("absent")) if one not in symptoms]
    if absent:
        case["absent"] = absent
    if document.get("tools") is not None:
        case["tools"] = adopter.ids("tools", document["tools"])
    mended = adopter.ids("causes", document.get("mended"))
    if mended:
        case["mended"] = mended
    if _is_number(document.get("hour_value")):
        case["hour_value"] = document["hour_value"]
    return case, adopter.changes


def change_words(knowledge: Document, change: Document) -> str:
    """Say one change in a sentence."""
    name = str(change["id"])
    entry = knowledge[change["kind"]].get(change.get("to", name))
    title = entry["title"] if entry else name
    match change["change"]:
        case "renamed":
            return f"“{name}” is now called “{title}”."
        case "retired":
            return f"“{name}” is no longer used: {change['reason'].rstrip('.')}."
        case "level-gone":
            return f"“{title}”: the result “{change['value']}” no longer exists and was left out."
        case "option-gone":
            return f"“{title}”: the answer “{change['value']}” no longer exists and was left out."
        case "value-gone":
            return f"“{title}”: the answer cannot be used any more and was left out."
        case "reading-gone":
            return f"“{title}”: the reading cannot be used any more and was left out."
    return f"“{name}” is not known here and was left out."
