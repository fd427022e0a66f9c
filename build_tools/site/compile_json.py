"""Room 5: compile the catalogue into the one document the browser loads.

The same catalogue always gives the same bytes: entries go by id, word lists in the order of
their files, and the version is a hash of the content. Nothing is judged or inferred here.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network
from build_tools.engine.pricing import HOUR_VALUE, UNRESOLVED_COST
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Cause, Check, ContextFactor, Repair, Source, Step, Symptom
from build_tools.knowledge.quantities import Unit
from build_tools.knowledge.structure import plain
from build_tools.knowledge.vocabulary import Ability, Group, Hazard, StopLine, Tool, Vocabulary
from build_tools.measure.gauges_documents import context_document, gauge_document
from build_tools.site.search import synonym_list

FORMAT: Final = "1.0.0"
_VERSION_SIGNS: Final = 12
_NULL_WHEN_EMPTY: Final = {"supply_note", "why", "summary"}
_LEFT_OUT_WHEN_EMPTY: Final = {
    "requires",
    "away",
    "takes_away",
    "by_shop",
    "covers",
    "shows",
    "allows",
    "wait_hours",
    "only_with",
    "told_by",
    "own_tools",
    "after_checks",
    "resets",
    "mends",
    "ends",
    "sets",
    "drawing_with",
    "codes",
    "stop_colder",
}
# What is published of each class, in the order of the published document; the rest of an entry
# is for pages. A class that is not named is published whole.
_KEYS: Final[Mapping[type, str]] = {
    Symptom: (
        "title summary role family says stop_now stop_colder takes_away shows sets ask_first "
        "supply_note looks_like causes"
    ),
    Cause: "title summary group context repair confirmed_by unconfirmable_because confused_with",
    ContextFactor: "when is times why",
    Repair: (
        "action part price minutes wait_hours who cautions requires own_tools after_checks sets"
    ),
    Check: (
        "title summary aspects tools effort cautions requires away needs only_for only_with "
        "told_by steps drawing drawing_with gauge conditions levels cannot_tell"
    ),
    Step: "do caution",
    Source: "title section publisher year mark",
    Hazard: "title short text source",
    StopLine: "text why source takes_away by_shop covers",
    Ability: "title without implies instead",
    Tool: "title hint",
    Group: "title supply fallback",
    Unit: "symbol quantity canonical factor offset",
}


# What was compiled last. Commands with many cases, and a build, ask for the same again and again.
_latest: list[tuple[Catalogue, dict[str, Any]]] = []


def compile_catalogue(catalogue: Catalogue) -> dict[str, Any]:
    """Return the compiled knowledge, as described by `compiled.schema.json`.

    `version` is the first 12 signs of the SHA-256 of everything else. The same document is given
    to all who ask: nobody changes it.
    """
    if not _latest or _latest[0][0] is not catalogue:
        _latest[:] = [(catalogue, _compiled(catalogue))]
    return _latest[0][1]


def _compiled(catalogue: Catalogue) -> dict[str, Any]:
    content = {
        "network": network_document(network_from_catalogue(catalogue)),
        "symptoms": _entries(catalogue.symptoms),
        "causes": _entries(catalogue.causes),
        "checks": {name: _check(one) for name, one in _entries(catalogue.checks).items()},
        "gauges": {name: gauge_document(one) for name, one in catalogue.gauges.items()},
        "sums": {name: dict(one.document) for name, one in catalogue.sums.items()},
        "contexts": {name: context_document(one) for name, one in catalogue.contexts.items()},
        **_word_lists(catalogue.vocabulary),
        "synonyms": synonym_list(catalogue),
        "sources": _entries(catalogue.sources),
        "settings": {"hour_value": HOUR_VALUE, "unresolved_cost": UNRESOLVED_COST},
    }
    signs = hashlib.sha256(to_text(content).encode()).hexdigest()[:_VERSION_SIGNS]
    return {"format": FORMAT, "version": signs, **content}


def to_text(document: dict[str, Any]) -> str:
    """Write a document compactly, keys in their own order, ending without a line break."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def network_document(network: Network) -> dict[str, Any]:
    """Return a network in the plain form of the vectors."""
    return {
        "causes": [{"id": one.id, "prior": one.prior} for one in network.causes],
        "findings": [
            {
                "id": one.id,
                "levels": list(one.levels),
                "leak": list(one.leak),
                "links": {cause: list(row) for cause, row in one.links.items()},
            }
            for one in network.findings
        ],
    }


def _entries(entries: Mapping[str, Any]) -> dict[str, Any]:
    """Write the entries of a kind by id; what may be left out is null, or not there, when empty."""
    return {name: _nulls(plain(one, _KEYS)) for name, one in entries.items()}


def _nulls(value: Any) -> Any:  # noqa: ANN401 - any plain value
    if isinstance(value, dict):
        return {
            key: None if one == "" and key in _NULL_WHEN_EMPTY else _nulls(one)
            for key, one in value.items()
            if one or key not in _LEFT_OUT_WHEN_EMPTY
        }
    return [_nulls(one) for one in value] if isinstance(value, list) else value


def _check(check: dict[str, Any]) -> dict[str, Any]:
    """Lay what a check costs beside its other keys, where the first edition had it."""
    flat: dict[str, Any] = {}
    for key, value in check.items():
        flat.update(value if key == "effort" else {key: value})
    return flat


def _word_lists(words: Vocabulary) -> dict[str, Any]:
    families = sorted(words.families.values(), key=lambda one: (one.order, one.id))
    return {
        "families": list(_entries({one.id: one for one in families}).values()),
        **{
            name: _entries(getattr(words, name))
            for name in ("hazards", "stop_lines", "abilities", "tools", "units", "groups")
        },
    }
