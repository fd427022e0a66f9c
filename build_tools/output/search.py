"""Output room: the texts symptoms are found by, and the search itself.

Asked for the small search document the pages fetch, and for the symptoms nearest to some
words. It ranks exactly as `assets/checker/data/search.js` does in the browser: the same
cutting of words, the same clauses in the same order, the same rounding. It reads no files
and never parses the words as query syntax.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypedDict

from lunr.builder import Builder  # type: ignore[import-untyped] # ships no types
from lunr.pipeline import Pipeline  # type: ignore[import-untyped] # ships no types
from lunr.stemmer import PorterStemmer  # type: ignore[import-untyped] # ships no types

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.model.catalogue import Catalogue

LONGEST_TEXT = 400
MOST_WORDS = 24
# A hit far below the best one is noise; the share is our own choice.
WEAKEST_SHARE = 0.25

_DROPPED = re.compile("['\u2019\u02bc`\u0300-\u036f]")
_WORD = re.compile("[a-z0-9]+")


class _BrowserStemmer(PorterStemmer):  # type: ignore[misc] # its base has no types
    """Stem as the library in the browser does: "day" keeps its y, "battery" does not.

    The Python library turns every final y into i after any vowel; the browser's asks for a
    consonant before it, as the later Porter algorithm does. Two stems would be two rankings.
    """

    b: str
    k0: int
    k: int

    def step1c(self) -> None:
        """Turn a final y into i after a consonant that is not the first letter."""
        before = self.b[self.k0 : self.k]
        if self.ends("y") and len(before) > 1 and before[-1] not in "aeiou":
            self.b = f"{self.b[: self.k]}i{self.b[self.k + 1 :]}"


_stemmer = _BrowserStemmer()


def _stem(token: Any, _place: int, _all: Any) -> Any:  # noqa: ANN401 - the library has no types
    return token.update(lambda word, _: _stemmer.stem(word))


Pipeline.register_function(_stem, "browser-stemmer")


class SearchText(TypedDict):
    """Hold what one symptom is found by.

    `says` are the owners' phrasings, `family` is the id of its family.
    """

    title: str
    says: list[str]
    family: str


class Hit(TypedDict):
    """Hold one symptom found, with its score rounded to six decimals.

    Scores compare hits of one search only.
    """

    id: str
    title: str
    score: float


@dataclass(frozen=True)
class SearchIndex:
    """Keep a built index beside the texts it was built from.

    Made by `build_index`; asked by `find_in`.
    """

    index: Any
    texts: Mapping[str, SearchText]


@dataclass(frozen=True)
class _Clause:
    """One part of a query, in the words of the index library."""

    term: str
    boost: float
    use_pipeline: bool
    edit_distance: int = 0


def search_document(catalogue: Catalogue) -> dict[str, SearchText]:
    """Collect title, owners' phrasings and family of every symptom.

    Keys are symptom ids in order. Circumstances are included: owners name them more often
    than parts. The pages publish this as `assets/data/search.json`.
    """
    return {
        symptom.id: SearchText(title=symptom.title, says=list(symptom.says), family=symptom.family)
        for symptom in sorted(catalogue.symptoms.values(), key=lambda each: each.id)
    }


def split_words(text: str) -> list[str]:
    """Cut text into plain lower-case words of letters and digits.

    Accents and apostrophes go ("won't" is one word), every other sign separates. Repeated
    words are kept once, in order. At most 400 characters and 24 words are used.
    """
    plain = unicodedata.normalize("NFKD", text[:LONGEST_TEXT]).lower()
    words = _WORD.findall(_DROPPED.sub("", plain))
    return list(dict.fromkeys(words))[:MOST_WORDS]


def build_index(texts: Mapping[str, SearchText]) -> SearchIndex:
    """Build an index over titles and owners' phrasings.

    The stop-word filter is left out ("on", "off" and "not" carry meaning here), the stemmer
    is kept. Documents enter in id order, so equal input gives an equal index.
    """
    builder = Builder()
    builder.pipeline.add(_stem)
    builder.search_pipeline.add(_stem)
    builder.ref("id")
    builder.field("title", boost=3)
    builder.field("says")
    for key in sorted(texts):
        spoken = " ".join(" ".join(split_words(line)) for line in texts[key]["says"])
        title = " ".join(split_words(texts[key]["title"]))
        builder.add({"id": key, "title": title, "says": spoken})
    return SearchIndex(builder.build(), texts)


def _clauses_for(words: Sequence[str]) -> list[_Clause]:
    """Turn words into clauses: the word itself, its beginning, and a near miss."""
    clauses = []
    for place, word in enumerate(words):
        # The last word may be half typed, so its beginning counts from two letters on.
        prefix_from = 2 if place == len(words) - 1 else 4
        clauses.append(_Clause(word, 10, use_pipeline=True))
        if len(word) >= prefix_from:
            clauses.append(_Clause(f"{word}*", 3, use_pipeline=False))
        if len(word) >= 6:  # noqa: PLR2004 the index keeps stems: "flashin" must find "flash"
            clauses.append(_Clause(f"{word[:-2]}*", 0.5, use_pipeline=False))
        if len(word) >= 4:  # noqa: PLR2004 shorter words have too many neighbours
            clauses.append(_Clause(word, 1, use_pipeline=True, edit_distance=1))
    return clauses


def find_in(built: SearchIndex, words: str, limit: int) -> list[Hit]:
    """Find the symptoms nearest to the words in a built index, best first.

    Equal scores keep id order. Text without any letter or digit finds nothing.
    """
    wanted = split_words(words)
    if not wanted:
        return []
    query = built.index.create_query()
    for each in _clauses_for(wanted):
        query.clause(
            each.term,
            boost=each.boost,
            use_pipeline=each.use_pipeline,
            edit_distance=each.edit_distance,
        )
    hits = [
        Hit(
            id=hit["ref"],
            title=built.texts[hit["ref"]]["title"],
            score=math.floor(hit["score"] * 1e6 + 0.5) / 1e6,
        )
        for hit in built.index.query(query)
    ]
    hits.sort(key=lambda hit: (-hit["score"], hit["id"]))
    best = hits[0]["score"] if hits else 0.0
    return [hit for hit in hits if hit["score"] >= best * WEAKEST_SHARE][:limit]


def find(catalogue: Catalogue, words: str, limit: int) -> list[Hit]:
    """Find the symptoms of a catalogue nearest to the words, best first.

    Equal scores keep id order. Text without any letter or digit finds nothing; no text is
    an error. Builds the index anew; keep `build_index` and `find_in` for many questions.
    """
    return find_in(build_index(search_document(catalogue)), words, limit)
