"""Command line: answer one reading or one sum as a document for programs.

Takes what a person types on the command line, `name=value`, reads it through a gauge or a sum
and gives the shape every reading and sum has. It prints nothing and exits nothing.
"""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.nearest import nearest
from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_documents import gauge_document, scales_of, unit_document
from build_tools.measure.gauges_numbers import ReadingRefused
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import work_out
from build_tools.measure.words import (
    assumptions_words,
    question_words,
    reading_words,
    refusal_words,
    source_document,
)
from build_tools.site.compile_json import compile_catalogue

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Check, Source
    from build_tools.measure.gauges import Interpretation

    Document = Mapping[str, Any]

_WITH_UNIT: Final = re.compile(r"\s*([+\-\N{MINUS SIGN}]?[0-9][0-9.,]*)\s*([^\s0-9.,].*)")
_QUANTITY: Final = re.compile("([+\\u2212-]?[0-9.,]*[0-9][.,]?)\\s*(.*)", re.DOTALL)
_OWN: Final = ("value", "unit", "confirmed")


def reading_document(catalogue: Catalogue, gauge_id: str, pairs: Iterable[str]) -> dict[str, Any]:
    """Return what one reading means.

    `pairs` are texts such as `value=12.4`, `unit=V`, `temperature=20 degF`,
    `battery-type=agm` and `confirmed=yes`. A unit may follow its number. A reading that
    cannot be used comes back with `refused`, a likely slip with `question`.

    Raises:
        ValueError: if there is no such gauge, or a pair is not `name=value`.
    """
    gauge = catalogue.gauges.get(gauge_id)
    if gauge is None:
        raise ValueError(_no_gauge(catalogue, gauge_id))
    knowledge = compile_catalogue(catalogue)
    document = _blank(catalogue, gauge_id, knowledge)
    try:
        given = _given(catalogue, gauge_id, pairs)
        document["inputs"] = {name: one for name, one in given.items() if name != "confirmed"}
        found = interpret(gauge_document(gauge), given, given, scales_of(catalogue))
    except ReadingRefused as refused:
        options = list(refused.options)
        why = refusal_words(refused)
        mend = f"use {' or '.join(options)}" if options else "enter it again"
        document["refused"] = {"field": refused.field, "why": why, "mend": mend}
        return document
    return {**document, **_answer(catalogue, knowledge, found, given)}


def _no_gauge(catalogue: Catalogue, gauge_id: str) -> str:
    near = nearest(gauge_id, catalogue.gauges)
    if near:
        return f'gauge "{gauge_id}" does not exist; did you mean "{near[0]}"?'
    return f'gauge "{gauge_id}" does not exist; known gauges: {", ".join(catalogue.gauges)}'


def _given(catalogue: Catalogue, gauge_id: str, pairs: Iterable[str]) -> dict[str, Any]:
    known = [*_OWN, *(one.id for one in catalogue.gauges[gauge_id].conditions)]
    given: dict[str, Any] = {}
    for pair in pairs:
        name, sign, text = pair.partition("=")
        name = name.strip()
        if not sign:
            raise ValueError(f'"{pair}" is not name=value')
        if name not in known:
            options = nearest(name, known) or known
            raise ReadingRefused(name, "unknown-condition", name, options)
        if name == "confirmed":
            given[name] = text.strip() in ("yes", "true", "1")
        else:
            given.update(_pair(catalogue, name, text.strip()))
    return given


def _pair(catalogue: Catalogue, name: str, text: str) -> dict[str, Any]:
    context = catalogue.contexts.get(name)
    is_number = name == "value" or (context is not None and context.type == "number")
    match = _WITH_UNIT.fullmatch(text) if is_number else None
    if match is None:
        return {name: text}
    number, unit = match.groups()
    if name == "value":
        return {"value": number, "unit": unit.strip()}
    return {name: {"value": number, "unit": unit.strip()}}


def _check_of(catalogue: Catalogue, gauge_id: str) -> Check | None:
    return next((one for one in catalogue.checks.values() if one.gauge == gauge_id), None)


