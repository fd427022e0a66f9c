"""Command line: symptoms found by an owner's words, as the browser's modules find them."""

from typing import TypedDict

from build_tools.browser.embedded import browser_modules
from build_tools.site.search import SearchDocument

_SEARCH = "knowledge/search-document"


class Hit(TypedDict):
    """One symptom found, with its score of six decimals; scores compare hits of one search only."""

    id: str
    title: str
    score: float


class SymptomSearch:
    """Searches the texts of one catalogue; they are handed over once."""

    def __init__(self, document: SearchDocument) -> None:
        """Let the modules build the index of a search document."""
        self._modules = browser_modules(_SEARCH)
        self._index: int = self._modules.call(_SEARCH, "indexed", document)

    def find(self, words: str, limit: int) -> list[Hit]:
        """Find the symptoms nearest to the words, best first; equal scores keep id order."""
        hits: list[Hit] = self._modules.call(_SEARCH, "found", self._index, words, limit)
        return hits

    def led_by(self, words: str, key: str) -> list[str]:
        """List the terms that led to an entry, as stems, the weightiest first."""
        led: list[str] = self._modules.call(_SEARCH, "ledBy", self._index, words, key)
        return led

    def circumstances(self, words: str) -> list[str]:
        """List the circumstances that the words speak of, as symptom ids, to be offered."""
        ids: list[str] = self._modules.call(_SEARCH, "offered", self._index, words)
        return ids
