"""Room reasoning: from messages to monitor bytes, values and codes per control unit.

Steps through replies that carry several PIDs and through code replies with or without a count
byte. It judges nothing and never raises. `readout-replies.js` does the same in the same order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from .codes import code_from_bytes
from .pids import LENGTHS, MONITOR_STATUS, TRIP_STATUS, PidValue, decode_pid
from .readout_lines import Message

CODE_KINDS: Final = {0x43: "confirmed", 0x47: "pending", 0x4A: "permanent"}
_PADDING: Final = (0x00, 0x55, 0xAA, 0xCC, 0xFF)
_OLDER_CODE_BYTES: Final = 6
_REFUSED: Final = 0x7F
_OTHER_PROTOCOL: Final = (0x62, 0x59)
_PID_REPLY: Final = 0x41


@dataclass(frozen=True)
class StoredCode:
    """One code a control unit reported."""

    ecu: str
    kind: str  # confirmed | pending | permanent
    code: str


@dataclass
class Replies:
    """Gather what the messages told.

    `status` and `trip` hold the four bytes (or fewer, if the reply was short) per unit.
    `warnings` are ids with the unit they concern. `asked` lists the code services that answered.
    """

    status: dict[str, tuple[int, ...]] = field(default_factory=dict)
    trip: dict[str, tuple[int, ...]] = field(default_factory=dict)
    values: dict[tuple[str, str], PidValue] = field(default_factory=dict)
    codes: list[StoredCode] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    warnings: list[tuple[str, str]] = field(default_factory=list)
    refused: bool = False
    other_protocol: bool = False
    ordinals: dict[int, int] = field(default_factory=dict)


def read_replies(messages: Sequence[Message]) -> Replies:
    """Sort all messages into one picture; a later reply of a unit replaces an earlier one."""
    replies = Replies()
    for message in messages:
        if message.kind == "request":
            _start_anew(replies, message.payload)
        else:
            _take(replies, message)
    return replies


def _start_anew(replies: Replies, request: Sequence[int]) -> None:
    """Count unlabelled units from one again: a request was sent anew."""
    for key in request[1:] if request[0] == 1 else (-request[0],):
        replies.ordinals.pop(key, None)


def _unit(replies: Replies, ecu: str, key: int) -> str:
    """Name a control unit; without a header they are numbered in the order they answered."""
    if ecu:
        return ecu
    number = replies.ordinals.get(key, 0) + 1
    replies.ordinals[key] = number
    return f"unit {number}"


def _warn(replies: Replies, warning: str, ecu: str) -> None:
    if (warning, ecu) not in replies.warnings:
        replies.warnings.append((warning, ecu))


def _take(replies: Replies, message: Message) -> None:
    payload = message.payload
    service = payload[0]
    if service == _REFUSED:
        replies.refused = True
    elif service in _OTHER_PROTOCOL:
        replies.other_protocol = True
    elif service == _PID_REPLY:
        _take_pids(replies, message)
    elif service in CODE_KINDS:
        _take_codes(replies, message)


def _take_pids(replies: Replies, message: Message) -> None:
    payload = message.payload
    if len(payload) < 2:  # noqa: PLR2004 - a reply names its PID in the second byte
        _warn(replies, "short-reply", message.ecu)
        return
    pid = payload[1]
    need = LENGTHS.get(pid)
    if need is None:
        return
    data, rest = payload[2 : 2 + need], payload[2 + need :]
    ecu = _unit(replies, message.ecu, pid)
    _store(replies, ecu, pid, data)
    if not rest or (not message.exact and rest[0] in _PADDING and len(set(rest)) == 1):
        return
    more = _split_rest(rest)
    if more is None:
        if len(rest) > 1:
            _warn(replies, "extra-bytes", ecu)
        return
    unit = ecu
    for new_reply, number, start in more:
        unit = _unit(replies, message.ecu, number) if new_reply else unit
        _store(replies, unit, number, rest[start : start + LENGTHS[number]])


def _split_rest(rest: Sequence[int]) -> list[tuple[bool, int, int]] | None:
    """Cut what follows the first value into further values, if it fits to the last byte.

    Each part is (a new reply, PID, where its data start). Values of the same reply are tried
    before a new reply, so PID 41 is not mistaken for the reply byte 41. None: no fit.
    """
    # What stands at each place, and where it ends; the list is walked from the front at last.
    ends: list[tuple[bool, int, int, int] | None] = [None] * len(rest)
    for at in range(len(rest) - 1, -1, -1):
        for new_reply in (False, True):
            if ends[at] is not None or (new_reply and rest[at] != _PID_REPLY):
                continue
            name_at = at + 1 if new_reply else at
            need = LENGTHS.get(rest[name_at]) if name_at < len(rest) else None
            end = name_at + 1 + need if need is not None else len(rest) + 1
            if end == len(rest) or (end < len(rest) and ends[end] is not None):
                ends[at] = (new_reply, rest[name_at], name_at + 1, end)
    parts, at = [], 0
    while at < len(rest):
        part = ends[at]
        if part is None:
            return None
        parts.append(part[:3])
        at = part[3]
    return parts


def _store(replies: Replies, ecu: str, pid: int, data: tuple[int, ...]) -> None:
    if pid in {MONITOR_STATUS, TRIP_STATUS}:
        told = replies.status if pid == MONITOR_STATUS else replies.trip
        before = told.get(ecu)
        if before is not None and before != data:
            _warn(replies, "told-twice", ecu)
        # A short answer never replaces a whole one.
        if before is None or len(data) >= len(before):
            told[ecu] = data
        return
    if len(data) < LENGTHS[pid]:
        _warn(replies, "short-reply", ecu)
        return
    value = decode_pid(pid, data, ecu)
    if value is not None:
        replies.values[(ecu, value.pid)] = value


def _take_codes(replies: Replies, message: Message) -> None:
    service, data = message.payload[0], message.payload[1:]
    kind = CODE_KINDS[service]
    ecu = _unit(replies, message.ecu, -(service - 0x40))
    if not data:
        _warn(replies, "short-reply", ecu)
        return
    if kind not in replies.asked:
        replies.asked.append(kind)
    pairs, warning = _code_bytes(message, data)
    if warning:
        _warn(replies, warning, ecu)
    for at in range(0, len(pairs) - 1, 2):
        code = code_from_bytes(pairs[at], pairs[at + 1])
        stored = StoredCode(ecu, kind, code) if code else None
        if stored and stored not in replies.codes:
            replies.codes.append(stored)


def _code_bytes(message: Message, data: Sequence[int]) -> tuple[Sequence[int], str | None]:
    """Take the pairs of code bytes out of a code reply, and say what is doubtful.

    On CAN a count comes first, so the length is odd; older frames hold three pairs, padded
    with zeros, so the length is even. Without a header the length decides.
    """
    counted = data[1 : 1 + 2 * data[0]]
    missing = "short-reply" if message.short or len(counted) < 2 * data[0] else None
    if message.link == "can":
        return counted, missing
    if message.link == "older":
        even = data[: len(data) - len(data) % 2]
        return even, "short-reply" if message.short else None
    if len(data) == _OLDER_CODE_BYTES + 1 and data[0] > 3:  # noqa: PLR2004 - three codes and a check sum
        return data[:_OLDER_CODE_BYTES], None
    if len(data) % 2:
        return counted, missing
    padded = data[0] and not missing and not any(data[1 + 2 * data[0] :])
    return data, "count-or-code" if padded else None
