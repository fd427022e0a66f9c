"""Room 2: keep a probability together with its word and its source mark."""

from __future__ import annotations

from dataclasses import dataclass

UNSOURCED_MARKS = ("from-memory", "common-practice", "our-estimate")
OUR_ESTIMATE = "our-estimate"


@dataclass(frozen=True, kw_only=True)
class Likelihood:
    """Hold a probability.

    `word` is the scale word it was written with, None when a number was written.
    `source` is a mark: a source entry's id, from-memory, common-practice or our-estimate.
    """

    value: float
    word: str | None
    source: str
