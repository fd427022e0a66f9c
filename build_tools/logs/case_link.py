"""Room 5: a whole case in the fragment of an address, and back.

The fragment stays on the devices of those who have the link: browsers never send it. Its
bytes are a version, the length of the rest, the case and a CRC-32, written as base64url.
Twin of `assets/case/case-link.js`; what an older case means today is decided in
`case_adopt`, not here.
"""

from __future__ import annotations

import base64
import binascii
import re
import zlib
from typing import TYPE_CHECKING, Any, Final

from build_tools.logs.link_bytes import Reader, Unreadable, Writer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.link_words import LinkWords

    Document = Mapping[str, Any]

FORMAT: Final = 1
LONGEST_LINK: Final = 6000
_CHECKSUM_BYTES: Final = 4
_VERSION_BYTES: Final = 3
_IN_TEXT: Final = re.compile(r"[#&]c=([A-Za-z0-9_-]*)")
_BARE: Final = re.compile(r"(?:c=)?([A-Za-z0-9_-]{12,})\Z")

REASONS: Final = {
    "no-link": "There is no case in this text. A case link has “#c=” in it, with letters after it.",
    "too-long": "This is longer than any case link. Look whether more was copied than the link.",
    "not-a-link": "These letters are no case link. Copy the whole link once more.",
    "newer": "This link was made by a newer edition of this site. Load the page anew first.",
    "cut-short": "This link is cut short. Ask for it once more, or copy all of it.",
    "changed": "This link was changed on its way, so nothing in it is trusted. Ask for it again.",
    "unreadable": "This link cannot be read. Ask for it once more.",
}


