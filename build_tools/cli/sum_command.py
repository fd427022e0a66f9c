"""Room 5: work out a sum from the words of a command line.

Reads KEY=VALUE words, works the sum out and returns its whole answer as a document.
It prints nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.cli.reading_pairs import read_pairs, split_quantity
from build_tools.knowledge.nearest import nearest
from build_tools.measure.gauges_documents import unit_document
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import work_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Source


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
        key: text if key in choices else split_quantity(text)
        for key, text in read_pairs(pairs).items()
    }
    units = {name: unit_document(one) for name, one in catalogue.vocabulary.units.items()}
    sources = {name: _source(one) for name, one in catalogue.sources.items()}
    return sum_document(definition, work_out(definition, given, units), units, sources)


def _source(source: Source) -> dict[str, str]:
    return {"title": source.title, "mark": source.mark}
