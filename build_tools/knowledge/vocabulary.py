"""Room 2: the closed word lists that every entry draws from, and how they are read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from build_tools.knowledge.quantities import Unit

Raw = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Family:
    """Group symptoms on the first page; families are shown by `order`."""

    id: str
    title: str
    order: int
    summary: str


@dataclass(frozen=True, kw_only=True)
class Tool:
    """Name a tool and hint which kind will do and what it costs, in plain words."""

    id: str
    title: str
    hint: str


@dataclass(frozen=True, kw_only=True)
class Hazard:
    """A caution, read before the step it belongs to; `short` says the most of it in one line."""

    id: str
    title: str
    short: str
    text: str
    source: str

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Take off the line break that ends a block of text."""
        return {**raw, "text": raw["text"].strip()}


@dataclass(frozen=True, kw_only=True)
class Ability:
    """What the car can or may do, and what to do instead `without` it, in one sentence.

    It cannot be there without those it `implies`. `instead` names checks that help then. A step
    that tells to do one of `acts` asks for it.
    """

    id: str
    title: str
    without: str
    implies: tuple[str, ...]
    instead: tuple[str, ...]
    acts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StopLine:
    """What makes driving or going on unsafe, why, and the abilities it takes away.

    `by_shop` says that whatever is to be repaired under it, a shop repairs. `covers` are lines
    that say no more than this one; beside it only their reasons are told.
    """

    id: str
    text: str
    why: str
    source: str
    takes_away: tuple[str, ...] = ()
    by_shop: bool = False
    covers: tuple[str, ...] = ()

    @staticmethod
    def unfold(raw: Raw) -> Raw:
        """Take off the line breaks that end blocks of text."""
        return {**raw, "text": raw["text"].strip(), "why": raw["why"].strip()}


@dataclass(frozen=True, kw_only=True)
class Group:
    """Group causes. `supply` counts it to the supply; `fallback` words it in general."""

    id: str
    title: str
    supply: bool
    fallback: str


@dataclass(frozen=True, kw_only=True)
class Scale:
    """The numbers behind the words for likelihoods, and the mark of their source."""

    frequency: Mapping[str, float]
    prior: Mapping[str, float]
    leak: Mapping[str, float]
    source: str = "our-estimate"


@dataclass(frozen=True, kw_only=True)
class Synonym:
    """Words owners type, the words of ours they mean, and a circumstance they offer."""

    word: str
    means: str
    offers: str


@dataclass(frozen=True, kw_only=True)
class AnswerPhrases:
    """What is meant in a stranger's message, and the phrases that mean it."""

    means: str
    phrases: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """Every word list by id; the order is that of the file.

    `link_words` maps an id to the number that stands for it in a case link, for ever.
    """

    families: Mapping[str, Family] = field(default_factory=dict)
    tools: Mapping[str, Tool] = field(default_factory=dict)
    hazards: Mapping[str, Hazard] = field(default_factory=dict)
    stop_lines: Mapping[str, StopLine] = field(default_factory=dict)
    abilities: Mapping[str, Ability] = field(default_factory=dict)
    units: Mapping[str, Unit] = field(default_factory=dict)
    groups: Mapping[str, Group] = field(default_factory=dict)
    glossary: Mapping[str, str] = field(default_factory=dict)
    synonyms: tuple[Synonym, ...] = ()
    answer_phrases: tuple[AnswerPhrases, ...] = ()
    link_words: Mapping[str, int] = field(default_factory=dict)
    scale: Scale = field(default_factory=lambda: Scale(frequency={}, prior={}, leak={}))

    @staticmethod
    def unfold(documents: Raw) -> Raw:
        """Lay out list name -> plain document by id; a missing or unfit list stays empty."""

        def rows(name: str) -> Any:  # noqa: ANN401 - a list of plain rows
            return documents.get(name, {}).get("items", ())

        by_id = ("families", "tools", "hazards", "stop_lines", "abilities", "groups")
        return {
            **{name: {one["id"]: one for one in rows(name)} for name in by_id},
            "units": {one["id"]: one for one in _with_canonical(rows("units"))},
            "glossary": {one["term"]: one["plain"] for one in rows("glossary")},
            "synonyms": rows("synonyms"),
            "answer_phrases": rows("answer_phrases"),
            "link_words": {one["word"]: one["number"] for one in rows("link_words")},
            "scale": documents.get("scale", {}),
        }


def _with_canonical(rows: list[Raw]) -> list[Raw]:
    """Add the canonical unit of each quantity: factor 1 and offset 0, first wins."""
    canonical: dict[str, str] = {}
    for row in rows:
        if row["factor"] == 1 and row["offset"] == 0:
            canonical.setdefault(row["quantity"], row["id"])
    return [{**row, "canonical": canonical.get(row["quantity"], row["id"])} for row in rows]
