"""Room 5: lay out the page of a sum: its formula, its figures and a worked example.

Every figure comes from the sum's file or is worked out by the sum itself. Nothing is
rounded or worded here that the sums do not word elsewhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.knowledge import markup
from build_tools.measure.gauges_documents import unit_document
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sum_examples import EXAMPLES
from build_tools.measure.sum_formulas import FORMULA_WORDS, TABLE_COLUMNS
from build_tools.measure.sums import work_out
from build_tools.measure.words import figure_words, fixed, marks_used, unit_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.entries import Sum
    from build_tools.site.page_press import Mark, Page, Press, View

    Document = Mapping[str, Any]

OWN_LIMITS = "our-estimate"  # what an input may be is our own choice, for every sum


def sum_page(press: Press, entry: Sum) -> Page:
    """Render the page of a sum."""
    definition = entry.document
    said = FORMULA_WORDS.get(entry.formula)
    check = entry.next_check
    return press.page(
        "sum.html.j2",
        f"sums/{entry.id}",
        title=entry.title,
        description=entry.summary,
        entry=entry,
        marks_for=_marks_for,
        formula=said,
        marks=_once_each(press.marks(marks_used(definition))),
        cautions=[_caution(press, one) for one in dict.fromkeys(entry.cautions)],
        inputs=[_input(press, one) for one in definition["inputs"]],
        limits_mark=press.mark(OWN_LIMITS),
        constants=list(_constants(press, definition)),
        tables=list(_tables(press, definition)),
        example=_example(press, definition),
        note=definition.get("note"),
        does_not_tell=definition["does_not_tell"],
        next=definition["next"],
        next_check=press.refer("check", check) if check else None,
        sources=press.marks(marks_used(definition)),
    )


def _caution(press: Press, hazard_id: str) -> View:
    hazard = press.catalogue.vocabulary.hazards.get(hazard_id)
    mark = press.mark(hazard.source) if hazard and hazard.source else None
    return {**press.caution(hazard_id), "mark": mark}


def _units(press: Press) -> dict[str, Any]:
    return {name: unit_document(one) for name, one in press.catalogue.vocabulary.units.items()}


def _input(press: Press, entry: Document) -> View:
    units = _units(press)
    options = entry.get("options")
    limits = ""
    if not options:
        low, high = (markup.number_words(entry[edge]) for edge in ("low", "high"))
        limits = f"{low} to {high}{unit_words(entry['unit'], units)}"
    accepts = [unit_words(one, units).strip() for one in entry.get("accepts", ())]
    return {
        "label": entry["label"],
        "limits": limits,
        "options": [one["label"] for one in options or ()],
        "accepts": [one for one in accepts if one],
        "hint": entry.get("hint") or "",
        "optional": entry["optional"],
        "left_out": (entry.get("if_left_out") or {}).get("says", ""),
    }


def _constants(press: Press, definition: Document) -> Iterator[View]:
    units = _units(press)
    for name, one in (definition.get("constants") or {}).items():
        yield {
            "name": markup.upper_first(name.replace("-", " ")),
            "value": markup.number_words(one["value"]) + unit_words(one["unit"], units),
            "mark": press.mark(one["source"]),
        }


def _tables(press: Press, definition: Document) -> Iterator[View]:
    for name, one in (definition.get("tables") or {}).items():
        title = markup.upper_first(name.replace("-", " "))
        columns = TABLE_COLUMNS.get(name, (title, "Reads"))
        yield {
            "title": title,
            "columns": columns,
            "rows": [[markup.number_words(number) for number in point] for point in one["points"]],
            "mark": press.mark(one["source"]),
        }


def _example(press: Press, definition: Document) -> View | None:
    """Work the example out with the sum itself; None where no inputs were chosen for it."""
    chosen = EXAMPLES.get(definition["id"])
    if chosen is None:
        return None
    units = _units(press)
    sources = {
        name: {"title": one.title, "mark": one.mark}
        for name, one in press.catalogue.sources.items()
    }
    given = {
        name: {"value": one[0], "unit": one[1]} if isinstance(one, tuple) else one
        for name, one in chosen.items()
    }
    answer = sum_document(definition, work_out(definition, given, units), units, sources)
    if answer["refused"] is not None:
        raise ValueError(f"the worked example is refused: {answer['refused']['why']}")
    return {
        "given": [_given(one, chosen[one["id"]], units) for one in definition["inputs"]
                  if one["id"] in chosen],
        "found": [_found(one, units) for one in answer["outputs"]],
        "sentence": answer["sentence"],
        "assumed": answer["assumptions"],
    }  # fmt: skip


def _given(entry: Document, chosen: str | tuple[str, str], units: Document) -> View:
    if isinstance(chosen, tuple):
        value, unit = chosen
        shown = value.replace("-", "\N{MINUS SIGN}") + unit_words(unit, units)
        return {"label": entry["label"], "value": shown}
    labels = {one["id"]: one["label"] for one in entry["options"]}
    return {"label": entry["label"], "value": markup.lower_first(labels[chosen])}


def _found(output: Document, units: Document) -> View:
    decimals, unit = output["decimals"], unit_words(output["unit"], units)
    low, high = (fixed(output[one], decimals) for one in ("low", "high"))
    spread = f"{low} to {high}{unit}" if low != high else ""
    return {
        "label": output["label"],
        "value": figure_words(output["value"], output, units),
        "range": spread,
    }


def _once_each(marks: list[Mark]) -> list[Mark]:
    """Keep the first mark of each kind, for texts; the list of sources names them all."""
    kept: dict[str, Mark] = {}
    for mark in marks:
        kept.setdefault(mark.words, mark)
    return list(kept.values())


def _marks_for(text: str, marks: list[Mark]) -> list[Mark]:
    """Return the marks to show behind a text: none where it holds no figure."""
    return marks if any(sign.isdigit() for sign in text) else []