class LinkRefused(ValueError):  # noqa: N818 - reads as a sentence where it is caught
    """Say why a link cannot be opened; `reason` is one of REASONS."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(REASONS[reason])


def encode_case(document: Document, words: LinkWords, version: str) -> str:
    """Write a case as the text that follows `#c=`.

    `document` has fields that `read_case` accepts; `version` is that of the knowledge, of
    which the first six signs are kept.
    """
    body = Writer(words.numbers)
    body.bytes += bytes.fromhex(version[: _VERSION_BYTES * 2])
    _write_case(body, document)
    head = Writer({})
    head.count(FORMAT)
    head.count(len(body.bytes))
    raw = bytes(head.bytes + body.bytes)
    checked = raw + zlib.crc32(raw).to_bytes(_CHECKSUM_BYTES, "big")
    return base64.urlsafe_b64encode(checked).decode().rstrip("=")


def _write_case(body: Writer, document: Document) -> None:
    """Write every part in order; empty parts at the end are left out."""
    kept = 0
    for part in _PARTS:
        part.write(body, document)
        if not part.is_empty(document):
            kept = len(body.bytes)
    del body.bytes[max(kept, _VERSION_BYTES) :]


class _Words:
    """A list of ids."""

    def __init__(self, key: str, *, always: bool = False) -> None:
        self.key, self.always = key, always

    def is_empty(self, document: Document) -> bool:
        return not document.get(self.key)

    def write(self, body: Writer, document: Document) -> None:
        body.words(document.get(self.key) or [])

    def read(self, body: Reader) -> dict[str, Any]:
        words = body.words()
        return {self.key: words} if words or self.always else {}


class _Tools(_Words):
    """A list of ids in which none at all and no list mean different things."""

    def is_empty(self, document: Document) -> bool:
        return document.get(self.key) is None

    def write(self, body: Writer, document: Document) -> None:
        tools = document.get(self.key)
        body.count(0 if tools is None else 1)
        if tools is not None:
            body.words(tools)

    def read(self, body: Reader) -> dict[str, Any]:
        return {self.key: body.words()} if body.count() else {}


class _Values(_Words):
    """Values by id."""

    def write(self, body: Writer, document: Document) -> None:
        values = document.get(self.key) or {}
        body.count(len(values))
        for key, value in values.items():
            body.word(key)
            body.value(value)

    def read(self, body: Reader) -> dict[str, Any]:
        return {self.key: {body.word(): body.value() for _ in range(body.size())}}


class _Readings(_Words):
    """Readings by check: value, unit, then the conditions."""

    def write(self, body: Writer, document: Document) -> None:
        readings = document.get(self.key) or {}
        body.count(len(readings))
        for check, reading in readings.items():
            body.word(check)
            body.value(reading["value"])
            body.word(reading.get("unit") or "")
            rest = {key: one for key, one in reading.items() if key not in ("value", "unit")}
            body.count(len(rest))
            for key, value in rest.items():
                body.word(key)
                body.value(value)

    def read(self, body: Reader) -> dict[str, Any]:
        return {self.key: {body.word(): self._reading(body) for _ in range(body.size())}}

    @staticmethod
    def _reading(body: Reader) -> dict[str, Any]:
        reading: dict[str, Any] = {"value": body.value()}
        unit = body.word()
        if unit:
            reading["unit"] = unit
        reading.update({body.word(): body.value() for _ in range(body.size())})
        return reading


class _Number(_Words):
    """One number, or none."""

    def is_empty(self, document: Document) -> bool:
        return document.get(self.key) is None

    def write(self, body: Writer, document: Document) -> None:
        number = document.get(self.key)
        body.count(0 if number is None else 1)
        if number is not None:
            body.number(number)

    def read(self, body: Reader) -> dict[str, Any]:
        return {self.key: body.number()} if body.count() else {}


# The order is part of the format: parts are added at the end and never moved.
_PARTS: Final = (
    _Words("symptoms", always=True),
    _Values("context"),
    _Readings("readings"),
    _Values("outcomes"),
    _Words("not_possible", always=True),
    _Words("absent"),
    _Tools("tools"),
    _Words("mended"),
    _Number("hour_value"),
)


def link_in(text: str) -> str:
    """Find the letters of a case link in an address, a message or on their own.

    Raises:
        LinkRefused: with no-link if there are none.

    """
    found = _IN_TEXT.search(text) or _BARE.match(text.strip())
    if found is None:
        raise LinkRefused("no-link")
    return found[1]


def decode_case(letters: str, words: LinkWords) -> tuple[dict[str, Any], str]:
    """Read the letters of a case link; return the case and the version of its knowledge.

    The case has the keys of the machine interface: symptoms, context, readings, outcomes and
    not_possible always, the others where they were set. Its ids may no longer exist.

    Raises:
        LinkRefused: with the reason. Nothing is half read.

    """
    raw = _checked_bytes(letters)
    body = Reader(raw, words.by_number)
    try:
        version = body.take(_VERSION_BYTES).hex()
        document: dict[str, Any] = {
            "symptoms": [], "context": {}, "readings": {}, "outcomes": {}, "not_possible": [],
        }  # fmt: skip
        for part in _PARTS:
            if body.is_done():
                break
            document.update(part.read(body))
    except Unreadable:
        raise LinkRefused("unreadable") from None
    if not body.is_done():
        raise LinkRefused("unreadable")
    return document, version


def _checked_bytes(letters: str) -> bytes:
    """Undo base64url, then look at version, length and checksum before anything else."""
    raw = _raw_bytes(letters)
    head = Reader(raw, ())
    try:
        version, size = head.count(), head.count()
    except Unreadable:
        raise LinkRefused("cut-short") from None
    if version == 0 or version > FORMAT:
        raise LinkRefused("newer" if version else "not-a-link")
    start = 2 if size < 128 else 3  # noqa: PLR2004 - how many bytes version and length take
    end = start + size
    if size > LONGEST_LINK or len(raw) > end + _CHECKSUM_BYTES:
        raise LinkRefused("changed")
    if len(raw) < end + _CHECKSUM_BYTES:
        raise LinkRefused("cut-short")
    if zlib.crc32(raw[:end]).to_bytes(_CHECKSUM_BYTES, "big") != raw[end:]:
        raise LinkRefused("changed")
    return raw[start:end]


def _raw_bytes(letters: str) -> bytes:
    if not letters:
        raise LinkRefused("cut-short")
    if len(letters) > LONGEST_LINK:
        raise LinkRefused("too-long")
    # One letter alone at the end holds no byte: the rest is missing.
    whole = letters[:-1] if len(letters) % 4 == 1 else letters
    try:
        return base64.urlsafe_b64decode(whole + "=" * (-len(whole) % 4))
    except binascii.Error:
        raise LinkRefused("not-a-link") from None
