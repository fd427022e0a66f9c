"""Output room: the texts symptoms are found by, and the search itself.

Asked for the small search document the pages fetch, and for the symptoms nearest to some
words. It ranks exactly as `assets/knowledge/search.js` does in the browser: the same terms, the
same weights, the same rounding. The library of the browser only stems. It reads no files and
never parses the words as query syntax.

The score of an entry is the share of what was typed that it speaks of: rare words weigh more;
a word counts fully in the title, less in one phrasing; words met in one phrasing count more
than words strewn over the entry; a denied word is another word than the word itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NotRequired, TypedDict

from lunr.stemmer import PorterStemmer  # type: ignore[import-untyped] # ships no types

from build_tools.site.search_words import (
    DENIAL,
    DENIED,
    LEAST_KNOWN,
    MOST_WORDS,
    SMALL_WORDS,
    Meant,
    Synonym,
    all_words,
    kin_of,
    known_share,
    meant_by,
    terms_of,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Symptom

    _Strengths = Mapping[str, Mapping[Any, float]]

# All weights here are our own choice, tried on phrasings left out of their entries.
# A hit far below the best one is noise.
WEAKEST_SHARE = 0.25
# A word that stands for what was typed counts a little less than the word itself.
_MEANT = 0.8
# A word met with the other sign ("lights" for "no lights") counts this much.
_OTHER_SIGN = 0.3
# How often the title and the description of an entry count, against one phrasing of owners.
_TITLE = 3.0
_ABOUT = 1.0
# A term counted this often in an entry has half of its weight there.
_HALF_COUNT = 2.0
# How much of the score is of the entry as a whole; the rest is of its best single line.
_WHOLE = 0.85
_CIRCUMSTANCE = 0.8
# An entry with a stop line comes first only if one line of it holds this share of what was
# typed, or if what was typed holds this share of one of its lines.
_SURE_OF_TYPED = 0.7
_SURE_OF_LINE = 0.65
# The weight of a negation by itself, of a word nothing here knows, and of small words.
_DENIAL_WEIGHT = 0.4
_UNKNOWN_WEIGHT = 2.5
_SMALL = 0.5
# An entry that may not come first stays just below the best that may.
_BELOW = 0.99


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


class SearchText(TypedDict):
    """Hold what one symptom is found by.

    `says` are the owners' phrasings, `family` is the id of its family, `about` tells what is
    seen. `first` says when it may come first: "sure" only on a strong match, "never" behind
    every complaint; without it, always.
    """

    title: str
    says: list[str]
    family: str
    about: NotRequired[str]
    first: NotRequired[str]


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
    """Keep what is looked up beside the texts it was made from.

    Made by `build_index`; asked by `find_in`. `terms` counts the entries that speak of a term,
    denied or not; `spoken` are the terms of titles and phrasings alone. `entries` gives the
    strength of a term, from 0 to 1, by entry; `lines` the same by the number of a title or
    phrasing, `owners` the entry of each such line.
    """

    texts: Mapping[str, SearchText]
    synonyms: Sequence[Synonym]
    terms: Mapping[str, int]
    spoken: Collection[str]
    entries: _Strengths
    lines: _Strengths
    owners: Sequence[str]
    line_weights: Sequence[float]


@dataclass(frozen=True)
class _Asked:
    """One term of a question: typed or only meant, its weight, what meets it and how surely."""

    is_typed: bool
    weight: float
    kin: Mapping[str, float]


def search_document(catalogue: Catalogue) -> SearchDocument:
    """Collect what the search needs: texts of every symptom, and the synonyms.

    Keys of `texts` are symptom ids in order. Circumstances are included: owners name them
    more often than parts. The pages publish this as `assets/data/search.json`.
    """
    texts = {
        symptom.id: _search_text(symptom)
        for symptom in sorted(catalogue.symptoms.values(), key=lambda each: each.id)
    }
    return SearchDocument(texts=texts, synonyms=synonym_list(catalogue))


def _search_text(symptom: Symptom) -> SearchText:
    # The first paragraph tells what is seen; those after it explain, and speak of other things.
    seen = symptom.looks_like.split("\n\n")[0]
    text = SearchText(
        title=symptom.title,
        says=list(symptom.says),
        family=symptom.family,
        about=" ".join(f"{symptom.summary} {seen}".split()),
    )
    if symptom.role == "circumstance":
        text["first"] = "never"
    elif symptom.stop_now:
        text["first"] = "sure"
    return text


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
    """Count the terms of titles, owners' phrasings and descriptions.

    "on", "off" and "not" carry meaning here and are kept. Entries enter in id order, so equal
    input gives an equal index.
    """
    terms: dict[str, int] = {}
    entries: dict[str, dict[str, float]] = {}
    lines: dict[str, dict[int, float]] = {}
    owners: list[str] = []
    spoken: list[list[str]] = []
    for key in sorted(texts):
        text = texts[key]
        counts: dict[str, float] = {}
        for number, line in enumerate((text["title"], *text["says"])):
            found = terms_of(all_words(line), _stem_word)
            for term in found:
                lines.setdefault(term, {})[len(owners)] = 1.0
                counts[term] = counts.get(term, 0.0) + (1.0 if number else _TITLE)
            owners.append(key)
            spoken.append(found)
        for term in terms_of(all_words(text.get("about", "")), _stem_word):
            counts[term] = counts.get(term, 0.0) + _ABOUT
        for term, count in counts.items():
            entries.setdefault(term, {})[key] = count / (count + _HALF_COUNT)
        for root in {term.removeprefix(DENIED) for term in counts}:
            terms[root] = terms.get(root, 0) + 1
    spoken_roots = {term.removeprefix(DENIED) for term in lines}
    weights = [sum(_weight(term, terms, len(texts)) for term in found) for found in spoken]
    return SearchIndex(texts, synonyms, terms, spoken_roots, entries, lines, owners, weights)


def _weight(term: str, terms: Mapping[str, int], size: int) -> float:
    """Weigh a term: the fewer entries speak of it, the more it tells."""
    if term == DENIAL:
        return _DENIAL_WEIGHT
    root = term.removeprefix(DENIED)
    weight = math.log(1 + size / (terms.get(root, 0) + 0.5))
    return weight * (_SMALL if root in SMALL_WORDS else 1.0)


def _asked(built: SearchIndex, words: Sequence[str], meant: Meant) -> list[_Asked]:
    """Turn typed words, and what they mean, into what is looked up."""
    typed = terms_of(words, _stem_word)[:MOST_WORDS]
    asked = []
    for term in (*typed, *meant.terms[:MOST_WORDS]):
        is_typed = term in typed
        root = term.removeprefix(DENIED)
        mark, other = (DENIED, "") if term.startswith(DENIED) else ("", DENIED)
        is_last = is_typed and root == _stem_word(words[-1])
        near = {DENIAL: 1.0} if term == DENIAL else kin_of(root, is_last, built.terms)
        weights = [_weight(one, built.terms, len(built.texts)) for one in near]
        weight = max(weights, default=_UNKNOWN_WEIGHT) * (1.0 if is_typed else _MEANT)
        kin = {mark + one: sure for one, sure in near.items()}
        kin |= {other + one: sure * _OTHER_SIGN for one, sure in near.items()}
        asked.append(_Asked(is_typed, weight, kin))
    return asked


def _met(asked: Sequence[_Asked], strengths: _Strengths) -> dict[Any, float]:
    """Sum the weights of what was asked, as far as each entry, or each line, speaks of it."""
    found: dict[Any, float] = {}
    for one in asked:
        best: dict[Any, float] = {}
        for term, sure in one.kin.items():
            for key, strength in strengths.get(term, {}).items():
                best[key] = max(best.get(key, 0.0), sure * strength)
        for key, share in best.items():
            found[key] = found.get(key, 0.0) + one.weight * share
    return found


def find_in(built: SearchIndex, words: str, limit: int) -> list[Hit]:
    """Find the symptoms nearest to the words in a built index, best first.

    Equal scores keep id order. Text of which less than two fifths is known here finds nothing, so
    that words about something else do not end in a wrong entry.
    """
    typed = all_words(words)
    meant = meant_by(typed, built.synonyms, _stem_word)
    if known_share(typed, meant.explained, built.spoken, _stem_word) < LEAST_KNOWN:
        return []
    asked = _asked(built, typed, meant)
    total = sum(one.weight for one in asked)
    # What the words mean may show that an entry is meant, never that it is not.
    typed_total = sum(one.weight for one in asked if one.is_typed)
    line: dict[str, float] = {}
    sure = set()
    for number, met in _met(asked, built.lines).items():
        key = built.owners[number]
        line[key] = max(line.get(key, 0.0), met)
        if met >= min(_SURE_OF_TYPED * typed_total, _SURE_OF_LINE * built.line_weights[number]):
            sure.add(key)
    scores = {
        key: (_WHOLE * met + (1 - _WHOLE) * line.get(key, 0.0)) / total
        for key, met in _met(asked, built.entries).items()
    }
    hits = [
        Hit(id=key, title=built.texts[key]["title"], score=math.floor(score * 1e6 + 0.5) / 1e6)
        for key, score in _held_back(built.texts, scores, sure).items()
    ]
    hits.sort(key=lambda hit: (-hit["score"], hit["id"]))
    best = hits[0]["score"] if hits else 0.0
    return [hit for hit in hits if hit["score"] >= best * WEAKEST_SHARE][:limit]


def _held_back(
    texts: Mapping[str, SearchText], scores: Mapping[str, float], sure: Collection[str]
) -> dict[str, float]:
    """Keep what may not come first below the best entry that may."""
    may = {key: texts[key].get("first") for key in scores}
    free = [key for key in scores if may[key] is None or (may[key] == "sure" and key in sure)]
    most = _BELOW * max((scores[key] for key in free), default=1.0)
    return {
        key: score
        if key in free
        else min(most, score * (_CIRCUMSTANCE if may[key] == "never" else 1.0))
        for key, score in scores.items()
    }


def led_by(built: SearchIndex, words: str, key: str) -> list[str]:
    """List the terms that led to an entry, as stems, the weightiest first."""
    typed = all_words(words)
    asked = _asked(built, typed, meant_by(typed, built.synonyms, _stem_word))
    met: dict[str, float] = {}
    for one in asked:
        for term, sure in one.kin.items():
            strength = built.entries.get(term, {}).get(key, 0.0)
            met[term] = max(met.get(term, 0.0), one.weight * sure * strength)
    found = sorted((term for term in met if met[term]), key=lambda term: (-met[term], term))
    return [term.replace(DENIED, f"{DENIAL} ") for term in found]


def circumstances_in(built: SearchIndex, words: str) -> list[str]:
    """List the circumstances that the words speak of, as symptom ids, to be offered."""
    meant = meant_by(all_words(words), built.synonyms, _stem_word)
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
