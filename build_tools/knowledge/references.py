"""Room 2: find every place where one entry names another, and what it should name.

A table of paths per kind, in which `*` stands for any list position or key. Targets are a
kind, a word list of the vocabulary, or `mark` for a source mark. References to a part of
an entry (a level, a band, an option) are followed in inner_references.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.knowledge.folders import KINDS
from build_tools.knowledge.from_document import UNKNOWN_WORD
from build_tools.knowledge.likelihood import UNSOURCED_MARKS
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Complaint, Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.vocabulary import Vocabulary
    from build_tools.knowledge.yaml_reader import Document, KeyPath

DANGLING = Complaint(
    "REF201",
    "dangling-reference",
    Severity.ERROR,
    "the page would point to something that has no page",
)
WRONG_KIND = Complaint(
    "REF202",
    "reference-of-wrong-kind",
    Severity.ERROR,
    "the page would lead somewhere that does not fit the sentence",
)

Pattern = tuple[str, ...]
REFERENCES: Mapping[str, tuple[tuple[Pattern, str], ...]] = {
    "symptom": (
        (("family",), "families"),
        (("stop_now", "*"), "stop_lines"),
        (("ask_first", "*", "answers", "*", "symptom"), "symptom"),
        (("causes", "*", "cause"), "cause"),
        (("causes", "*", "checks", "*"), "check"),
    ),
    "cause": (
        (("group",), "groups"),
        (("context", "*", "when"), "context"),
        (("repair", "cautions", "*"), "hazards"),
        (("confirmed_by", "*", "check"), "check"),
        (("confused_with", "*", "cause"), "cause"),
        (("confused_with", "*", "told_apart_by"), "check"),
    ),
    "check": (
        (("tools", "*"), "tools"),
        (("cautions", "*"), "hazards"),
        (("needs", "*", "check"), "check"),
        (("needs", "*", "otherwise"), "check"),
        (("only_for", "*"), "families"),
        (("steps", "*", "caution"), "hazards"),
        (("gauge",), "gauge"),
        (("conditions", "*"), "context"),
        (("levels", "*", "stop_now", "*"), "stop_lines"),
        (("shifts", "*", "cause"), "cause"),
    ),
    "gauge": (
        (("unit",), "units"),
        (("accepts", "*"), "units"),
        (("conditions", "*", "id"), "context"),
    ),
    "context": (
        (("unit",), "units"),
        (("accepts", "*"), "units"),
    ),
    "case": (
        (("symptoms", "*"), "symptom"),
        (("absent", "*"), "symptom"),
        (("tools", "*"), "tools"),
        (("not_possible", "*"), "check"),
        (("expect", "group_in_first_three"), "groups"),
        (("expect", "cause_in_first_three"), "cause"),
        (("expect", "next"), "check"),
        (("expect", "stop_now", "*"), "stop_lines"),
    ),
    "sum": (
        (("inputs", "*", "context"), "context"),
        (("inputs", "*", "unit"), "units"),
        (("inputs", "*", "accepts", "*"), "units"),
        (("constants", "*", "unit"), "units"),
        (("outputs", "*", "unit"), "units"),
        (("to_case", "*", "check"), "check"),
        (("next_check",), "check"),
        (("cautions", "*"), "hazards"),
    ),
    "source": (),
    "vocabulary": (),
}
# References that stand as keys of a mapping at this path.
KEY_REFERENCES: Mapping[str, tuple[tuple[Pattern, str], ...]] = {
    "gauge": (
        (("tables", "*", "for"), "context"),
        (("spread", "*", "when"), "context"),
    ),
    "case": (
        (("context",), "context"),
        (("readings",), "check"),
        (("outcomes",), "check"),
    ),
}


def matches(
    value: object, pattern: Pattern, path: KeyPath = ()
) -> Iterator[tuple[KeyPath, object]]:
    """Yield the path and value of every place in a plain value that fits a pattern."""
    if not pattern:
        yield path, value
        return
    step, rest = pattern[0], pattern[1:]
    if isinstance(value, dict):
        for key, inner in value.items():
            if step in {"*", key}:
                yield from matches(inner, rest, (*path, key))
    elif isinstance(value, list) and step == "*":
        for number, inner in enumerate(value):
            yield from matches(inner, rest, (*path, number))


def marks(value: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str]]:
    """Yield the path and text of every `source:` and of each of `sources:` in a plain value."""
    pairs: Iterator[tuple[str | int, object]] = iter(())
    if isinstance(value, dict):
        pairs = iter(value.items())
    elif isinstance(value, list):
        pairs = iter(enumerate(value))
    for key, inner in pairs:
        if key == "source" and isinstance(inner, str):
            yield (*path, key), inner
        elif key == "sources" and isinstance(inner, list):
            for number, one in enumerate(inner):
                if isinstance(one, str):
                    yield (*path, key, number), one
        else:
            yield from marks(inner, (*path, key))


def named_things(kind: str, document: Document) -> Iterator[tuple[KeyPath, str, str]]:
    """Yield (path, target, id) for everything a document of this kind names."""
    for pattern, target in REFERENCES[kind]:
        for path, value in matches(document.value, pattern):
            if isinstance(value, str):
                yield path, target, value
    for pattern, target in KEY_REFERENCES.get(kind, ()):
        for path, value in matches(document.value, pattern):
            if isinstance(value, dict):
                for key in value:
                    yield (*path, key), target, key


def check_references(
    kind: str,
    document: Document,
    known: Mapping[str, frozenset[str]],
    redirects: Mapping[str, str | None],
) -> Iterator[Problem]:
    """Yield a problem for every name in a document that leads nowhere or to the wrong kind.

    `known` holds, by target, every id that exists, refused entries included.
    """
    for path, target, name in named_things(kind, document):
        if name not in known[target] and name not in redirects:
            yield _lost(document, path, (target, name), known)
    for path, mark in marks(document.value):
        if mark not in known["source"] and mark not in UNSOURCED_MARKS:
            what = f'source "{mark}" does not exist'
            mend = did_you_mean(
                mark, [*known["source"], *UNSOURCED_MARKS], where="see symptoms/sources"
            )
            yield DANGLING.at(document.span(*path), what, mend)


def _lost(
    document: Document,
    path: KeyPath,
    wanted: tuple[str, str],
    known: Mapping[str, frozenset[str]],
) -> Problem:
    target, name = wanted
    span = document.key_span(*path) if path[-1] == name else document.span(*path)
    if target not in KINDS:
        where = f"see symptoms/vocabulary/{target}.yml"
        what = f'"{name}" is not in the list of {target.replace("_", " ")}'
        return UNKNOWN_WORD.at(span, what, did_you_mean(name, known[target], where=where))
    where = f"list what there is: python -m build_tools list {target}"
    mend = did_you_mean(name, known[target], where=where)
    for kind in KINDS:
        if name in known[kind]:
            what = f'"{name}" is a {kind}, and a {target} is expected here'
            return WRONG_KIND.at(span, what, mend)
    return DANGLING.at(span, f'{target} "{name}" does not exist', mend)


def known_words(vocabulary: Vocabulary) -> dict[str, frozenset[str]]:
    """Return the ids of every word list, by its name."""
    return {
        "families": frozenset(vocabulary.families),
        "tools": frozenset(vocabulary.tools),
        "hazards": frozenset(vocabulary.hazards),
        "stop_lines": frozenset(vocabulary.stop_lines),
        "units": frozenset(vocabulary.units),
        "groups": frozenset(vocabulary.groups),
    }
