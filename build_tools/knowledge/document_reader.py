"""Room 1: read a case or network file, JSON or YAML, so that messages can point into it.

JSON is what machines send and YAML what people write. Both give the same Document, so
one set of checks serves both. Nothing is judged here beyond being readable.
"""

import json
import re
from typing import Any

from build_tools.knowledge.problems import Problem, Span
from build_tools.knowledge.yaml_reader import (
    DUPLICATE,
    MOST_LEVELS,
    UNREADABLE,
    Document,
    KeyPath,
    Place,
    decode,
    read,
)

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+')


def read_document(text: str | bytes, name: str) -> tuple[Document | None, list[Problem]]:
    """Read one document; `name` is the file's name as messages will show it.

    It is read as JSON when the name ends in .json or its first sign is a brace or bracket
    and it parses as JSON; otherwise as YAML. Problems are returned, never raised.
    """
    decoded, problem = decode(text, name)
    if decoded is None:
        return None, [problem] if problem else []
    begins = decoded.lstrip("\ufeff \t\r\n")[:1]
    if name.endswith(".json") or (begins in {"{", "["} and _is_json(decoded)):
        return _read_json(decoded.removeprefix("\ufeff"), name)
    return read(decoded, name)


def _is_json(text: str) -> bool:
    try:
        json.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return False
    return True


def _read_json(text: str, name: str) -> tuple[Document | None, list[Problem]]:
    try:
        value = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        span = Span(name, error.lineno, error.colno)
        what = f"this is not readable JSON: {error.msg.lower()}"
        mend = "look at this place and just before it: quotes, commas, brackets"
        return None, [UNREADABLE.at(span, what, mend)]
    except (ValueError, RecursionError) as error:
        what = f"this is not readable JSON: {error}"
        return None, [UNREADABLE.at(Span(name), what, "write plain values, few levels deep")]
    places = _Places(text, name)
    places.walk()
    if places.depth > MOST_LEVELS:
        mend = f"keep nesting below {MOST_LEVELS} levels"
        return None, [UNREADABLE.at(Span(name), "nested too deeply", mend)]
    return Document(name, value, places.values, places.keys, text), places.problems


def _refuse_constant(word: str) -> Any:  # noqa: ANN401 - it never returns
    raise ValueError(f"{word} is not a number JSON knows")


class _Places:
    """Find the place of every key and value in text that is known to be right JSON."""

    def __init__(self, text: str, name: str) -> None:
        self.text = text
        self.name = name
        self.values: dict[KeyPath, Place] = {}
        self.keys: dict[KeyPath, Place] = {}
        self.problems: list[Problem] = []
        self.depth = 0

    def walk(self) -> None:
        """Step through the tokens, keeping the path of the open lists and groups."""
        path: list[str | int] = []
        groups: list[bool] = []
        waits_for_key = False
        line, line_start = 1, 0
        for token in _TOKEN.finditer(self.text):
            newlines = self.text.count("\n", line_start, token.start())
            if newlines:
                line += newlines
                line_start = self.text.rfind("\n", 0, token.start()) + 1
            place = (line, token.start() - line_start + 1)
            sign = token.group()
            if sign in "}]":
                groups.pop()
                path.pop()
                waits_for_key = False
            elif sign == ",":
                waits_for_key = groups[-1]
                if not groups[-1]:
                    path[-1] = int(path[-1]) + 1
            elif sign == ":":
                waits_for_key = False
            elif waits_for_key:
                path[-1] = json.loads(sign)
                self._remember_key(tuple(path), place)
            else:
                self.values[tuple(path)] = place
                if sign in "{[":
                    groups.append(sign == "{")
                    path.append("" if sign == "{" else 0)
                    waits_for_key = groups[-1]
                    self.depth = max(self.depth, len(groups))

    def _remember_key(self, path: KeyPath, place: Place) -> None:
        if path in self.keys:
            what = f'key "{path[-1]}" stands here again; it is already on line {self.keys[path][0]}'
            span = Span(self.name, *place)
            self.problems.append(DUPLICATE.at(span, what, "keep one of the two"))
        self.keys[path] = place
