"""Room 2: hold the closed word lists that every entry draws from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.quantities import Unit


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
    """Hold the caution that is read before the step it belongs to."""

    id: str
    title: str
    text: str
    source: str


@dataclass(frozen=True, kw_only=True)
class StopLine:
    """Hold what makes driving or going on unsafe, and why."""

    id: str
    text: str
    why: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Group:
    """Group causes. `supply` counts it to the supply; `fallback` words it in general."""

    id: str
    title: str
    supply: bool
    fallback: str


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Hold the numbers behind the words for likelihoods, and the mark of their source."""

    frequency: Mapping[str, float]
    prior: Mapping[str, float]
    leak: Mapping[str, float]
    source: str


@dataclass(frozen=True, kw_only=True)
class Synonym:
    """Hold words owners type, the words of ours they mean, and a circumstance they offer."""

    word: str
    means: str
    offers: str


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """Hold every word list by id; the order is that of the file.

    `link_words` maps an id to the number that stands for it in a case link, for ever.
    """

    families: Mapping[str, Family] = field(default_factory=dict)
    tools: Mapping[str, Tool] = field(default_factory=dict)
    hazards: Mapping[str, Hazard] = field(default_factory=dict)
    stop_lines: Mapping[str, StopLine] = field(default_factory=dict)
    units: Mapping[str, Unit] = field(default_factory=dict)
    groups: Mapping[str, Group] = field(default_factory=dict)
    glossary: Mapping[str, str] = field(default_factory=dict)
    synonyms: tuple[Synonym, ...] = ()
    link_words: Mapping[str, int] = field(default_factory=dict)
    scale: Scale = field(
        default_factory=lambda: Scale(frequency={}, prior={}, leak={}, source="our-estimate")
    )
