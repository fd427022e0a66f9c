"""Questions that one look answers together.

A list of trouble codes is read once, and it says of every family of codes whether it is named.
Asked apart, no single family is worth the reading; together they often are. Such questions are
the checks whose levels list codes. They are planned as one step: the reading itself where it has
not been made, else the question likeliest to be answered with yes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from build_tools.engine.pricing import Offer
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Check

Table = tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Question:
    """A step that asks: its offer, and the checks it answers.

    `answers` is empty where it answers only itself, else in the order in which a code counts.
    `reading` is the check that is made for all of them, None where it has been made.
    """

    offer: Offer
    answers: tuple[str, ...] = ()
    reading: str | None = None


def reads_codes(check: Check) -> bool:
    """Say whether a check is answered by the numbers in a list of codes."""
    return any(level.codes for level in check.levels)


def questions(
    catalogue: Catalogue,
    offers: Mapping[str, Offer],
    useful: Sequence[Offer],
    named: Callable[[str], float],
) -> list[Question]:
    """Put together what one look answers; `named` predicts P(a family is named).

    The family named most seldom counts first, because it tells most. The look costs what its
    dearest question does.
    """
    groups: dict[tuple[str, ...], list[Offer]] = {}
    for offer in useful:
        if reads_codes(catalogue.checks[offer.check]):
            groups.setdefault(offer.before, []).append(offer)
    readings = {before[-1] for before in groups if before}
    found = [
        Question(offer)
        for offer in useful
        if not reads_codes(catalogue.checks[offer.check]) and offer.check not in readings
    ]
    for before, members in groups.items():
        order = sorted(members, key=lambda one: (round(named(one.check), 9), one.check))
        reading = before[-1] if before else None
        offer = replace(
            order[-1] if reading is None else offers[reading],
            cost=max(one.cost for one in members),
        )
        found.append(Question(offer, tuple(one.check for one in order), reading))
    return found


def joined(own: Table | None, tables: Sequence[Table], worlds: int) -> Table:
    """Give P(outcome) by world: no family named, with the reading's own levels; else the first.

    `own` is the table of the reading, None where it has been made; `tables` those of the
    questions, in the order in which they count.
    """
    rows = []
    for world in range(worlds):
        quiet = 1.0
        named: list[float] = []
        for table in tables:
            normal, *others = table[world]
            named += [quiet * one for one in others]
            quiet *= normal
        unnamed = [quiet] if own is None else [quiet * one for one in own[world]]
        rows.append((*unnamed, *named))
    return tuple(rows)


Places = tuple[tuple[int, ...], ...]


def joined_confirms(own: Places | None, confirms: Sequence[Places]) -> Places:
    """Give the causes each outcome of `joined` confirms; a named code confirms as a reading can."""
    unnamed = ((),) if own is None else own
    always = set(unnamed[-1]) if own is not None else set()
    named = [tuple(sorted(always.union(level))) for levels in confirms for level in levels[1:]]
    return (*unnamed, *named)
