"""Room 5: cut the compiled knowledge into what the checker needs at once and what it needs later.

The first part draws the first view: what can be noticed, asked and ticked. The second part is
fetched when a case begins: checks, causes, gauges and the network. Both hold pieces of the
published document, under its own keys and with its format and version; joined, they hold all
of it that the checker reads, and little else. Nothing is judged or worked out here.
"""

from collections.abc import Mapping
from typing import Any, Final

FIRST_FILE: Final = "assets/data/checker.json"
LATER_FILE: Final = "assets/data/checker-later.json"
_STAMPS: Final = ("format", "version")
_FIRST_KINDS: Final = ("families", "contexts", "stop_lines", "tools", "units", "settings")
_FIRST_OF_SYMPTOM: Final = (
    "title",
    "summary",
    "role",
    "family",
    "stop_now",
    "stop_colder",
    "sets",
    "ask_first",
)
_LATER_KINDS: Final = ("network", "causes", "checks", "gauges", "hazards", "groups", "abilities")
# What only the pages say of a cause or a check. It is weight between a tick and the first advice;
# the type check of the modules refuses one that reads it (`assets/knowledge/types.js`).
_FOR_PAGES: Final = {
    "causes": {"summary", "confused_with", "unconfirmable_because"},
    "checks": {"summary"},
}


def first_part(knowledge: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the first view needs; kinds that come later stand there empty."""
    symptoms = {
        name: {key: one[key] for key in _FIRST_OF_SYMPTOM if key in one}
        for name, one in knowledge["symptoms"].items()
    }
    later: dict[str, Any] = {kind: {} for kind in _LATER_KINDS}
    return {**_pick(knowledge, (*_STAMPS, *_FIRST_KINDS)), "symptoms": symptoms, **later}


def later_part(knowledge: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the checker needs once there is a case, beyond the first part."""
    symptoms = {
        name: {
            "causes": [{"cause": link["cause"]} for link in one["causes"]],
            **{key: one[key] for key in ("takes_away", "shows") if key in one},
        }
        for name, one in knowledge["symptoms"].items()
    }
    kinds = {
        kind: {name: _without(one, for_pages) for name, one in knowledge[kind].items()}
        for kind, for_pages in _FOR_PAGES.items()
    }
    for cause in kinds["causes"].values():
        cause["context"] = [_without(one, {"why"}) for one in cause["context"]]
        price = _without(cause["repair"]["price"], {"year", "source"})
        cause["repair"] = {**cause["repair"], "price": price}
    return {**_pick(knowledge, (*_STAMPS, *_LATER_KINDS)), **kinds, "symptoms": symptoms}


def _pick(document: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    return {key: document[key] for key in keys}


def _without(one: Mapping[str, Any], keys: set[str]) -> dict[str, Any]:
    return {key: value for key, value in one.items() if key not in keys}
