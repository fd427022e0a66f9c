"""Room 1: read YAML into plain values that remember line and column.

Stricter than YAML on purpose. Only true/false, null/~, plain whole numbers and d.d
numbers are anything but text; words that other readers would turn into something else
must stand in quotes. Anchors, aliases, tags, merge keys, duplicate keys and a second
document are refused. A bad file gives problems, never an exception.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from build_tools.knowledge.problems import Complaint, Problem, Severity, Span

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import yaml

KeyPath = tuple[str | int, ...]
Place = tuple[int, int]

UNREADABLE = Complaint(
    "SHP001", "unreadable-file", Severity.ERROR, "nothing in this file can be used as it is"
)
DUPLICATE = Complaint(
    "SHP002",
    "duplicate-key",
    Severity.ERROR,
    "readers keep the last one without a word, so half of what was written would vanish",
)
LOOKALIKE = Complaint(
    "SHP003", "unquoted-lookalike", Severity.ERROR, "the page would show a value nobody wrote"
)
MACHINERY = Complaint(
    "SHP006",
    "yaml-machinery",
    Severity.ERROR,
    "a reader of the file could not see what it says without running it",
)

MOST_BYTES = 1_000_000
MOST_LEVELS = 40
MOST_DIGITS = 15
MOST_FRACTION_CHARACTERS = 24

_INT = re.compile(r"-?(?:0|[1-9][0-9]*)\Z")
_FLOAT = re.compile(r"-?(?:0|[1-9][0-9]*)\.[0-9]+\Z")
_PLAIN_WORDS: dict[str, object] = {"true": True, "false": False, "null": None, "~": None, "": None}
_KINDS_OF_LOOKALIKE = {"bool": "true or false", "int": "a number", "float": "a number"}


@dataclass(frozen=True)
class Document:
    """One file's plain value, and the place of every value and key in it.

    Values are dict, list, str, int, float, bool or None. A path is a tuple of keys and
    list positions from the top; the empty path is the whole document. `values` and `keys`
    give (line, column) from 1. `text` is the file as it was written.
    """

    file: str
    value: Any
    values: Mapping[KeyPath, Place] = field(repr=False)
    keys: Mapping[KeyPath, Place] = field(repr=False)
    text: str = field(default="", repr=False)

    def span(self, *path: str | int) -> Span:
        """Return where the value at this path stands, or its nearest parent that exists."""
        while path and path not in self.values:
            path = path[:-1]
        return Span(self.file, *self.values.get(path, (1, 1)))

    def key_span(self, *path: str | int) -> Span:
        """Return where the key of this path stands; for a list item, the item itself."""
        place = self.keys.get(path)
        return Span(self.file, *place) if place else self.span(*path)


@dataclass
class _Open:
    """A list or mapping whose end has not been read yet."""

    value: dict[str, object] | list[object]
    path: KeyPath
    key: str | None = None
    skip_value: bool = False


def read(text: str | bytes, file: str) -> tuple[Document | None, list[Problem]]:
    """Read one YAML document.

    Returns the document and every problem met. With a problem of syntax there is no
    document; with refused look-alikes or duplicates there is one, so that later rooms
    can go on judging.
    """
    decoded, problem = decode(text, file)
    if decoded is None:
        return None, [problem] if problem else []
    import yaml  # noqa: PLC0415 - most commands read kept knowledge and no YAML

    builder = _Builder(file)
    try:
        for event in yaml.parse(decoded, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
            builder.take(event)
    except _TooDeepError as deep:
        mend = f"keep nesting below {MOST_LEVELS} levels"
        return None, [*builder.problems, UNREADABLE.at(deep.span, "nested too deeply", mend)]
    except yaml.YAMLError as error:
        return None, [*builder.problems, _syntax_problem(error, decoded, file)]
    if not builder.documents:
        mend = "start from a template: python -m build_tools new KIND ID"
        return None, [UNREADABLE.at(Span(file), "the file is empty", mend)]
    document = Document(file, builder.root, builder.values, builder.keys, decoded)
    return document, [*builder.problems, *_decimal_commas(decoded, file)]


# A number parted by a comma inside braces is read as a number and a key without a value.
_PARTED = re.compile(r"\{[^\n\"']*?: (\d+,\d+)(?=\s*[,}])")


def _decimal_commas(text: str, file: str) -> Iterator[Problem]:
    for found in _PARTED.finditer(text):
        number = found.group(1)
        what = f"a decimal comma stands in {number}"
        mend = f"write a decimal point: {number.replace(',', '.')}"
        yield LOOKALIKE.at(_span_at(text, found.start(1), file), what, mend)


def decode(text: str | bytes, file: str) -> tuple[str | None, Problem | None]:
    """Turn bytes into text, refusing what is not UTF-8 or is too long to be hand-written."""
    raw = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    if len(raw) > MOST_BYTES:
        what = f"the file holds {len(raw)} bytes, more than {MOST_BYTES}"
        return None, UNREADABLE.at(Span(file), what, "split it into several entries")
    try:
        return raw.decode("utf-8"), None
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8")
        what = f"byte 0x{raw[error.start]:02x} is not UTF-8 text"
        span = _span_at(before, len(before), file)
        return None, UNREADABLE.at(span, what, "save the file as UTF-8")


class _TooDeepError(Exception):
    def __init__(self, span: Span) -> None:
        super().__init__(span)
        self.span = span


class _Builder:
    """Build plain values and positions from parsing events, one event at a time."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.root: object = None
        self.documents = 0
        self.values: dict[KeyPath, Place] = {}
        self.keys: dict[KeyPath, Place] = {}
        self.problems: list[Problem] = []
        self.stack: list[_Open] = []

    def take(self, event: yaml.Event) -> None:
        """Use one event; events of a second document are reported and left out."""
        name = type(event).__name__
        if name == "DocumentStartEvent":
            self._start_document(event)
        elif self.documents > 1:
            return
        elif name == "AliasEvent":
            anchor = getattr(event, "anchor", "")
            self._refuse(event, f'"*{anchor}" repeats another part of the file')
            self._put(None, self._place(event), scalar=None)
        elif name == "ScalarEvent":
            self._refuse_marks(event)
            self._take_scalar(event)
        elif name in {"MappingStartEvent", "SequenceStartEvent"}:
            self._refuse_marks(event)
            self._open(event, {} if name == "MappingStartEvent" else [])
        elif name in {"MappingEndEvent", "SequenceEndEvent"}:
            self.stack.pop()

    def _place(self, event: yaml.Event) -> Place:
        mark: Any = event.start_mark  # always there: events come from text
        return mark.line + 1, mark.column + 1

    def _span(self, event: yaml.Event) -> Span:
        return Span(self.file, *self._place(event))

    def _refuse(self, event: yaml.Event, what: str) -> None:
        mend = "write the text out in full at this place"
        self.problems.append(MACHINERY.at(self._span(event), what, mend))

    def _refuse_marks(self, event: yaml.Event) -> None:
        anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
        if anchor:
            self._refuse(event, f'"&{anchor}" names a part of the file for reuse')
        if tag:
            self._refuse(event, f'tag "{tag}" changes how the value is read')

    def _start_document(self, event: yaml.Event) -> None:
        self.documents += 1
        if self.documents == 2:  # noqa: PLR2004 - the second one is the first too many
            what = "a second document begins here"
            mend = "remove the line `---`, or put the second entry in a file of its own"
            self.problems.append(MACHINERY.at(self._span(event), what, mend))

    def _open(self, event: yaml.Event, value: dict[str, object] | list[object]) -> None:
        if len(self.stack) >= MOST_LEVELS:
            raise _TooDeepError(self._span(event))
        top = self.stack[-1] if self.stack else None
        if top and isinstance(top.value, dict) and top.key is None:
            what = "a list or group of keys stands where a key is expected"
            self.problems.append(
                UNREADABLE.at(self._span(event), what, "write a plain word followed by a colon")
            )
        path = self._put(value, self._place(event), scalar=None)
        self.stack.append(_Open(value, path))

    def _take_scalar(self, event: Any) -> None:  # noqa: ANN401 - yaml.ScalarEvent, untyped
        top = self.stack[-1] if self.stack else None
        is_key = top is not None and isinstance(top.value, dict) and top.key is None
        plain = not event.style  # the C parser says "" where the other says None
        if is_key:
            self._check_key(event, plain=plain)
            self._put(event.value, self._place(event), scalar=event.value)
            return
        value, problem = _resolve(event.value, self._span(event)) if plain else (event.value, None)
        if problem:
            self.problems.append(problem)
        self._put(value, self._place(event), scalar=None)

    def _check_key(self, event: yaml.ScalarEvent, *, plain: bool) -> None:
        if plain and event.value == "<<":
            self._refuse(event, '"<<" merges keys from elsewhere')
        elif plain:
            _, problem = _resolve(event.value, self._span(event))
            if problem:
                self.problems.append(problem)

    def _put(self, value: object, place: Place, *, scalar: str | None) -> KeyPath:
        """Put a value where it belongs and return its path; a key is only remembered."""
        if not self.stack:
            self.root = value
            self.values[()] = place
            return ()
        top = self.stack[-1]
        if isinstance(top.value, list):
            path: KeyPath = (*top.path, len(top.value))
            top.value.append(value)
        elif top.key is None:
            top.key = scalar if scalar is not None else "?"
            self._remember_key(top, place)
            return (*top.path, top.key)
        else:
            path = (*top.path, top.key)
            top.key = None
            if top.skip_value:
                return (*path, "again")
            top.value[str(path[-1])] = value
        self.values[path] = place
        return path

    def _remember_key(self, top: _Open, place: Place) -> None:
        key = str(top.key)
        path = (*top.path, key)
        top.skip_value = key in top.value
        if not top.skip_value:
            self.keys[path] = place
            return
        what = f'key "{key}" stands here again; it is already on line {self.keys[path][0]}'
        span = Span(self.file, *place)
        self.problems.append(DUPLICATE.at(span, what, "keep one of the two"))