def _blank(catalogue: Catalogue, gauge_id: str, knowledge: Document) -> dict[str, Any]:
    gauge = knowledge["gauges"][gauge_id]
    check = _check_of(catalogue, gauge_id)
    return {
        "id": gauge_id,
        "kind": "gauge",
        "title": gauge["title"],
        "inputs": {},
        "outputs": [],
        "band": None,
        "band_weights": None,
        "near_edge": False,
        "assumptions": [],
        "question": None,
        "refused": None,
        "sentence": None,
        "does_not_tell": gauge["does_not_tell"],
        "next": None,
        "next_check": None,
        "cautions": [] if check is None else list(check.cautions),
        "sources": [],
        "to_case": None,
    }


def _answer(
    catalogue: Catalogue, knowledge: Document, found: Interpretation, given: Document
) -> dict[str, Any]:
    said = assumptions_words(knowledge, found.assumptions)
    if found.question is not None:
        asked = {**asdict(found.question), "words": question_words(knowledge, found.question)}
        return {"question": asked, "assumptions": said}
    check = _check_of(catalogue, found.gauge)
    level = None if check is None else _level(check, found)
    decimals = knowledge["gauges"][found.gauge]["decimals"]
    return {
        "outputs": [
            {
                "id": "value",
                "label": knowledge["gauges"][found.gauge]["title"],
                "value": found.value,
                "low": found.value - 2 * found.sigma,
                "high": found.value + 2 * found.sigma,
                "unit": found.unit,
                "decimals": decimals,
            }
        ],
        "band": found.band,
        "band_weights": found.band_weights,
        "near_edge": found.near_edge,
        "assumptions": said,
        "sentence": reading_words(knowledge, found),
        "next": level,
        "sources": [source_document(one, knowledge["sources"]) for one in found.sources],
        "to_case": None if check is None else _to_case(check, found, given),
    }


def _level(check: Check, found: Interpretation) -> str | None:
    """Return what the level this band belongs to means for the car."""
    return next((one.means for one in check.levels if found.band in one.bands), None)


def _to_case(check: Check, found: Interpretation, given: Document) -> dict[str, Any]:
    conditions = {name: one for name, one in given.items() if name not in _OWN}
    return {"check": check.id, "value": found.value, "unit": found.unit, "conditions": conditions}


def sum_command(catalogue: Catalogue, sum_id: str, pairs: Sequence[str]) -> dict[str, Any]:
    """Work out one sum from words such as `draw=50mA` or `temperature=20 degF`.

    An input that cannot be used is named under `refused` of the answer.

    Raises:
        LookupError: if there is no such sum; the message names close ones.
        ValueError: if a word is not KEY=VALUE or a key comes twice.
    """
    if sum_id not in catalogue.sums:
        near = nearest(sum_id, catalogue.sums) or sorted(catalogue.sums)
        raise LookupError(f'no sum is called "{sum_id}"; there is {", ".join(near)}')
    definition = catalogue.sums[sum_id].document
    choices = {entry["id"] for entry in definition["inputs"] if "options" in entry}
    given: dict[str, object] = {
        key: text if key in choices else _split_quantity(text)
        for key, text in _read_pairs(pairs).items()
    }
    units = {name: unit_document(one) for name, one in catalogue.vocabulary.units.items()}
    sources = {name: _source(one) for name, one in catalogue.sources.items()}
    return sum_document(definition, work_out(definition, given, units), units, sources)


def _source(source: Source) -> dict[str, str]:
    return {"title": source.title, "mark": source.mark}


def _read_pairs(pairs: Sequence[str]) -> dict[str, str]:
    """Return key to text for words like `draw=50mA`.

    Raises:
        ValueError: if a word has no key or no `=`, or a key comes twice.
    """
    found: dict[str, str] = {}
    for pair in pairs:
        key, equals, value = pair.partition("=")
        key = key.strip()
        if not equals or not key:
            raise ValueError(f'"{pair}" is not KEY=VALUE, such as draw=50mA')
        if key in found:
            raise ValueError(f'"{key}" is given twice')
        found[key] = value.strip()
    return found


def _split_quantity(text: str) -> dict[str, str]:
    """Split `50mA` or `20 degF` into value and unit; what is no number stays whole.

    A unit that was left out is left out of the result.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        return {"value": text}
    value, unit = match[1], match[2].strip()
    return {"value": value, "unit": unit} if unit else {"value": value}
