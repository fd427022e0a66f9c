"""Room reasoning: what the car's computer says about its monitors, honestly.

Turns pasted text or ticked boxes into a Readout: lamp, codes, monitors and values, per control
unit and merged, with the state of the whole. A readout that cannot be used never looks like a
ready one. It judges no inspection (see inspection.py). `readout.js` does the same.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from .pids import (
    COMPRESSION,
    CONTINUOUS,
    SPARK,
    STATUS_BYTES,
    MonitorState,
    PidValue,
    StatusBytes,
    countable_ids,
    decode_status,
    incomplete_ids,
    merge_monitors,
    told_state,
    with_this_trip,
)
from .readout_lines import LONGEST_TEXT, REPLIES, Lines, read_lines
from .readout_replies import Replies, StoredCode, read_replies
from .readout_words import Understood, Words, codes_beside, read_words

MOST_COUNT: Final = 127
_LONGEST_BARE: Final = 60
_FEWEST_NAMED: Final = 4  # our estimate: a whole list names at least these
_MAY_BE_WORDS: Final = ("nothing-recognised", "only-questions", "damaged")
_TOLD_MARKS: Final = ("damaged-line", "frames-lost")
_FOUR_BYTES: Final = re.compile(r"(?:01[ :=]{1,3})?([0-9A-F]{2}(?:[ ]?[0-9A-F]{2}){3})")
# What people put around what they copy.
_WRAPPING: Final = re.compile(r"(?:[ \t\r\n,;\"'`()\[\]{}]|[^\x00-\x7f])+")

_HEADER: Final = re.compile(r"18D[AB]|486B|686A|416B|616A|07E|7E|0101|..F1|..33F1")


@dataclass(frozen=True)
class Warned:
    """Name something about the readout the reader should know; words are in readout_words."""

    id: str
    ecu: str | None = None


@dataclass(frozen=True)
class UnitReadout:
    """What one control unit said. `bytes` are its four data bytes in hex, if it was hex."""

    ecu: str
    bytes: str | None
    mil: bool
    count: int
    ignition: str
    monitors: tuple[MonitorState, ...]


@dataclass(frozen=True)
class Merged:
    """All usable units joined: lamp by OR, counts added (common practice), monitors merged."""

    mil: bool
    count: int
    ignition: str  # spark | compression | mixed
    monitors: tuple[MonitorState, ...]
    countable: tuple[str, ...]
    incomplete: tuple[str, ...]
    incomplete_continuous: tuple[str, ...]


@dataclass(frozen=True)
class Readout:
    """A whole readout.

    `state` is "usable" or the reason why it is not; only then may a rule be applied.
    `merged` is None when no unit told anything about monitors.
    """

    state: str
    units: tuple[UnitReadout, ...] = ()
    merged: Merged | None = None
    values: tuple[PidValue, ...] = ()
    codes: tuple[StoredCode, ...] = ()
    code_services: tuple[str, ...] = ()
    warnings: tuple[Warned, ...] = ()
    origin: str = "text"  # text | words | ticked
    ignored_lines: int = 0
    understood: tuple[Understood, ...] = ()

    @property
    def usable(self) -> bool:
        """Tell whether a rule may be applied to this readout."""
        return self.state == "usable"


def read_text(text: str) -> Readout:
    """Read a pasted text. Never raises; what is not understood is said in `state`."""
    if len(text) > LONGEST_TEXT:
        return Readout("too-long")
    bare = _bare_status(text)
    lines = read_lines(f"41 01 {bare}" if bare else text)
    replies = read_replies(lines.messages)
    if bare:
        replies.warnings.append(("bare-bytes", "unit 1"))
    statuses, short = _statuses(replies)
    units = tuple(_unit(ecu, status, replies) for ecu, status in statuses.items())
    merged = _merge(units)
    warnings = [Warned(mark) for mark in lines.marks if mark in _TOLD_MARKS]
    warnings += [Warned(warning, ecu) for warning, ecu in replies.warnings]
    warnings += [Warned("short-status", ecu) for ecu in short]
    warnings += [Warned("reserved-bits", ecu) for ecu, s in statuses.items() if s.reserved_set]
    warnings += _unit_warnings(units)
    state = _text_state(text, lines, replies, _monitor_state(units, merged, short))
    in_words = _in_words(text) if state in _MAY_BE_WORDS else None
    if in_words:
        return in_words
    _add_codes(replies, codes_beside(text))
    confirmed = [stored for stored in replies.codes if stored.kind == "confirmed"]
    if merged and "confirmed" in replies.asked and len(confirmed) != merged.count:
        warnings.append(Warned("count-differs"))
    return Readout(
        state=state,
        units=units,
        merged=merged,
        values=tuple(replies.values.values()),
        codes=tuple(replies.codes),
        code_services=tuple(replies.asked),
        warnings=tuple(warnings),
        ignored_lines=lines.ignored,
    )


def _add_codes(replies: Replies, told: Sequence[tuple[str, str]]) -> None:
    """Add codes written beside the bytes; one of no named kind that is there already is left."""
    known = {stored.code for stored in replies.codes}
    both = {(stored.kind, stored.code) for stored in replies.codes}
    for kind, code in told:
        if (kind, code) in both or (kind == "confirmed" and code in known):
            continue
        replies.codes.append(StoredCode("told", kind, code))
        if kind not in replies.asked:
            replies.asked.append(kind)


def _in_words(text: str) -> Readout | None:
    """Read a text as names and states on a screen; None if it names no monitor, lamp or code."""
    words = read_words(text)
    told = any(state != "none" for state in words.monitors.values())
    if not told and not words.codes and words.mil is None:
        return None
    units = (_words_unit(words),) if told and words.ignition else ()
    merged = _merge(units)
    warnings = [Warned("lamp-not-told")] if merged and words.mil is None else []
    return Readout(
        state=_words_state(words, units, merged, told=told),
        units=units,
        merged=merged,
        codes=tuple(StoredCode("told", kind, code) for kind, code in words.codes),
        code_services=tuple(words.asked),
        warnings=(*warnings, *_unit_warnings(units)),
        origin="words",
        understood=tuple(words.lines),
    )


def _words_unit(words: Words) -> UnitReadout:
    ignition = words.ignition or "spark"
    names = [*CONTINUOUS, *(name for name in _names(ignition) if name)]
    states = tuple(told_state(name, words.monitors.get(name)) for name in names)
    confirmed = [code for kind, code in words.codes if kind == "confirmed"]
    count = len(confirmed) if words.count is None else words.count
    return UnitReadout("told", None, words.mil is True, count, ignition, states)


def _words_state(
    words: Words, units: Sequence[UnitReadout], merged: Merged | None, *, told: bool
) -> str:
    """Judge what was told in words: what is unclear or few is never ready and never failed."""
    if not told:
        return "no-status"
    if None in words.monitors.values():
        return "words-unclear"
    named = [name for name in words.monitors if name not in CONTINUOUS]
    if not units or len(named) < _FEWEST_NAMED:
        return "words-few"
    return _monitor_state(units, merged, ()) or "words-few"


def read_ticks(told: Mapping[str, object]) -> Readout:
    """Read ticked boxes: ignition, mil, count and monitors {id: complete|incomplete|...}.

    A monitor that is left out or told as anything else counts as not supported. Never raises.
    """
    ignition = told.get("ignition")
    monitors = told.get("monitors")
    if ignition not in ("spark", "compression") or not _is_mapping(monitors):
        return Readout("ticks-incomplete", origin="ticked")
    count = told.get("count")
    known = isinstance(count, int) and not isinstance(count, bool) and 0 <= count <= MOST_COUNT
    if count is not None and not known:
        return Readout("count-out-of-range", origin="ticked")
    names = [*CONTINUOUS, *(name for name in _names(str(ignition)) if name)]
    states = tuple(told_state(name, _word(monitors, name)) for name in names)
    number = count if isinstance(count, int) else 0
    unit = UnitReadout("told", None, told.get("mil") is True, number, str(ignition), states)
    strange = [str(name) for name in _keys(monitors) if name not in names]
    warnings = [Warned("monitor-not-of-this-engine", name) for name in sorted(strange)]
    merged = _merge((unit,))
    return Readout(
        state=_monitor_state((unit,), merged, ()) or "ticks-incomplete",
        units=(unit,),
        merged=merged,
        warnings=(*warnings, *_unit_warnings((unit,))),
        origin="ticked",
    )


def value_of(readout: Readout, name: str) -> float | None:
    """Return the value of this name; of several units the lowest, None if nobody told it.

    The lowest is the careful choice for every value a rule or a hint uses.
    """
    found = [value.value for value in readout.values if value.name == name]
    numbers = [value for value in found if value is not None]
    return min(numbers) if numbers else None


def codes_of(readout: Readout, kind: str) -> tuple[str, ...] | None:
    """List the codes of one kind, sorted; None if that service did not answer."""
    if kind not in readout.code_services:
        return None
    return tuple(sorted({stored.code for stored in readout.codes if stored.kind == kind}))


def _bare_status(text: str) -> str | None:
    """Return the four bytes if the whole text is these, and neither a reply nor a frame's start.

    Then A B C D of PID 01 is meant.
    """
    if len(text) > _LONGEST_BARE:
        return None
    found = _FOUR_BYTES.fullmatch(_WRAPPING.sub(" ", text.upper()).strip(" "))
    if not found:
        return None
    digits = found.group(1).replace(" ", "")
    first, second = int(digits[:2], 16), int(digits[2:4], 16)
    plain = first not in REPLIES and second not in REPLIES and not _HEADER.match(digits)
    return digits if plain else None


def _is_mapping(value: object) -> bool:
    return isinstance(value, dict)


def _keys(monitors: object) -> list[object]:
    return list(monitors) if isinstance(monitors, dict) else []


def _word(monitors: object, name: str) -> str | None:
    word = monitors.get(name) if isinstance(monitors, dict) else None
    return word if isinstance(word, str) else None


def _names(ignition: str) -> tuple[str | None, ...]:
    return COMPRESSION if ignition == "compression" else SPARK


def _statuses(replies: Replies) -> tuple[dict[str, StatusBytes], tuple[str, ...]]:
    whole = {e: d for e, d in replies.status.items() if len(d) >= STATUS_BYTES}
    short = tuple(ecu for ecu in replies.status if ecu not in whole)
    return {ecu: decode_status(data) for ecu, data in whole.items()}, short


def _unit(ecu: str, status: StatusBytes, replies: Replies) -> UnitReadout:
    trip = replies.trip.get(ecu, ())
    whole_trip = len(trip) >= STATUS_BYTES
    monitors = with_this_trip(status.monitors, trip) if whole_trip else status.monitors
    data = " ".join(f"{byte:02X}" for byte in replies.status[ecu][:STATUS_BYTES])
    return UnitReadout(ecu, data, status.mil, status.count, status.ignition, monitors)


def _unit_warnings(units: Sequence[UnitReadout]) -> list[Warned]:
    warnings = []
    for unit in units:
        if unit.mil and unit.count == 0:
            warnings.append(Warned("lamp-without-code", unit.ecu))
        if not unit.mil and unit.count > 0:
            warnings.append(Warned("code-without-lamp", unit.ecu))
        if not _tells(unit) and len(units) > 1:
            warnings.append(Warned("unit-tells-nothing", unit.ecu))
        if any(monitor.apart and monitor.supported for monitor in unit.monitors):
            warnings.append(Warned("bit-four", unit.ecu))
    if len(units) > 1 and any(unit.ecu.startswith("unit ") for unit in units):
        warnings.append(Warned("units-without-name"))
    return warnings


def _tells(unit: UnitReadout) -> bool:
    return any(monitor.supported for monitor in unit.monitors)


def _merge(units: Sequence[UnitReadout]) -> Merged | None:
    if not units:
        return None
    monitors = merge_monitors([unit.monitors for unit in units])
    # A gearbox computer supports no engine monitor; its ignition bit means nothing.
    telling = [unit for unit in units if countable_ids(unit.monitors)] or units
    kinds = sorted({unit.ignition for unit in telling})
    return Merged(
        mil=any(unit.mil for unit in units),
        count=sum(unit.count for unit in units),
        ignition=kinds[0] if len(kinds) == 1 else "mixed",
        monitors=monitors,
        countable=tuple(countable_ids(monitors)),
        incomplete=tuple(incomplete_ids(monitors)),
        incomplete_continuous=tuple(incomplete_ids(monitors, continuous=True)),
    )


def _monitor_state(
    units: Sequence[UnitReadout], merged: Merged | None, short: Sequence[str]
) -> str | None:
    """Judge the monitor bytes alone; None if there are none."""
    if short:
        return "short"
    if merged is None:
        return None
    if merged.ignition == "mixed":
        return "contradictory"
    if not any(_tells(unit) for unit in units):
        empty = not merged.mil and merged.count == 0
        return "all-zero" if empty else "nothing-supported"
    if not merged.countable:
        return "continuous-only"
    return "usable"


def _text_state(text: str, lines: Lines, replies: Replies, monitors: str | None) -> str:
    if monitors:
        return monitors
    if replies.trip:
        return "this-trip-only"
    if replies.values or replies.asked or replies.warnings:
        return "no-status"
    if replies.other_protocol:
        return "other-protocol"
    if replies.refused:
        return "refused"
    if "no-data" in lines.marks or "no-connection" in lines.marks:
        return "no-answer"
    if "damaged-line" in lines.marks:
        return "damaged"
    if "no-data-elsewhere" in lines.marks:
        return "no-status"
    if any(message.kind == "request" for message in lines.messages):
        return "only-questions"
    return "nothing-recognised" if text.strip(" \t\r\n\f\v>") else "empty"