def _resolve(text: str, span: Span) -> tuple[object, Problem | None]:
    """Turn an unquoted word into its value, or say why it must be quoted."""
    if text in _PLAIN_WORDS:
        return _PLAIN_WORDS[text], None
    if _INT.match(text) or _FLOAT.match(text):
        return _number(text, span)
    import yaml  # noqa: PLC0415 - already loaded by `read`

    for tag, pattern in yaml.SafeLoader.yaml_implicit_resolvers.get(text[:1], []):
        if pattern.match(text):
            name = tag.rsplit(":", 1)[-1]
            reads = _KINDS_OF_LOOKALIKE.get(name, "a date" if name == "timestamp" else "a command")
            what = f'other readers of YAML take {text} for {reads}, not for the text "{text}"'
            return text, LOOKALIKE.at(span, what, f'put quotes round it: "{text}"')
    return text, None


def _number(text: str, span: Span) -> tuple[object, Problem | None]:
    most = MOST_FRACTION_CHARACTERS if "." in text else MOST_DIGITS
    if len(text) > most:
        what = f"the number {text[:MOST_DIGITS]}... has more digits than can be kept"
        return 0, LOOKALIKE.at(span, what, f"write at most {most} characters, or use quotes")
    if "." not in text:
        return int(text), None
    whole, fraction = text.split(".")
    if len(fraction) > 1 and fraction.endswith("0"):
        short = f"{whole}.{fraction.rstrip('0') or '0'}"
        what = f"{text} is read as the number {short}; the last nought is lost"
        mend = f'write {short} for a number, or "{text}" for text'
        return float(text), LOOKALIKE.at(span, what, mend)
    return float(text), None


