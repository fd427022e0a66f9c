"""Room reasoning: from pasted text to the messages of a car's control units.

Takes what people paste: hex with or without blanks, headers, length bytes, echoes of the
request, prompts and line noise. It gives back messages and never raises. It does not know what
a message means. `readout-lines.js` does the same in the same order.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from .pids import LENGTHS
from .readout_frames import MOST_DIGITS, Frame, read_frame

LONGEST_TEXT: Final = 200_000
_NOT_ASCII: Final = re.compile(r"[^\x00-\x7f]")
# An arrow is no prompt.
_ARROW: Final = re.compile(r"[-=]>")
_LINE_ENDS: Final = re.compile(r"[\r\n>]+")
_BLANKS: Final = re.compile(r"[ \t\f\v,;|=#\"'`()\[\]{}<]+")
_HEX: Final = re.compile(r"(?:0X)?([0-9A-F]+)")
_INDEXED: Final = re.compile(r"([0-9A-F]):([0-9A-F]*)")
# "Mode 01 PID 01 = ...", with the value behind it.
_LABEL: Final = re.compile(
    r"(?:(?:MODE|SERVICE|SID) ?[$#]?(?:0X)?0?1[ ,/:-]{0,4})?"
    r"\bPID ?[$#:]?(?:0X)?(?:01)?([0-9A-F]{2})\b[ \t:=-]{0,9}"
)
# What common adapters say in words instead of hex, in the plain form of each.
_WORDS: Final = (
    (re.compile(r"NO ?DATA"), "no-data"),
    (re.compile(r"UNABLE TO CONNECT"), "no-connection"),
    (re.compile(r"BUS INIT:? ?\.* ?ERROR"), "no-connection"),
    (re.compile(r"(?:CAN|BUS|FB) ERROR|BUS BUSY"), "no-connection"),
    (re.compile(r"<? ?(?:DATA|RX) ERROR|BUFFER FULL|STOPPED"), "damaged-line"),
    (re.compile(r"SEARCHING ?\.*|BUS INIT:? ?\.* ?(?:OK)?"), ""),
)
_MOST_SEGMENTS: Final = 64
_LONGEST_MESSAGE: Final = 4095  # ISO 15765-2: the length has twelve bits


@dataclass(frozen=True)
class Message:
    """Hold one whole message of one control unit, or a request that was echoed.

    `link`: "can", "older" or "unknown". `exact`: the length was told, so nothing is padding.
    `short`: the length was told and fewer bytes came.
    """

    kind: str  # reply | request
    ecu: str
    link: str
    payload: tuple[int, ...]
    exact: bool = False
    short: bool = False


@dataclass(frozen=True)
class Lines:
    """Hold all messages in order, the adapter's own words, and how many lines said nothing."""

    messages: tuple[Message, ...]
    marks: tuple[str, ...]
    ignored: int


@dataclass
class _Open:
    """Gather the parts of a message that spans several frames."""

    link: str
    total: int | None
    payload: list[int] = field(default_factory=list)
    next_number: int = 1
    broken: bool = False


@dataclass
class _Reading:
    messages: list[Message] = field(default_factory=list)
    marks: list[str] = field(default_factory=list)
    ignored: int = 0
    open: dict[str, _Open] = field(default_factory=dict)
    asked: int | None = None


def read_lines(text: str) -> Lines:
    """Read the messages out of a pasted text of at most LONGEST_TEXT characters.

    Longer text is cut. Lines without any recognised message are counted, not refused.
    """
    reading = _Reading()
    plain = _ARROW.sub(" ", _NOT_ASCII.sub(" ", text[:LONGEST_TEXT]).upper())
    for line in _LINE_ENDS.split(plain):
        _read_line(reading, line)
    for ecu in list(reading.open):
        _close(reading, ecu)
    return Lines(tuple(reading.messages), tuple(dict.fromkeys(reading.marks)), reading.ignored)


def _read_line(reading: _Reading, line: str) -> None:
    said: list[str] = []
    known = False
    for pattern, mark in _WORDS:
        line, times = pattern.subn(" ", line)
        if times:
            known = True
            said.append(mark)
    tokens = [token for token in _BLANKS.split(_labelled(line)) if token]
    # A line the adapter itself calls damaged is not read: half a byte can look like a whole one.
    if tokens and ("damaged-line" in said or not _read_tokens(reading, tokens)):
        reading.ignored += 0 if known else 1
    for mark in said:
        # No codes of a kind, or a service the car has not got, is not a silent car.
        elsewhere = mark == "no-data" and reading.asked not in {None, 1}
        if mark:
            reading.marks.append("no-data-elsewhere" if elsewhere else mark)


