"""Room 5: compile the catalogue into the one document the browser loads.

The same catalogue always gives the same bytes: entries go by id, word lists in the order of
their files, and the version is a hash of the content. Nothing is judged or inferred here.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any, Final

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.planner import WORK_LIMIT
from build_tools.engine.triage_offers import HOUR_VALUE, UNRESOLVED_COST
from build_tools.measure.gauges_documents import (
    context_document,
    gauge_document,
    unit_document,
)
from build_tools.site.search import synonym_list

if TYPE_CHECKING:
    from build_tools.engine.network import Network
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import (
        Cause,
        Check,
        Level,
        Repair,
        Source,
        Symptom,
        Vocabulary,
    )

FORMAT: Final = "1.0.0"
_VERSION_SIGNS: Final = 12


def compile_catalogue(catalogue: Catalogue) -> dict[str, Any]:
    """Return the compiled knowledge, as described by `compiled.schema.json`.

    `version` is the first 12 signs of the SHA-256 of everything else.
    """
    content = {
        "network": network_document(network_from_catalogue(catalogue)),
        "symptoms": {name: _symptom(one) for name, one in catalogue.symptoms.items()},
        "causes": {name: _cause(one) for name, one in catalogue.causes.items()},
        "checks": {name: _check(one) for name, one in catalogue.checks.items()},
        "gauges": {name: gauge_document(one) for name, one in catalogue.gauges.items()},
        "sums": {name: dict(one.document) for name, one in catalogue.sums.items()},
        "contexts": {name: context_document(one) for name, one in catalogue.contexts.items()},
        **_word_lists(catalogue.vocabulary),
        "synonyms": synonym_list(catalogue),
        "sources": {name: _source(one) for name, one in catalogue.sources.items()},
        "settings": {
            "hour_value": HOUR_VALUE,
            "unresolved_cost": UNRESOLVED_COST,
            "work_limit": WORK_LIMIT,
        },
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


def _symptom(symptom: Symptom) -> dict[str, Any]:
    return {
        "title": symptom.title,
        "summary": symptom.summary,
        "role": symptom.role,
        "family": symptom.family,
        "says": list(symptom.says),
        "stop_now": list(symptom.stop_now),
        "ask_first": [
            {
                "question": one.question,
                "answers": [{"says": each.says, "symptom": each.symptom} for each in one.answers],
            }
            for one in symptom.ask_first
        ],
        "supply_note": symptom.supply_note or None,
        "looks_like": symptom.looks_like,
        "causes": [
            {
                "cause": one.cause,
                "how_often": one.how_often.value,
                "why": one.why,
                "checks": list(one.checks),
            }
            for one in symptom.causes
        ],
    }


def _cause(cause: Cause) -> dict[str, Any]:
    return {
        "title": cause.title,
        "summary": cause.summary,
        "group": cause.group,
        "context": [
            {"when": one.when, "is": one.equals, "times": one.times, "why": one.why or None}
            for one in cause.context
        ],
        "repair": _repair(cause.repair),
        "confirmed_by": [{"check": one.check, "level": one.level} for one in cause.confirmed_by],
        "unconfirmable_because": cause.unconfirmable_because,
        "confused_with": [
            {"cause": one.cause, "told_apart_by": one.told_apart_by} for one in cause.confused_with
        ],
    }


def _repair(repair: Repair) -> dict[str, Any]:
    price = repair.price
    return {
        "action": repair.action,
        "part": repair.part,
        "price": {
            "low": price.low,
            "high": price.high,
            "currency": price.currency,
            "year": price.year,
            "source": price.source,
        },
        "minutes": repair.minutes,
        "who": repair.who,
        "cautions": list(repair.cautions),
    }


def _check(check: Check) -> dict[str, Any]:
    effort = check.effort
    return {
        "title": check.title,
        "summary": check.summary,
        "aspects": list(check.aspects),
        "tools": list(check.tools),
        "minutes": effort.minutes,
        "money": effort.money,
        "currency": effort.currency,
        "skill": effort.skill,
        "needs_helper": effort.needs_helper,
        "source": effort.source,
        "cautions": list(check.cautions),
        "needs": [
            {"check": one.check, "at_most": one.at_most, "otherwise": one.otherwise}
            for one in check.needs
        ],
        "only_for": list(check.only_for),
        "steps": [{"do": one.do, "caution": one.caution} for one in check.steps],
        "drawing": check.drawing,
        "gauge": check.gauge,
        "conditions": list(check.conditions),
        "levels": [_level(one) for one in check.levels],
        "cannot_tell": check.cannot_tell,
    }


def _level(level: Level) -> dict[str, Any]:
    return {
        "id": level.id,
        "label": level.label,
        "means": level.means,
        "bands": list(level.bands),
        "proves": level.proves,
        "stop_now": list(level.stop_now),
    }


def _word_lists(words: Vocabulary) -> dict[str, Any]:
    families = sorted(words.families.values(), key=lambda one: (one.order, one.id))
    return {
        "families": [
            {"id": one.id, "title": one.title, "order": one.order, "summary": one.summary or None}
            for one in families
        ],
        "hazards": {
            name: {"title": one.title, "text": one.text, "source": one.source}
            for name, one in words.hazards.items()
        },
        "stop_lines": {
            name: {"text": one.text, "why": one.why, "source": one.source}
            for name, one in words.stop_lines.items()
        },
        "tools": {
            name: {"title": one.title, "hint": one.hint} for name, one in words.tools.items()
        },
        "units": {name: unit_document(one) for name, one in words.units.items()},
        "groups": {
            name: {"title": one.title, "supply": one.supply, "fallback": one.fallback}
            for name, one in words.groups.items()
        },
    }


def _source(source: Source) -> dict[str, Any]:
    return {
        "title": source.title,
        "section": source.section,
        "publisher": source.publisher,
        "year": source.year,
        "mark": source.mark,
    }