def _syntax_problem(error: yaml.YAMLError, text: str, file: str) -> Problem:
    mend = "look at this line and the one above: indentation, quotes, colons, brackets"
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is not None:
        said = getattr(error, "problem", None) or getattr(error, "context", None) or "unreadable"
        # A lone carriage return ends a line in YAML too.
        lines = [*text.splitlines(), ""]
        line = lines[mark.line] if mark.line < len(lines) else ""
        above = lines[mark.line - 1] if mark.line else ""
        if "\t" in line[: len(line) - len(line.lstrip())]:
            what, mend = "a tab stands before this line", "use spaces"
            return UNREADABLE.at(Span(file, mark.line + 1, 1), what, mend)
        named = _named_slip(error, lines, file)
        if named:
            return named
        what = f"this is not readable YAML: {said}"
        deep, before = (len(one) - len(one.lstrip(" ")) for one in (line, above))
        if deep != before and line.strip() and above.strip():
            mend += f"; {deep} spaces stand before this line, and {before} before the one above"
        return UNREADABLE.at(Span(file, mark.line + 1, mark.column + 1), what, mend)
    position = min(getattr(error, "position", 0), len(text))
    character = getattr(error, "character", "")
    shown = f" {ord(character):#06x}" if isinstance(character, str) and character else ""
    what = f"a control character{shown} stands in the file"
    return UNREADABLE.at(_span_at(text, position, file), what, "delete it and save as UTF-8")


def _named_slip(error: yaml.YAMLError, lines: list[str], file: str) -> Problem | None:
    """Name the slips hands make most, at the line where they were made; None for another one."""
    mark = getattr(error, "problem_mark", None)
    begun = getattr(error, "context_mark", None)
    said = str(getattr(error, "problem", ""))
    if begun is not None and ("',' or ']'" in said or "',' or '}'" in said):
        sign = "]" if "]" in said else "}"
        line = lines[begun.line].strip()
        what = f"this is not readable YAML: the bracket opened here is never closed: {line}"
        place = Span(file, begun.line + 1, begun.column + 1)
        return UNREADABLE.at(place, what, f"put {sign} behind its last part")
    if mark is not None and "could not find expected ':'" in said:
        number = mark.line - 1 if begun is None else begun.line
        while number and not lines[number].strip():
            number -= 1
        word, _, rest = lines[number].strip().partition(" ")
        what = f'this is not readable YAML: no colon stands behind "{word}"'
        return UNREADABLE.at(Span(file, number + 1, 1), what, f"write: {word}: {rest[:30]}")
    if begun is not None and "quoted scalar" in str(getattr(error, "context", "")):
        what = "this is not readable YAML: the quote opened here is never closed"
        mend = f"put {lines[begun.line][begun.column]} at the end of its text"
        return UNREADABLE.at(Span(file, begun.line + 1, begun.column + 1), what, mend)
    if "mapping values are not allowed" in said and mark is not None:
        what = (
            "this is not readable YAML: a second colon with a space behind it stands in this line"
        )
        mend = "put the text in quotes, or write it without the colon"
        return UNREADABLE.at(Span(file, mark.line + 1, mark.column + 1), what, mend)
    return None


def _span_at(text: str, position: int, file: str) -> Span:
    before = text[:position]
    return Span(file, before.count("\n") + 1, position - (before.rfind("\n") + 1) + 1)
