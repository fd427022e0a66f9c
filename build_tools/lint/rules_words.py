"""Room 4: judge single words: what no owner would say, and what to write instead."""

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from build_tools.knowledge.problems import Severity, Span
from build_tools.knowledge.references import matches
from build_tools.knowledge.yaml_reader import KeyPath
from build_tools.lint.prose import SHOWN, passages
from build_tools.lint.rule import Judged, Told, rule

_LIST = ("vocabulary", "plain_words")
# The list itself holds the words; what owners say, and words they search by, may be any dialect.
_LEFT_ALONE = frozenset({"plain_words", "synonyms", "dangers", "link_words"})


class PlainWords:
    """Find the phrases of a word list in a text; case and line breaks make no difference.

    What was found is remembered: most texts stay as they are from run to run.
    """

    def __init__(self, items: Sequence[dict[str, Any]]) -> None:
        """Read the rows of the list: `avoid`, `use`, and `unless`, phrases in which it is right."""
        self.items = items
        self._met: dict[str, tuple[tuple[int, str, str], ...]] = {}
        self._rows = [
            (_phrases(row["avoid"]), _phrases(row.get("unless", ())), row["use"]) for row in items
        ]

    def find(self, text: str) -> tuple[tuple[int, str, str], ...]:
        """Return the place in the text, the phrase as it is written, and what to write instead."""
        if text not in self._met:
            self._met[text] = tuple(self._find(text))
        return self._met[text]

    def _find(self, text: str) -> Iterator[tuple[int, str, str]]:
        for avoid, unless, use in self._rows:
            right = [found.span() for found in unless.finditer(text)] if unless else []
            for found in avoid.finditer(text) if avoid else ():
                if not any(start <= found.start() < end for start, end in right):
                    yield found.start(), " ".join(found.group().split()), use


# The finder of the list as it was last.
_latest: list[PlainWords] = []


@cache
def _compiled(phrases: tuple[str, ...]) -> re.Pattern[str]:
    each = (r"\s+".join(re.escape(word) for word in one.split()) for one in phrases)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(each)})(?![\w-])", re.IGNORECASE)


def _phrases(phrases: Sequence[str]) -> re.Pattern[str] | None:
    return _compiled(tuple(phrases)) if phrases else None


@rule(Severity.WARNING)
def check_plain_words(judged: Judged) -> Iterator[Told]:
    """WRD651 plain-word: no word that an owner in the US would not say.

    The words, and what to write instead, are in symptoms/vocabulary/plain_words.yml. Judged are
    titles, labels, prose and sentences, the pages in content/ that a reader meets, and what the
    browser's modules and the drawings say. What owners say of their car may be any dialect.

    Why: a worried reader has to translate it first.
    Mend: write what the list says, or what you would say to a friend over the hood.
    Bad:   The gearbox lamp burns on.
    Good:  The transmission light stays on.
    """
    document = judged.catalogue.documents.get(_LIST)
    if document is None or any(one.span.file == document.file for one in judged.reading):
        return
    if not _latest or _latest[0].items != document.value["items"]:
        _latest[:] = [PlainWords(document.value["items"])]
    words = _latest[0]
    for kind, key, path, text in _shown(judged):
        for _, phrase, use in words.find(text):
            yield (kind, key, path), f'"{phrase}" is no word an owner would say', f"write {use}"
    for name, text in (*judged.pages, *judged.screens):
        for at, phrase, use in words.find(text):
            place = Span(name, text.count("\n", 0, at) + 1)
            yield place, f'"{phrase}" is no word an owner would say', f"write {use}"


def _shown(judged: Judged) -> Iterator[tuple[str, str, KeyPath, str]]:
    for kind, key, path, text in passages(judged, beside=True):
        if key not in _LEFT_ALONE:
            yield kind, key, path, text
    for (kind, key), document in judged.catalogue.documents.items():
        for pattern in SHOWN.get(kind, ()):
            for path, shown in matches(document.value, pattern):
                if isinstance(shown, str) and key not in _LEFT_ALONE:
                    yield kind, key, path, shown
