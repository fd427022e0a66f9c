"""Room reasoning: from pasted text to the messages of a car's control units.

Takes what people paste: hex with or without blanks, headers, length bytes, echoes of the
request, prompts and line noise. A run of hex is read as one frame (layout of SAE J1979 and
ISO 15765-2 frames, from memory), and frames are joined to messages. It never raises and does not
know what a message means. `readout-lines.js` does the same in the same order.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from .pids import LENGTHS

MOST_DIGITS: Final = 1024
# Service replies we know: PIDs, confirmed, pending and permanent codes, cleared, refused, vehicle
# information, freeze frame, test results, and two replies of the newer protocol (UDS).
REPLIES: Final = (0x41, 0x43, 0x47, 0x4A, 0x44, 0x7F, 0x49, 0x42, 0x46, 0x62, 0x59)
_CODE_REQUESTS: Final = (0x03, 0x07, 0x0A)
_OTHER_REQUESTS: Final = (0x02, 0x04, 0x06, 0x09, 0x22)
_WIDE_ID: Final = re.compile(r"(?:0000)?0(7[0-9A-F]{2})")
_ECHO_WITH_COUNT: Final = re.compile(r"01[0-9A-F]{2}[1-9]")
_FIRST_FRAME: Final = 8
_LONGEST_REQUEST: Final = 7


@dataclass(frozen=True)
class Frame:
    """One frame.

    `kind`: "whole", "first" (number = total length), "next" (number = its place), "length"
    (a line that only tells the total length), "control" (to be stepped over) or "damaged" (a
    reply that lost half a byte).
    """

    kind: str
    ecu: str = ""
    link: str = "unknown"
    payload: tuple[int, ...] = ()
    request: tuple[int, ...] = ()
    number: int = 0
    exact: bool = False
    short: bool = False


def read_frame(run: Sequence[str]) -> Frame | None:
    """Read a run of hex tokens as one frame; None if it has no shape we know."""
    if len(run) > 2 and len(run[1]) == 1 and len("".join(run[2:])) <= 2 * int(run[1], 16):  # noqa: PLR2004
        run = [run[0], *run[2:]]  # the adapter's own count of the bytes that follow
    joined = "".join(run)
    if len(joined) > MOST_DIGITS:
        return None
    wide = _WIDE_ID.fullmatch(run[0]) if len(run) > 1 else None
    if wide:
        return _can(wide.group(1), joined[len(run[0]) :])
    if len(joined) % 2:
        return _odd(run, joined)
    two_byte_id = _WIDE_ID.fullmatch(joined[:8]) or _WIDE_ID.fullmatch(joined[:4])
    if two_byte_id and "7E8" <= two_byte_id.group(1) <= "7EF":
        return _can(two_byte_id.group(1), joined[two_byte_id.end() :])
    data = tuple(bytes.fromhex(joined))
    return _wide_header(joined) or _older_header(data) or _bare(data)


def _odd(run: Sequence[str], joined: str) -> Frame | None:
    """Read a run with an odd number of digits: a short header, a length line or an echo."""
    if len(joined) == 3 and joined[0] != "7":  # noqa: PLR2004 - three digits, as 014
        return Frame("length", number=int(joined, 16))
    if _ECHO_WITH_COUNT.fullmatch(joined):
        return Frame("whole", request=tuple(bytes.fromhex(joined[:4])))
    if joined[0] == "7" and (len(run) == 1 or len(run[0]) % 2 or joined[1] == "E"):
        return _can(joined[:3], joined[3:])
    cut = len(joined) > 3 and int(joined[:2], 16) in REPLIES  # noqa: PLR2004 - more than a header
    return Frame("damaged") if cut else None


def _can(header: str, digits: str) -> Frame | None:
    if len(digits) % 2 or not digits:
        return None
    data = tuple(bytes.fromhex(digits))
    if header < "7E8" and header[:2] in {"7D", "7E"}:
        return Frame("whole", link="can", request=_inner_request(data))
    return _with_length(header, data)


def _wide_header(joined: str) -> Frame | None:
    """Read a 29-bit header: 18 DA F1 xx from unit xx; 18 DB 33 F1 and 18 DA xx F1 are ours."""
    if len(joined) <= 8:  # noqa: PLR2004 - eight digits are the header alone
        return None
    data = tuple(bytes.fromhex(joined[8:]))
    if joined.startswith("18DAF1"):
        return _with_length(joined[6:8], data)
    ours = joined.startswith("18DB33F1") or (joined.startswith("18DA") and joined[6:8] == "F1")
    return Frame("whole", link="can", request=_inner_request(data)) if ours else None


def _older_header(data: tuple[int, ...]) -> Frame | None:
    """Read a three-byte header of the links before CAN; the last byte is a check sum."""
    if len(data) < 5:  # noqa: PLR2004 - three of header, one of data, one of check sum
        return None
    inner = data[3:-1]
    if data[0] in {0x48, 0x41} and data[1] == 0x6B and inner[0] in REPLIES:  # noqa: PLR2004
        return Frame("whole", f"{data[2]:02X}", "older", inner)
    if data[0] == 0x48 and data[1] == 0x6B:  # noqa: PLR2004 - header bytes
        return None
    by_initialised = data[0] & 0xC0 == 0xC0 and data[1:3] == (0x33, 0xF1)  # noqa: PLR2004
    if data[:2] in {(0x68, 0x6A), (0x61, 0x6A)} or by_initialised:
        return Frame("whole", link="older", request=inner)
    if data[0] & 0xC0 != 0x80:  # noqa: PLR2004 - the link with a length in its header
        return None
    at, length = (3, data[0] & 0x3F) if data[0] & 0x3F else (4, data[3])
    if data[2] == 0xF1 and data[1] != 0xF1:  # noqa: PLR2004 - 10 F1: from the tool
        return Frame("whole", link="older", request=data[at : at + length])
    if data[1] == 0xF1 and length and data[at] in REPLIES:  # noqa: PLR2004
        payload = data[at : at + length]
        short = len(payload) < length
        return Frame("whole", f"{data[2]:02X}", "older", payload, exact=not short, short=short)
    return None


def _with_length(ecu: str, data: tuple[int, ...]) -> Frame | None:
    """Read the length byte that follows a CAN header; a reply without one is taken as it is."""
    if not data:
        return None
    kind, low = data[0] >> 4, data[0] & 0xF
    if kind == 0 and low:
        payload = data[1 : 1 + low]
        if not payload:
            return None
        return Frame("whole", ecu, "can", payload, exact=True, short=len(payload) < low)
    if kind == 1 and len(data) >= 2:  # noqa: PLR2004 - the length takes two bytes
        return Frame("first", ecu, "can", data[2:], number=low << 8 | data[1])
    if kind == 2:  # noqa: PLR2004 - frame type 2 continues
        return Frame("next", ecu, "can", data[1:], number=low)
    if kind == 3:  # noqa: PLR2004 - frame type 3 is flow control
        return Frame("control", ecu, "can")
    return Frame("whole", ecu, "can", data) if data[0] in REPLIES else None


def _bare(data: tuple[int, ...]) -> Frame | None:
    """Read a frame without header: a reply, an echo, both, or a length byte and a reply."""
    if not data:
        return None
    first = data[0]
    if first in REPLIES:
        return Frame("whole", payload=data)
    echoed = _echo(data)
    if echoed is not None:
        return echoed
    if len(data) > 1 and first <= _LONGEST_REQUEST and data[1] in REPLIES:
        return _with_length("", data)
    if len(data) == _FIRST_FRAME and first >> 4 == 1 and data[2] in REPLIES:
        return _with_length("", data)
    if len(data) == _FIRST_FRAME and first >> 4 == 2:  # noqa: PLR2004 - frame type 2
        return _with_length("", data)
    return None


def _echo(data: tuple[int, ...]) -> Frame | None:
    first = data[0]
    if first in _CODE_REQUESTS:
        if len(data) == 1:
            return Frame("whole", request=data)
        if data[1] == first + 0x40:
            return _after_echo(data[:1], data[1:])
    if first == 0x01 and len(data) > 1:
        if len(data) > 3 and data[2] == 0x41 and data[3] == data[1]:  # noqa: PLR2004
            return _after_echo(data[:2], data[2:])
        known = all(pid in LENGTHS for pid in data[1:])
        if len(data) > 2 and not known:  # noqa: PLR2004 - a service, a PID and a value
            return _cut_echo(data)
        if data[1] not in REPLIES[1:] and len(data) <= _LONGEST_REQUEST and known:
            return Frame("whole", request=data)
        return Frame("whole", request=data) if len(data) == 2 else None  # noqa: PLR2004
    if first in _OTHER_REQUESTS and len(data) <= 3 and not set(data) & set(REPLIES):  # noqa: PLR2004
        return Frame("whole", request=data)
    return None


def _cut_echo(data: tuple[int, ...]) -> Frame | None:
    """Read 01 41 01 A B C D and 01 01 A B C D: half an echo, or a reply written without its 41."""
    if data[1] == 0x41 and LENGTHS.get(data[2]) == len(data) - 3:  # noqa: PLR2004
        return _after_echo(data[:1], data[1:])
    if LENGTHS.get(data[1]) == len(data) - 2:
        return _after_echo(data[:2], (0x41, *data[1:]))
    return None


def _after_echo(request: tuple[int, ...], rest: tuple[int, ...]) -> Frame:
    return replace(Frame("whole", payload=rest), request=request)


def _inner_request(data: tuple[int, ...]) -> tuple[int, ...]:
    """Take the request out of its length byte; an odd one is kept as a request of nothing."""
    return data[1 : 1 + data[0]] if data[0] <= _LONGEST_REQUEST else ()


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
    """One whole message of one control unit, or a request that was echoed.

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
    """All messages in order, the adapter's own words, and how many lines said nothing."""

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
