"""Room 5: the knowledge as data for others, every figure with its mark.

Four files stand beside the pages' own parts: the compiled knowledge, and as their authors wrote
them the worked cases, the monitors with the inspection rules, and the sentences. Each names its
edition, terms and schema, so that a file found alone still says what it is.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import OUR_ESTIMATE, Likelihood
from build_tools.site.compile_json import to_text

FOLDER: Final = "assets/data"
LICENCE: Final = "CC-BY-4.0"  # its name in the SPDX list
# File to the kinds of entries it holds as their authors wrote them.
_WRITTEN: Final[dict[str, tuple[str, ...]]] = {
    "cases": ("case",),
    "inspections": ("monitor", "inspection"),
    "sentences": ("sentences",),
}
_SCHEMA: Final = {"knowledge": "compiled"}
FILES: Final = ("knowledge", *_WRITTEN)


def published_files(
    catalogue: Catalogue, data: Mapping[str, Any], about: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    """Yield the address and the text of every published file.

    `data` is the compiled knowledge; `about` is `extra` of mkdocs.yml: `edition` with its
    number, date and the addresses of `former` ones, and `repository`, empty while there is none.
    """
    for name in FILES:
        edition = about["edition"]
        head = {
            "format": data["format"],
            "version": data["version"],
            "edition": {"number": edition["number"], "date": str(edition["date"])},
            "former_editions": list(edition["former"]),
            "licence": LICENCE,
            "source": about["repository"] or None,
            "schema": f"../../schema/{_SCHEMA.get(name, 'published')}.schema.json",
            "files": {one: f"{one}.json" for one in FILES},
        }
        yield f"{FOLDER}/{name}.json", to_text(head | _content(name, catalogue, data))


def _content(name: str, catalogue: Catalogue, data: Mapping[str, Any]) -> dict[str, Any]:
    if name == "knowledge":
        whole = {key: one for key, one in data.items() if key not in {"format", "version"}}
        for kind in ("symptoms", "causes", "checks", "gauges", "sums", "contexts"):
            whole[kind] = {
                key: one | _review(catalogue, kind, key) for key, one in data[kind].items()
            }
        return {**whole, "marks": figure_marks(catalogue)}
    documents = catalogue.documents
    return {
        kind if kind.endswith("s") else f"{kind}s": {
            key: documents[one, key].value for one, key in sorted(documents) if one == kind
        }
        for kind in _WRITTEN[name]
    }


def _review(catalogue: Catalogue, kind: str, name: str) -> dict[str, str]:
    entry = getattr(catalogue, kind)[name]
    return {"status": entry.status, "reviewed": entry.reviewed}


def figure_marks(catalogue: Catalogue) -> dict[str, Any]:
    """Return the mark of every figure that stands in the document without its own.

    Priors go by cause, leaks by finding and level, likelihoods by finding, cause and level. A
    symptom is noticed or not, so its one level is `noticed`.
    """
    leaks: dict[str, dict[str, str]] = {}
    likelihoods: dict[str, dict[str, dict[str, str]]] = {}
    for name, symptom in catalogue.symptoms.items():
        leaks[name] = {"noticed": symptom.unprompted.source}
        likelihoods[name] = {one.cause: {"noticed": one.how_often.source} for one in symptom.causes}
    for name, check in catalogue.checks.items():
        leaks[name] = _marks(check.unprompted)
        likelihoods[name] = {shift.cause: _marks(shift.at_least) for shift in check.shifts}
    return {
        "priors": {name: one.how_common.source for name, one in catalogue.causes.items()},
        "leaks": leaks,
        "likelihoods": likelihoods,
        "context_factors": {
            name: [factor.source or OUR_ESTIMATE for factor in one.context]
            for name, one in catalogue.causes.items()
        },
        "settings": "our-estimate",
    }


def _marks(levels: Mapping[str, Likelihood]) -> dict[str, str]:
    return {level: one.source for level, one in levels.items()}
