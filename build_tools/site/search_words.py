"""Output room: the words of a search: how they are cut, what else they mean, which are known.

Twin of `assets/knowledge/search-words.js`: the same rules in the same order, so the site,
the command line and the checker find alike. It ranks nothing and reads no files.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NotRequired, TypedDict

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Sequence

    Stem = Callable[[str], str]

LONGEST_TEXT: Final = 400
MOST_WORDS: Final = 24
# Below this share of known words the text speaks of something else; our own choice.
LEAST_KNOWN: Final = 0.4
# How much a word counts that is met only in part; our own choice.
_SLIP: Final = 0.7
_HALF: Final = 0.5
# The term of a negation by itself, and the mark before a term that is denied ("no lights").
DENIAL: Final = "not"
DENIED: Final = "!"

_DROPPED: Final = re.compile("['\u2019\u02bc`\u0300-\u036f]")
_WORD: Final = re.compile("[a-z0-9]+")
_CODE: Final = re.compile("[pbcu][0-9a-f]{4}")
_DIGITS: Final = re.compile("[0-9]+")
_NO_MEANING: Final = (
    "a about all also am an and any are as at be been but by can did do does doing each for from"
    " get gets got had has have having he her his how i if in into is it its ive just let like"
    " made make may me much my of or our she so some such than that the their them then there"
    " these they this those to too very was we were what when where which while who why with"
    " would you your actually basically idk im ill ive kinda literally pretty really thats theres"
    " theyre today yesterday"
)
_DENYING: Final = (
    "no not never without cannot cant wont dont doesnt didnt isnt arent wasnt werent"
    " wouldnt couldnt"
)
_LITTLE_MEANING: Final = "again back down no not now off on one out still up will wont"
# Words that say nothing of a car by themselves. "on", "off" and "not" are no such words.
FUNCTION_WORDS: Final = frozenset(_NO_MEANING.split())
# Words that carry meaning beside others, yet do not show that a text is about a car.
SMALL_WORDS: Final = frozenset(_LITTLE_MEANING.split())
# Words that deny the telling word after them.
DENYING_WORDS: Final = frozenset(_DENYING.split())


class Synonym(TypedDict):
    """Hold one word or a few in a row, what they mean here, and a circumstance they speak of."""

    word: str
    means: NotRequired[str]
    offers: NotRequired[str]


@dataclass(frozen=True)
class Meant:
    """Hold what typed words mean: further terms, circumstances, and which words had a meaning."""

    terms: tuple[str, ...]
    offers: tuple[str, ...]
    explained: frozenset[str]


def split_words(text: str) -> list[str]:
    """Cut text into plain lower-case words of letters and digits.

    Accents and apostrophes go ("won't" is one word), every other sign separates. Repeated
    words are kept once, in order. At most 400 characters and 24 words are used.
    """
    return list(dict.fromkeys(all_words(text)))[:MOST_WORDS]


def all_words(text: str) -> list[str]:
    """Cut text as `split_words` does, with every repetition kept: "no lights no crank"."""
    plain = unicodedata.normalize("NFKD", text[:LONGEST_TEXT]).lower()
    return _WORD.findall(_DROPPED.sub("", plain))


def terms_of(words: Iterable[str], stem: Stem) -> list[str]:
    """Turn words into the terms that are looked up: stems, a denied one with its mark.

    A denying word gives its own term and marks the telling word after it, so that "no lights"
    and "lights stay on" are apart. Each term is kept once, in order.
    """
    terms = []
    mark = ""
    for word in words:
        if word in DENYING_WORDS:
            terms.append(DENIAL)
            mark = DENIED
        elif word not in FUNCTION_WORDS:
            terms.append(mark + stem(word))
            mark = ""
    return list(dict.fromkeys(terms))


def meant_by(words: Sequence[str], synonyms: Iterable[Synonym], stem: Stem) -> Meant:
    """Find what the words mean beside themselves, in the order of the list.

    What a denied word means is denied too: "no headlamp" means "no lights".
    """
    stems = [stem(word) for word in words]
    further: list[str] = []
    offers: list[str] = []
    explained: set[str] = set()
    for one in synonyms:
        wanted = [stem(word) for word in one["word"].split(" ")]
        place = _place_of(wanted, stems)
        if place is None:
            continue
        explained.update(words[place : place + len(wanted)])
        before = [word for word in words[max(place - 1, 0) : place] if word in DENYING_WORDS]
        further.extend(terms_of([*before, *one.get("means", "").split()], stem))
        if "offers" in one:
            offers.append(one["offers"])
    typed = terms_of(words, stem)
    new = [term for term in dict.fromkeys(further) if term not in typed]
    return Meant(tuple(new), tuple(dict.fromkeys(offers)), frozenset(explained))


def _place_of(wanted: Sequence[str], stems: Sequence[str]) -> int | None:
    for place in range(len(stems) - len(wanted) + 1):
        if list(stems[place : place + len(wanted)]) == list(wanted):
            return place
    return None


def known_share(
    words: Sequence[str], explained: frozenset[str], terms: Collection[str], stem: Stem
) -> float:
    """Return which share of the telling words the index knows, slips of the finger allowed for.

    Numbers and small words do not count beside others. Text of function words only gives 0.
    """
    telling = [word for word in dict.fromkeys(words) if word not in FUNCTION_WORDS]
    little = SMALL_WORDS | DENYING_WORDS
    counted = [one for one in telling if one not in little and not _DIGITS.fullmatch(one)]
    if not counted:
        counted = telling
    if not counted:
        return 0.0
    total = 0.0
    for word in counted:
        if word in explained or word in DENYING_WORDS or _CODE.fullmatch(word):
            total += 1.0
        else:
            total += max(kin_of(stem(word), word == words[-1], terms).values(), default=0.0)
    return total / len(counted)


def kin_of(root: str, is_last: bool, terms: Collection[str]) -> dict[str, float]:  # noqa: FBT001 - twin of the browser's order
    """Return the terms a typed root may stand for, each with how surely, from 0 to 1.

    The term itself leaves out all others. The last word may be half typed, so two letters begin
    one; the index keeps stems, so a long word is also met two letters short.
    """
    if root in terms:
        return {root: 1.0}
    kin = {}
    for term in terms:
        if len(root) >= (2 if is_last else 4) and term.startswith(root):
            kin[term] = 1.0 if is_last else _SLIP
        elif len(root) >= 5 and is_one_slip(root, term):  # noqa: PLR2004 - shorter words have too many neighbours
            kin[term] = _SLIP
        elif len(root) >= 6 and term.startswith(root[:-2]):  # noqa: PLR2004 - the index keeps stems
            kin[term] = _HALF
    return kin


def is_one_slip(word: str, other: str) -> bool:
    """Return whether two words differ by one letter added, left out, changed or swapped.

    The first letter is seldom mistyped, so it has to agree: "train" is not a slip of "drain".
    """
    if not word or word[0] != other[:1] or abs(len(word) - len(other)) > 1 or word == other:
        return False
    place = 0
    while place < min(len(word), len(other)) and word[place] == other[place]:
        place += 1
    rest, left = word[place:], other[place:]
    swapped = rest[:2] == left[1::-1] and len(left) > 1 and rest[2:] == left[2:]
    return swapped or rest[1:] == left[1:] or rest[1:] == left or rest == left[1:]
