"""Room 5: what the page that reads messages needs beside the search: phrases and sentences."""

from typing import Any

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.sentences import listed


def answer_words(catalogue: Catalogue) -> dict[str, Any]:
    """Return the phrases of messages and the sentences of replies, as the browser reads them."""
    phrases = [
        {"means": one.means, "phrases": list(one.phrases)}
        for one in catalogue.vocabulary.answer_phrases
    ]
    return {"phrases": phrases, "sentences": dict(listed("answers"))}
