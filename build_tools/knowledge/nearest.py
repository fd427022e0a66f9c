"""Room 1: suggest the word a contributor probably meant.

Works over a closed list only and never invents a word.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_MOST_SUGGESTED = 3
_MOST_LISTED = 8


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return at most three known words close to the given one, closest first."""
    return get_close_matches(word, sorted(set(known)), n=_MOST_SUGGESTED, cutoff=0.6)


def did_you_mean(word: str, known: Iterable[str], *, where: str = "") -> str:
    """Word the mend for an unknown word.

    Close words are offered; with none close, a short list is given whole and a long
    one is left to `where`, the sentence that says where to look.
    """
    choices = sorted(set(known))
    close = nearest(word, choices)
    if close:
        return "did you mean " + " or ".join(f'"{one}"' for one in close) + "?"
    if choices and len(choices) <= _MOST_LISTED:
        return "choose from " + ", ".join(f'"{one}"' for one in choices)
    return where or f"choose one of the {len(choices)} known words"
