"""Output room: the texts symptoms are found by.

Asked for the small search document the pages fetch. The search itself exists once, in
`assets/knowledge/search.js`; the command `find` runs that.
"""

from typing import NotRequired, TypedDict

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Symptom


class Synonym(TypedDict):
    """One word or a few in a row, what they mean here, and a circumstance they speak of."""

    word: str
    means: NotRequired[str]
    offers: NotRequired[str]


class SearchText(TypedDict):
    """What one symptom is found by.

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
    """All that the pages need to search: texts by symptom id, and synonyms."""

    texts: dict[str, SearchText]
    synonyms: list[Synonym]


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
