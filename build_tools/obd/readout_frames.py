"""Room reasoning: one run of hex digits as one frame on the car's data link.

Finds the header, the length byte and an echoed request in a run of hex (layout of SAE J1979
and ISO 15765-2 frames, from memory). It joins no frames and decodes no meaning. Never raises.
`readout-frames.js` does the same in the same order.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
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
    """Hold one frame.

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
