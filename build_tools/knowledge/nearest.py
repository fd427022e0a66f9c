"""Room 1: suggest the word a contributor probably meant.

Works over a closed list only and never invents a word. `closest` in the browser does the same.
"""

from collections.abc import Iterable

_MOST_SUGGESTED = 3
_MOST_LISTED = 8


def _distance(one: str, other: str) -> int:
    """Count the edits between two words; swapped neighbours count as one."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, left in enumerate(one, 1):
        below = [i]
        for j, right in enumerate(other, 1):
            best = min(row[j] + 1, below[j - 1] + 1, row[j - 1] + (left != right))
            if i > 1 and j > 1 and left == other[j - 2] and one[i - 2] == right:
                best = min(best, before[j - 2] + 1)
            below.append(best)
        before, row = row, below
    return row[-1]


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return up to three known words that a slip could have turned into `word`, closest first."""
    plain = word.lower().replace("_", "-").replace(" ", "-")
    steps = [(_distance(plain, one.lower()), one) for one in set(known)]
    near = sorted(pair for pair in steps if pair[0] <= max(1, len(plain) // 3))
    return [one for _, one in near[:_MOST_SUGGESTED]]


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