def _labelled(line: str) -> str:
    """Turn a value with its PID in words into the reply it stands for."""
    label = _LABEL.search(line)
    if label is None:
        return line
    pid, rest = label.group(1), line[label.end() :]
    digits = _hex_run([token for token in _BLANKS.split(rest) if token])
    whole = len(digits) == 2 * LENGTHS.get(int(pid, 16), 0)
    return f"41 {pid} {rest}" if whole and not digits.startswith(f"41{pid}") else rest


def _read_tokens(reading: _Reading, tokens: Sequence[str]) -> bool:
    indexed = _INDEXED.fullmatch(tokens[0])
    if indexed:
        rest = _hex_run([indexed.group(2), *tokens[1:]])
        return _add_segment(reading, int(indexed.group(1), 16), rest)
    run: list[str] = []
    for token in [*tokens, "-"]:
        match = _HEX.fullmatch(token)
        if match:
            run.append(match.group(1))
        elif run and _read_run(reading, run):
            return True
        else:
            run = []
    return False


def _hex_run(tokens: Sequence[str]) -> str:
    digits = []
    for token in tokens:
        match = _HEX.fullmatch(token) if token else None
        if token and not match:
            break
        digits.append(match.group(1) if match else "")
    return "".join(digits)


def _read_run(reading: _Reading, run: Sequence[str]) -> bool:
    frame = read_frame(run)
    if frame is None:
        return False
    if frame.kind == "length":
        _close(reading, "")
        reading.open[""] = _Open("can", frame.number)
        return True
    if frame.kind == "first":
        _close(reading, frame.ecu)
        reading.open[frame.ecu] = _Open("can", frame.number, list(frame.payload))
        return True
    if frame.kind == "next":
        return _add_next(reading, frame)
    if frame.kind == "damaged":
        reading.marks.append("damaged-line")
    if frame.kind in {"control", "damaged"}:
        return True
    _close(reading, frame.ecu)
    if frame.request:
        reading.asked = frame.request[0]
        reading.messages.append(Message("request", "", frame.link, frame.request))
    if frame.payload:
        reading.messages.append(
            Message("reply", frame.ecu, frame.link, frame.payload, frame.exact, frame.short)
        )
    return True


def _add_next(reading: _Reading, frame: Frame) -> bool:
    part = reading.open.get(frame.ecu)
    if part is None:
        return False
    _extend(reading, frame.ecu, frame.number, frame.payload)
    return True


def _add_segment(reading: _Reading, number: int, digits: str) -> bool:
    if not digits or len(digits) % 2 or len(digits) > MOST_DIGITS:
        return False
    part = reading.open.get("")
    if part is None:
        if number != 0:
            return False
        part = reading.open[""] = _Open("can", None)
        part.next_number = 0
    elif not part.payload:
        part.next_number = 0
    _extend(reading, "", number, tuple(bytes.fromhex(digits)))
    return True


def _extend(reading: _Reading, ecu: str, number: int, payload: Sequence[int]) -> None:
    """Add a part to an open message; what follows a gap is left out, as it would be misread."""
    part = reading.open[ecu]
    if part.broken or number != part.next_number & 0xF:
        part.broken = True
        reading.marks.append("frames-lost")
        return
    part.payload.extend(payload)
    part.next_number += 1
    whole = len(part.payload) >= (_LONGEST_MESSAGE if part.total is None else part.total)
    if whole or part.next_number > _MOST_SEGMENTS:
        _close(reading, ecu)


def _close(reading: _Reading, ecu: str) -> None:
    part = reading.open.pop(ecu, None)
    if part is None or not part.payload:
        return
    total = len(part.payload) if part.total is None else part.total
    payload = tuple(part.payload[:total])
    if not payload:
        return
    reading.messages.append(
        Message(
            "reply",
            ecu,
            part.link,
            payload,
            exact=part.total is not None,
            short=part.broken or len(part.payload) < total,
        )
    )
