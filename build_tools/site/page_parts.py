"""Room 5: cut the compiled knowledge into what each page with a script reads of it.

Every page that takes up the kept case needs the names of all that a case may hold, and what
says whether an answer fits its question; the prose stays on the pages of the entries. Each part
holds pieces of the published document, under its own keys and with its format and version.
"""

from collections.abc import Mapping
from typing import Any, Final

_STAMPS: Final = ("format", "version", "settings")
# What a kept case is cleaned with, and what a reading is judged with.
_CASE_KINDS: Final = (*_STAMPS, "contexts", "gauges", "groups", "stop_lines", "tools", "units")
_MARKS: Final = ("hazards", "sources")
_OF: Final[dict[str, tuple[str, ...]]] = {
    "symptoms": ("title", "role", "stop_now", "ask_first"),
    "checks": ("title", "aspects", "minutes", "money", "currency", "gauge", "conditions"),
    "levels": ("id", "label", "bands", "proves", "stop_now", "stop_colder"),
    "causes": ("title", "group", "context", "confirmed_by"),
}
# File to the kinds it holds beside those of a case, and to further fields of those of a case.
PARTS: Final[dict[str, tuple[tuple[str, ...], dict[str, tuple[str, ...]]]]] = {
    "assets/data/readings.json": (
        ("sums", *_MARKS),
        {"levels": ("means",), "checks": ("cautions",)},
    ),
    "assets/data/logs.json": (_MARKS, {}),
}


def page_parts(knowledge: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return each part by the file it is published in."""
    return {
        file: {**_pick(knowledge, (*_CASE_KINDS, *kinds)), **_entries(knowledge, more)}
        for file, (kinds, more) in PARTS.items()
    }


def _entries(knowledge: Mapping[str, Any], more: Mapping[str, tuple[str, ...]]) -> dict[str, Any]:
    """Return symptoms, checks and causes with the fields that a part needs of them."""
    fields = {kind: (*names, *more.get(kind, ())) for kind, names in _OF.items()}
    made = {
        kind: {name: _pick(one, fields[kind]) for name, one in knowledge[kind].items()}
        for kind in ("symptoms", "checks", "causes")
    }
    for name, check in made["checks"].items():
        whole = knowledge["checks"][name]
        check["levels"] = [_pick(level, fields["levels"]) for level in whole["levels"]]
        # Where a check's cautions are shown, those of its steps are shown with them.
        if "cautions" in check:
            cautions = [step["caution"] for step in whole["steps"] if step.get("caution")]
            check["steps"] = [{"caution": caution} for caution in cautions]
    return made


def _pick(document: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    return {key: document[key] for key in keys if key in document}
