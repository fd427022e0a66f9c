"""Room reasoning: a readout told in words, as readers show it on a screen.

Takes lists and columns of monitor names with complete, incomplete or not there beside them, the
lamp, and codes as text. Whatever has two readings is handed back to be asked. It knows no bytes
and never raises. `readout-words.js` does the same in the same order.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

_LONGEST_LINE: Final = 400
_MOST_LINES: Final = 2_000
_SIGNS: Final = (
    (re.compile("[\u2713\u2714\u2705\u2611\U0001f5f8]"), " complete "),
    (re.compile("[\u2717\u2718\u2716\u274c\u2612\u00d7]"), " incomplete "),
    (re.compile("[\u2010-\u2015\u2212]"), "-"),
    (re.compile(r"[^\x20-\x7e\t]"), " "),
)
# At one place the first that fits is meant, so longer names stand first.
_O2: Final = r"(?:ho2s?|o2s?|oxygen|lambda)(?:[ _-]?sen(?:s|sor|sors)?\b\.?)?"
_NAMES: Final = (
    ("heated-catalyst", r"(?:heated|htd)[ _.-]{0,2}cat\w*|hcat|cat\w*[ _-]heat\w*"),
    ("nmhc-catalyst", r"nmhc(?:[ _-]cat\w*)?"),
    ("unclear", r"heated[ _-](?:o2|oxygen)(?:[ _-]sen\w*)?"),
    ("oxygen-sensor-heater", rf"{_O2}[ _-]?(?:heater|heat|htr|ht)s?|o2h|htr"),
    ("oxygen-sensor", _O2),
    ("evaporative-system", r"evap\w*|evp"),
    ("secondary-air", r"(?:sec(?:ondary|\.)?|2nd)[ _-]?air(?:[ _-]inj\w*)?|air[ _-]inj\w*|sai|air"),
    ("egr-vvt", r"egr|vvt"),
    ("misfire", r"mis(?:-?fire)?|mf"),
    ("fuel-system", r"fuel(?:[ _-]sys\w*\.?)?"),
    ("components", r"comprehensive|components?|ccm|comp"),
    ("catalyst", r"cat(?:alysts?|alytic)?"),
    ("gasoline-particulate-filter", r"gpf|gasoline particul\w*"),
    ("boost-pressure", r"boost"),
    ("nox-aftertreatment", r"nox|scr"),
    ("exhaust-gas-sensor", r"exh\w*[ _-]gas(?:[ _-]sen\w*)?|egs"),
    ("pm-filter", r"pm[ _-]filter|pm|dpf|particul\w*"),
    ("air-conditioning", r"a/c(?:[ _-](?:sys\w*|refrig\w*))?"),
)
_STATES: Final = (
    ("none", r"n/a|not[ -](?:(?:support|avail|applic|equip)\w*|supp)|unsupported|n/s|na|-{2,}"),
    (
        "incomplete",
        r"not[ -]?(?:ready|completed?|rdy|cmpl|done|run)|in-?complete|incmpl?|inc|nrdy|nr|n/r",
    ),
    ("complete", r"completed?|cmpl|compl|ready|rdy|done|finished|ok"),
    ("unclear", r"yes|no|pass(?:ed)?|fail(?:ed)?|on|off|x|pending|disabled"),
)
_FOUND: Final = re.compile(
    "(?<![a-z0-9])(?:"
    + "|".join(
        f"(?P<{kind}{n}>{pattern})"
        for kind, rows in (("s", _STATES), ("n", _NAMES))
        for n, (_, pattern) in enumerate(rows)
    )
    + ")(?![a-z0-9])"
)
_FILLING: Final = re.compile(
    r"\b(?:monitors?|systems?|sensors?|tests?|status|converter|and|or|bank|the|is|are|these|eval|mon|sys|b[12]|s[12])\b"
)
_LAMP: Final = re.compile(
    r"\b(?:mil|cel|check engine(?: (?:light|lamp))?|engine (?:light|lamp)|malfunction \w+ \w+)\b"
    r"[^a-z0-9]*(?:(?:status|light|lamp|is|command\w*)[^a-z0-9]*){0,3}(on|off|lit)\b"
)
_COUNT: Final = re.compile(
    r"\b(?:(no|[0-9]{1,3}) (?:stored |confirmed )?(?:dtcs?|codes?|faults?)\b"
    r"|(?:dtcs?|codes?|faults?)(?: (?:stored|count|found|number))?[ :=#]+([0-9]{1,3}|none)\b)"
)
_KIND_OR_CODE: Final = re.compile(
    r"\b(PENDING|PERMANENT|STORED|CONFIRMED|CURRENT|ACTIVE)\b"
    r"|(?<![A-Z0-9])([PCBU][0-3][0-9A-F]{3})(?:-[0-9A-F]{2})?(?![A-Z0-9])"
)
# A word stands in a column of its own, so it is meant as a state.
_APART: Final = re.compile(r"[:=|\t]|  ")
SPARK_ONLY: Final = (
    "catalyst",
    "heated-catalyst",
    "evaporative-system",
    "secondary-air",
    "oxygen-sensor",
    "oxygen-sensor-heater",
    "gasoline-particulate-filter",
)
DIESEL_ONLY: Final = (
    "nmhc-catalyst",
    "nox-aftertreatment",
    "boost-pressure",
    "exhaust-gas-sensor",
    "pm-filter",
)


@dataclass(frozen=True)
class Understood:
    """What one line was taken for: a monitor and its state; `state` None: to be asked.

    `line` counts from 1.
    """

    line: int
    monitor: str
    state: str | None


@dataclass
class Words:
    """Gather what a text tells in words. `mil` and `count` are None where it tells nothing."""

    monitors: dict[str, str | None] = field(default_factory=dict)
    lines: list[Understood] = field(default_factory=list)
    codes: list[tuple[str, str]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    mil: bool | None = None
    count: int | None = None

    @property
    def ignition(self) -> str | None:
        """Tell the kind of engine by the monitors that are there; None: both kinds or neither."""
        there = {name for name, state in self.monitors.items() if state != "none"}
        diesel, spark = bool(there & set(DIESEL_ONLY)), bool(there & set(SPARK_ONLY))
        return None if diesel == spark else "compression" if diesel else "spark"


@dataclass
class _Run:
    """Names or states that stand alone on their lines, until the other kind follows."""

    names: list[tuple[int, str]] = field(default_factory=list)
    states: list[str] = field(default_factory=list)
    heading: str | None = None
    alone: list[tuple[int, str]] = field(default_factory=list)


def read_words(text: str) -> Words:
    """Read a text as words; never raises. Lines beyond the limits are left out."""
    words, run, kind = Words(), _Run(), "confirmed"
    for number, line in enumerate(_plain_lines(text), 1):
        kind = _read_codes(words, line, kind)
        _read_line(words, run, number, _read_lamp(words, line.lower()))
    _close(words, run)
    # Names without any state are to be asked, unless the whole text is no list of monitors.
    for number, name in run.alone if words.monitors else ():
        if name not in words.monitors:
            _tell(words, number, name, None)
    return words


def codes_beside(text: str) -> list[tuple[str, str]]:
    """List codes written as text among bytes, with their kind.

    Only those of the letters P and U: B and C are digits of bytes too.
    """
    words, kind = Words(), "confirmed"
    for line in _plain_lines(text):
        kind = _read_codes(words, line, kind)
    return [(kind, code) for kind, code in words.codes if code[0] in "PU"]


def _plain_lines(text: str) -> Iterator[str]:
    for raw in text.replace("\r", "\n").split("\n")[:_MOST_LINES]:
        line = raw[:_LONGEST_LINE]
        for pattern, plain in _SIGNS:
            line = pattern.sub(plain, line)
        yield line


def _read_codes(words: Words, line: str, before: str) -> str:
    """Give each code of a line the kind named before it, or behind it where each line ends so."""
    kind, carried = before, before
    found = [(match[1], match[2]) for match in _KIND_OR_CODE.finditer(line.upper())]
    is_behind = len(found) > 1 and found[0][1] is not None and found[-1][0] is not None
    codes: list[tuple[str, str]] = []
    for word, code in reversed(found) if is_behind else found:
        if word:
            kind = word.lower() if word in {"PENDING", "PERMANENT"} else "confirmed"
            carried = carried if is_behind else kind
        else:
            codes.append((kind, code))
    for told in reversed(codes) if is_behind else codes:
        if told not in words.codes:
            words.codes.append(told)
        if told[0] not in words.asked:
            words.asked.append(told[0])
    return carried


def _read_lamp(words: Words, line: str) -> str:
    """Take the lamp and the number of codes out of a line."""
    lamp = _LAMP.search(line)
    if lamp:
        words.mil = (words.mil or False) or lamp.group(1) != "off"
        line = line[: lamp.start()] + " " + line[lamp.end() :]
    count = _COUNT.search(line)
    if count:
        told = count.group(1) or count.group(2)
        words.count = 0 if told in {"no", "none"} else min(int(told), 127)
        line = line[: count.start()] + " " + line[count.end() :]
    return line


def _found_in(line: str) -> list[tuple[str, str]]:
    """List names and states of a line in their order; a name twice in a row counts once."""
    found: list[tuple[str, str]] = []
    for match in _FOUND.finditer(line):
        key = match.lastgroup or ""
        role, rows = ("state", _STATES) if key[0] == "s" else ("name", _NAMES)
        item = (role, rows[int(key[1:])][0])
        if role == "state" or not found or found[-1] != item:
            found.append(item)
    return found


def _read_line(words: Words, run: _Run, number: int, line: str) -> None:
    found = _found_in(line)
    names = [name for role, name in found if role == "name"]
    states = [state for role, state in found if role == "state"]
    rest = _FILLING.sub(" ", _FOUND.sub(" ", line))
    spoken = re.search(r"[a-z]", rest) is not None
    if names and states:
        _close(words, run)
        _pair(words, number, found, names, states)
    elif names and not spoken:
        _names_alone(words, run, number, names)
    elif len(names) == 1 and _APART.search(line) and not re.search(r"[0-9]", rest):
        _tell(words, number, names[0], None)
    elif states and not spoken and "=" not in line:
        if run.names:
            run.states.extend(states)
        else:
            run.heading = states[0] if len(states) == 1 else None


def _names_alone(words: Words, run: _Run, number: int, names: list[str]) -> None:
    if run.states:
        _close(words, run)
    for name in names:
        if run.heading:
            _tell(words, number, name, run.heading)
        else:
            run.names.append((number, name))


def _pair(
    words: Words, number: int, found: list[tuple[str, str]], names: list[str], states: list[str]
) -> None:
    """Give each name of a line its state: one for all, or one before or behind each."""
    turns = all(one[0] != other[0] for one, other in pairwise(found))
    if len(names) == len(states) and turns:
        pairs: list[tuple[str, str | None]] = list(zip(names, states, strict=True))
    elif len(names) == 1 and len(set(states)) == 1:
        pairs = [(names[0], states[0])]
    elif len(states) == 1 and found[0][0] == "state":
        pairs = [(name, states[0]) for name in names]
    else:
        pairs = [(name, None) for name in names]
    for name, state in pairs:
        _tell(words, number, name, state)


def _tell(words: Words, number: int, name: str, state: str | None) -> None:
    if name == "air-conditioning":
        return
    plain = None if state == "unclear" or name == "unclear" else state
    monitor = "oxygen-sensor-heater" if name == "unclear" else name
    if monitor in words.monitors and words.monitors[monitor] != plain:
        plain = None
    words.monitors[monitor] = plain
    words.lines.append(Understood(number, monitor, plain))


def _close(words: Words, run: _Run) -> None:
    """End a run of names: with as many states each has its own, else all are to be asked."""
    even = len(run.names) == len(run.states)
    for place, (number, name) in enumerate(run.names):
        if run.states:
            _tell(words, number, name, run.states[place] if even else None)
        else:
            run.alone.append((number, name))
    run.names, run.states, run.heading = [], [], None
