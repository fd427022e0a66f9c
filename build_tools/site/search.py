"""Output room: the texts symptoms are found by, and the search itself.

Asked for the small search document the pages fetch, and for the symptoms nearest to some
words. It ranks exactly as `assets/knowledge/search.js` does in the browser: the same
cutting of words, the same clauses in the same order, the same rounding. It reads no files
and never parses the words as query syntax.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypedDict

from lunr.builder import Builder  # type: ignore[import-untyped] # ships no types
from lunr.pipeline import Pipeline  # type: ignore[import-untyped] # ships no types
from lunr.stemmer import PorterStemmer  # type: ignore[import-untyped] # ships no types

from build_tools.site.search_words import (
    LEAST_KNOWN,
    MOST_WORDS,
    Synonym,
    known_share,
    meant_by,
    split_words,
    telling_words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.knowledge.catalogue import Catalogue

# A hit far below the best one is noise; the share is our own choice.
WEAKEST_SHARE = 0.25
# A word that stands for what was typed counts a little less than the word itself.
_MEANT_BOOST = 6
_TYPED_BOOST = 10


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


@lru_cache(maxsize=20_000)
def _stem_word(word: str) -> str:
    return str(_stemmer.stem(word))


def _stem(token: Any, _place: int, _all: Any) -> Any:  # noqa: ANN401 - the library has no types
    return token.update(lambda word, _: _stem_word(word))


Pipeline.register_function(_stem, "browser-stemmer")


class SearchText(TypedDict):
    """Hold what one symptom is found by.

    `says` are the owners' phrasings, `family` is the id of its family.
    """

    title: str
    says: list[str]
    family: str


class SearchDocument(TypedDict):
    """Hold all that the pages need to search: texts by symptom id, and synonyms."""

    texts: dict[str, SearchText]
    synonyms: list[Synonym]


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
    synonyms: Sequence[Synonym]


@dataclass(frozen=True)
class _Clause:
    """One part of a query, in the words of the index library."""

    term: str
    boost: float
    use_pipeline: bool
    edit_distance: int = 0


def search_document(catalogue: Catalogue) -> SearchDocument:
    """Collect what the search needs: texts of every symptom, and the synonyms.

    Keys of `texts` are symptom ids in order. Circumstances are included: owners name them
    more often than parts. The pages publish this as `assets/data/search.json`.
    """
    texts = {
        symptom.id: SearchText(title=symptom.title, says=list(symptom.says), family=symptom.family)
        for symptom in sorted(catalogue.symptoms.values(), key=lambda each: each.id)
    }
    return SearchDocument(texts=texts, synonyms=synonym_list(catalogue))


def synonym_list(catalogue: Catalogue) -> list[Synonym]:
    """Write the synonyms of the vocabulary as plain documents, in the order of their file."""
    rows = []
    for one in catalogue.vocabulary.synonyms:
        row = Synonym(word=one.word)
        if one.means:
            row["means"] = one.means
        if one.offers:
            row["offers"] = one.offers
        rows.append(row)
    return rows


def build_index(texts: Mapping[str, SearchText], synonyms: Sequence[Synonym] = ()) -> SearchIndex:
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
    return SearchIndex(builder.build(), texts, synonyms)


def _clauses_for(words: Sequence[str], last: str) -> list[_Clause]:
    """Turn words into clauses: the word itself, its beginning, and a near miss."""
    clauses = []
    for word in words:
        # The last word may be half typed, so its beginning counts from two letters on.
        prefix_from = 2 if word == last else 4
        clauses.append(_Clause(word, _TYPED_BOOST, use_pipeline=True))
        if len(word) >= prefix_from:
            clauses.append(_Clause(f"{word}*", 3, use_pipeline=False))
        if len(word) >= 6:  # noqa: PLR2004 the index keeps stems: "flashin" must find "flash"
            clauses.append(_Clause(f"{word[:-2]}*", 0.5, use_pipeline=False))
        if len(word) >= 4:  # noqa: PLR2004 shorter words have too many neighbours
            clauses.append(_Clause(word, 1, use_pipeline=True, edit_distance=1))
    return clauses


def find_in(built: SearchIndex, words: str, limit: int) -> list[Hit]:
    """Find the symptoms nearest to the words in a built index, best first.

    Equal scores keep id order. Text of which less than two fifths is known here finds nothing, so
    that words about something else do not end in a wrong entry.
    """
    typed = split_words(words)
    meant = meant_by(typed, built.synonyms, _stem_word)
    terms = built.index.inverted_index
    if known_share(typed, meant.explained, terms, _stem_word) < LEAST_KNOWN:
        return []
    query = built.index.create_query()
    for each in _clauses_for(telling_words(typed), typed[-1]):
        query.clause(
            each.term,
            boost=each.boost,
            use_pipeline=each.use_pipeline,
            edit_distance=each.edit_distance,
        )
    for word in meant.words[:MOST_WORDS]:
        query.clause(word, boost=_MEANT_BOOST, use_pipeline=True)
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


def circumstances_in(built: SearchIndex, words: str) -> list[str]:
    """List the circumstances that the words speak of, as symptom ids, to be offered."""
    meant = meant_by(split_words(words), built.synonyms, _stem_word)
    return [one for one in meant.offers if one in built.texts]


def index_of(catalogue: Catalogue) -> SearchIndex:
    """Build the index of a catalogue; keep it for many questions."""
    document = search_document(catalogue)
    return build_index(document["texts"], document["synonyms"])


def find(catalogue: Catalogue, words: str, limit: int) -> list[Hit]:
    """Find the symptoms of a catalogue nearest to the words, best first.

    Builds the index anew; keep `index_of` and `find_in` for many questions.
    """
    return find_in(index_of(catalogue), words, limit)
