"""Room 4: find acts that can hurt in what a reader is told, by the list of danger words.

The words stand in symptoms/vocabulary/dangers.yml. An act is one of its verbs with one of
its things at most seven words behind it. Outside of steps a verb counts where a reader could
take it as told to do; `also` lists the forms that count anywhere. A sentence that forbids
the act warns of it.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from build_tools.lint.prose import sentences

_FORBIDS = re.compile(
    r"\b(?:never|not|nobody|nothing|without|avoid|nor|neither|rather than|instead of|harms?"
    r"|dangerous|leave|\w+n't)\b",
    re.IGNORECASE,
)
# "No" speaks of its own clause alone: "No start: a spray into the intake proves it."
_FORBIDS_HERE = re.compile(r"\bno\b[^,;:]*$", re.IGNORECASE)
_NOTHING = re.compile(
    r"\b(?:no|nothing|none|never|not|nobody|neither|nor|without)\b", re.IGNORECASE
)
_TOLD = (
    r"(?:^|[,;:(\"]\s*|\b(?:and|then|or|to|you|can|could|may|must|should|now|first|again|please"
    r"|simply|just|quickly|briefly|help|let|have|him|her|them|helper)\s+)"
)


@dataclass(frozen=True)
class Danger:
    """One act, the hazards one of which must be warned of, and how it is found.

    Without hazards no caution makes the act fit to be told. With `at_step` one of them is the
    caution of the very step; `along` are warned of too; without `only_with` it is another act.
    """

    id: str
    hazards: tuple[str, ...]
    told_in: str | None
    in_steps: re.Pattern[str]
    elsewhere: re.Pattern[str] | None
    at_step: bool = False
    along: tuple[str, ...] = ()
    only_with: str | None = None

    def find(self, said: list[str], *, step: bool) -> str | None:
        """Return the words of some sentences that name the act, None where none do."""
        pattern = self.in_steps if step else self.elsewhere
        if pattern is None:
            return None
        for sentence in said:
            for found in pattern.finditer(sentence):
                before = sentence[: found.start("act")]
                forbidden = _FORBIDS.search(before) or _FORBIDS_HERE.search(before)
                if not forbidden and not _NOTHING.search(found["act"]):
                    return found["act"]
        return None


class Acts:
    """Find every listed act in a text, and remember the answer for texts met again.

    Several rules ask of the same texts, and most texts stay as they are from run to run.
    """

    def __init__(self, listed: tuple[Danger, ...]) -> None:
        """Take the acts to look for."""
        self._listed = listed
        self._met: dict[tuple[str, bool], tuple[tuple[Danger, str], ...]] = {}

    def told_in(self, text: str, *, step: bool) -> tuple[tuple[Danger, str], ...]:
        """Return each act that a text tells, with the words that name it."""
        if (text, step) not in self._met:
            said = sentences(text)
            found = ((danger, danger.find(said, step=step)) for danger in self._listed)
            self._met[text, step] = tuple((danger, act) for danger, act in found if act)
        return self._met[text, step]


@cache
def acts_of(listed: tuple[Danger, ...]) -> Acts:
    """Return the one finder of a list of acts."""
    return Acts(listed)


def dangers(value: Mapping[str, Any]) -> Iterator[Danger]:
    """Yield every act of the list, from its plain document."""
    for one in value.get("items", []):
        things = one.get("things", [])
        tail = rf"\b(?:\W+[\w'-]+){{0,7}}?\W+(?:{_any(things)})\b" if things else r"\b"
        verbs, also = one["verbs"], one.get("also", [])
        told = rf"{_TOLD}(?P<act>(?:{_any(verbs)}){tail})"
        anywhere = rf"\b(?P<act>(?:{_any([*verbs, *also])}){tail})"
        if also:
            told = rf"(?:{_TOLD}(?=(?:{_any(verbs)})\b)|\b(?=(?:{_any(also)})\b))"
            told += rf"(?P<act>(?:{_any([*verbs, *also])}){tail})"
        if one.get("any_order"):
            verbs, gap = _any([*verbs, *also]), r"\b(?:\W+[\w'-]+){0,7}?\W+"
            both = rf"(?:{verbs}){gap}(?:{_any(things)})|(?:{_any(things)}){gap}(?:{verbs})"
            told = anywhere = rf"\b(?P<act>{both})\b"
        yield Danger(
            str(one["id"]),
            tuple(one.get("hazards", [])),
            one.get("told_in"),
            re.compile(anywhere, re.IGNORECASE),
            None if one.get("steps_only") else re.compile(told, re.IGNORECASE),
            bool(one.get("at_step")),
            tuple(one.get("along", [])),
            one.get("only_with"),
        )


def _any(words: list[str]) -> str:
    return "|".join(re.escape(word) for word in words)
