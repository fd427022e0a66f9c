"""Room 5: the bytes a case link is made of: numbers, words and their order.

Small numbers take one byte. A word is the number that `vocabulary/link_words.yml` gave it, for
ever, or its letters when it has none yet. Twin of `assets/case/link-bytes.js`; it
knows nothing of cases.
"""

from __future__ import annotations

import re
import struct
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

# The kinds of a value; from _FIRST_WORD on it is a word's number.
_NUMBER, _QUANTITY, _TRUE, _FALSE, _TEXT, _FIRST_WORD = range(6)
# Where a number has no short decimal form its eight bytes stand instead.
_RAW: Final = 15
_MOST_DIGITS: Final = 15
_DECIMAL: Final = re.compile(r"(-?)([0-9]+)(?:\.([0-9]+))?\Z")
_WORD: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]*\Z")
LONGEST_WORD: Final = 60
LONGEST_TEXT: Final = 80
_MOST_BITS: Final = 53


class Unreadable(ValueError):  # noqa: N818 - reads as a sentence where it is caught
    """Say that bytes do not hold what they should."""


class Writer:
    """Gather bytes; `numbers` maps words to their numbers."""

    def __init__(self, numbers: Mapping[str, int]) -> None:
        self._numbers = numbers
        self.bytes = bytearray()

    def count(self, number: int) -> None:
        """Write a whole number from 0, seven bits a byte, low ones first."""
        while number > 127:  # noqa: PLR2004 - seven bits
            self.bytes.append(number % 128 + 128)
            number //= 128
        self.bytes.append(number)

    def word(self, word: str) -> None:
        """Write a word: its number plus one, or 0 and its letters."""
        number = self._numbers.get(word)
        if number is not None:
            self.count(number + 1)
            return
        self.count(0)
        self._letters(word)

    def words(self, words: Sequence[str]) -> None:
        """Write how many words follow, then the words."""
        self.count(len(words))
        for word in words:
            self.word(word)

    def number(self, value: float) -> None:
        """Write a number exactly: its decimals and digits, or its eight bytes."""
        parts = _DECIMAL.match(_plain(value))
        whole = parts and parts[2] + (parts[3] or "")
        if (
            parts
            and whole
            and len(whole.lstrip("0")) <= _MOST_DIGITS
            and len(parts[3] or "") < _RAW
        ):
            digits = int(whole)
            is_negative = parts[1] == "-"
            if not (is_negative and digits == 0):
                self.count(len(parts[3] or ""))
                self.count(digits * 2 + (1 if is_negative else 0))
                return
        self.count(_RAW)
        self.bytes += struct.pack(">d", value)

    def value(self, value: object) -> None:
        """Write a number, a number with its unit, a yes or no, an option or a short text."""
        if value is True or value is False:
            self.count(_TRUE if value else _FALSE)
        elif isinstance(value, int | float):
            self.count(_NUMBER)
            self.number(value)
        elif isinstance(value, str) and value in self._numbers:
            self.count(_FIRST_WORD + self._numbers[value])
        elif isinstance(value, str):
            self.count(_TEXT)
            self._letters(value[:LONGEST_TEXT])
        else:
            pair: Mapping[str, Any] = value  # type: ignore[assignment] # the reader of cases refused others
            self.count(_QUANTITY)
            self.number(pair["value"])
            self.word(pair["unit"])

    def _letters(self, text: str) -> None:
        raw = text.encode()
        self.count(len(raw))
        self.bytes += raw


class Reader:
    """Read bytes in the order they were written; `words` lists the words by number."""

    def __init__(self, raw: bytes, words: Sequence[str]) -> None:
        self._raw = raw
        self._place = 0
        self._words = words

    def is_done(self) -> bool:
        """Return whether all bytes were read."""
        return self._place >= len(self._raw)

    def take(self, count: int) -> bytes:
        """Read so many bytes.

        Raises:
            Unreadable: if there are fewer.

        """
        if count > len(self._raw) - self._place:
            raise Unreadable("the bytes end too early")
        self._place += count
        return self._raw[self._place - count : self._place]

    def count(self) -> int:
        """Read a whole number from 0."""
        number, shift = 0, 0
        while True:
            byte = self.take(1)[0]
            number += (byte & 127) << shift
            shift += 7
            if byte < 128:  # noqa: PLR2004 - the last of its bytes
                break
        if number.bit_length() > _MOST_BITS or shift > 63:  # noqa: PLR2004 - nine bytes
            raise Unreadable("a number is too large")
        return number

    def size(self) -> int:
        """Read how many things follow; more than the bytes that are left cannot follow."""
        number = self.count()
        if number > len(self._raw) - self._place:
            raise Unreadable("more is announced than follows")
        return number

    def word(self) -> str:
        """Read a word."""
        number = self.count()
        return self._known(number - 1) if number else _checked(self._letters(LONGEST_WORD))

    def words(self) -> list[str]:
        """Read a list of words."""
        return [self.word() for _ in range(self.size())]

    def number(self) -> float:
        """Read a number; a whole one comes back without decimals."""
        decimals = self.count()
        if decimals == _RAW:
            (value,) = struct.unpack(">d", self.take(8))
            if value != value or value in (float("inf"), float("-inf")):  # noqa: PLR0124 - not a number differs from itself
                raise Unreadable("a number is not finite")
            return float(value)
        if decimals > _RAW:
            raise Unreadable("a number has too many decimals")
        digits = self.count()
        sign = "-" if digits % 2 else ""
        if decimals == 0:
            return int(f"{sign}{digits // 2}")
        return float(f"{sign}{digits // 2}e-{decimals}")

    def value(self) -> Any:  # noqa: ANN401 - what a fact can be
        """Read a value of any kind."""
        kind = self.count()
        if kind >= _FIRST_WORD:
            return self._known(kind - _FIRST_WORD)
        if kind == _NUMBER:
            return self.number()
        if kind == _QUANTITY:
            return {"value": self.number(), "unit": self.word()}
        if kind == _TEXT:
            return self._letters(LONGEST_TEXT * 4)
        return kind == _TRUE

    def _known(self, number: int) -> str:
        if number >= len(self._words) or not self._words[number]:
            raise Unreadable("a word has a number this page does not know")
        return self._words[number]

    def _letters(self, longest: int) -> str:
        size = self.count()
        if size > longest:
            raise Unreadable("a word is too long")
        try:
            return self.take(size).decode()
        except UnicodeDecodeError:
            raise Unreadable("a word has broken letters") from None


def _checked(word: str) -> str:
    if word and not _WORD.match(word):
        raise Unreadable("a word has signs no id has")
    return word


def _plain(value: float) -> str:
    """Write a number the shortest way that reads back the same; whole ones without decimals."""
    text = repr(value)
    return text.removesuffix(".0") if isinstance(value, float) else text
