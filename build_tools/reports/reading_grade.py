"""Room 4: say how easy each page is to read: words a sentence, and a school grade.

The grade is Flesch and Kincaid's (J. P. Kincaid and others, Research Branch Report 8-75, Naval
Technical Training Command, 1975): 0.39 words a sentence + 11.8 syllables a word - 15.59. It
counts syllables by their vowels, so a page may come out some tenths beside a count by dictionary;
the tests hold it against textstat. It knows nothing of sense: read a page aloud too.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from build_tools.knowledge.catalogue import Catalogue
from build_tools.lint.prose import prose_of, sentences

GOAL = 7.0
"""The median grade wanted (common practice for texts to everybody, no source)."""
_WORD = re.compile(r"[A-Za-z][A-Za-z'\u2019-]*")
_VOWELS = re.compile(r"[aeiouy]+")
_NOT_PROSE = re.compile(r"^(?:#|\||<|!\[|\{|:::|---|!!!|\?\?\?)")
_MARKUP = re.compile(r"`[^`]*`|\{[^}]*\}|<[^>]*>|\]\([^)]*\)|https?://\S+|[*_\[\]“”]")
_SILENT = re.compile(r"(?:[^aeiouylr]|[aeiouy]l|[aeiouy]r)e$|[^td]ed$|[^szxcgh]es$")
# Stories tell what an owner would; word lists are read word by word.
_LEFT_OUT = frozenset({"case", "vocabulary"})


@dataclass(frozen=True)
class Measured:
    """What one page came out at; `kind` is the folder's kind, or "page"."""

    kind: str
    name: str
    words: int
    sentences: int
    syllables: int

    @property
    def words_a_sentence(self) -> float:
        """Return how many words a sentence has on average."""
        return self.words / self.sentences

    @property
    def grade(self) -> float:
        """Return the school grade (US) that reads it with ease; below 0 is as easy as can be."""
        return 0.39 * self.words_a_sentence + 11.8 * self.syllables / self.words - 15.59


def syllables_of(word: str) -> int:
    """Count the syllables of an English word by its groups of vowels; at least one."""
    plain = re.sub(r"[^a-z]", "", word.lower())
    number = len(_VOWELS.findall(plain))
    return max(1, number - bool(_SILENT.search(plain)))


def paragraphs_of(page: str) -> str:
    """Return the prose of a Markdown page: no front matter, code, headings, tables or links."""
    body = re.sub(r"\A---\n.*?\n---\n", "", page, flags=re.DOTALL)
    body = re.sub(r"```.*?```", "", body, flags=re.DOTALL)
    kept = [line for line in body.split("\n") if not _NOT_PROSE.match(line.strip())]
    return "\n".join(kept)


def measure(kind: str, name: str, texts: Iterable[str]) -> Measured | None:
    """Measure the texts of one page; None if they hold no word."""
    found = [one for text in texts for one in sentences(_MARKUP.sub("", text))]
    spoken = [words for one in found if (words := _WORD.findall(one))]
    words = [word for sentence in spoken for word in sentence]
    if not words:
        return None
    return Measured(kind, name, len(words), len(spoken), sum(map(syllables_of, words)))


def measure_all(catalogue: Catalogue, pages: Sequence[tuple[str, str]]) -> list[Measured]:
    """Measure each entry, each file of sentences and each page, in the order of their names."""
    return [one for one in map(_measured, texts_of(catalogue, pages)) if one]


def _measured(page: tuple[str, str, list[str]]) -> Measured | None:
    return measure(*page)


def texts_of(
    catalogue: Catalogue, pages: Sequence[tuple[str, str]]
) -> Iterator[tuple[str, str, list[str]]]:
    """Yield (kind, name, texts) of everything measured."""
    for (kind, key), document in catalogue.documents.items():
        texts = [text for _, text in prose_of(kind, document)]
        if texts and kind not in _LEFT_OUT:
            yield kind, key, texts
    for name, text in pages:
        yield "page", name, [paragraphs_of(text)]


def grades_text(measured: Sequence[Measured], worst: int = 10) -> str:
    """Write the median of each kind and the hardest pages as lines of text."""
    rows = [
        _row(kind, [one for one in measured if one.kind == kind])
        for kind in sorted({one.kind for one in measured})
    ]
    hardest = [
        f"  {one.grade:4.1f}  {one.kind} {one.name} ({one.words} words)"
        for one in sorted(measured, key=lambda page: -page.grade)[:worst]
    ]
    head = "kind        pages  median grade  words a sentence"
    wanted = f"wanted: a median grade of {GOAL:g} or less"
    return "\n".join([head, *rows, _row("all", measured), wanted, "hardest:", *hardest])


def _row(name: str, pages: Sequence[Measured]) -> str:
    grade = median(one.grade for one in pages)
    length = median(one.words_a_sentence for one in pages)
    return f"{name:<11} {len(pages):5d} {grade:13.1f} {length:17.1f}"
