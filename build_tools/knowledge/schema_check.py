"""Room 1: hold a document against its JSON Schema and tell misfits in plain words.

The schemas in symptoms/_schema say shape, never sense. No fragment of a schema and no
name of a programming type reaches a reader: every message quotes what stands in the
file, at the place where it stands.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import TYPE_CHECKING, Any

from build_tools.knowledge.folders import SCHEMAS
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Complaint, Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError

    from build_tools.knowledge.yaml_reader import Document

MISFIT = Complaint(
    "SHP004",
    "schema-misfit",
    Severity.ERROR,
    "the pages and the checker read this place and expect another shape",
)
UNKNOWN_KEY = Complaint(
    "SHP005", "unknown-key", Severity.ERROR, "nothing reads this key, so its text would vanish"
)

_COMMA = re.compile(r"-?[0-9]+,[0-9]+")
_SHARE = re.compile(r"(\d+(?:\.\d+)?) ?(%?)")
_PERCENT = 100
_LONGEST_QUOTE = 60
_TYPE_WORDS = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "null": "nothing (null)",
    "array": "a list",
    "object": "a group of keys",
}


def has_schema(name: str) -> bool:
    """Tell whether a schema of this name is kept."""
    return (SCHEMAS / f"{name}.schema.json").is_file()


def check_document(document: Document, name: str) -> list[Problem]:
    """Return every place where the document does not fit the schema called `name`.

    Raises:
        FileNotFoundError: if no schema of that name is kept.
    """
    errors = validator(name).iter_errors(document.value)
    return [problem for error in errors for problem in _tell(error, document)]


def published_schemas() -> list[tuple[str, str]]:
    """Return (file name, text) of every schema, for editors and for those who use our data.

    They refer to each other by file name, so they belong in one folder of the site. A published
    one admits fields that a later edition adds; only our own files may hold no others.
    """
    paths = sorted(SCHEMAS.glob("*.json"))
    return [
        (path.name, json.dumps(_opened(json.loads(path.read_bytes())), indent=1)) for path in paths
    ]


def _opened(part: Any) -> Any:  # noqa: ANN401 - a schema is any JSON
    if isinstance(part, list):
        return [_opened(one) for one in part]
    if not isinstance(part, dict):
        return part
    closed = ("additionalProperties", False)
    return {key: _opened(one) for key, one in part.items() if (key, one) != closed}


def key_order(name: str) -> tuple[str, ...]:
    """Return the top keys of a kind in the order files should have them."""
    return tuple(_load(SCHEMAS / f"{name}.schema.json").get("properties", {}))


@cache
def validator(name: str) -> Draft202012Validator:
    """Return the validator of a schema; it is made once and kept."""
    from jsonschema import Draft202012Validator  # noqa: PLC0415 - kept knowledge needs none

    return Draft202012Validator(_load(SCHEMAS / f"{name}.schema.json"))


@cache
def _load(path: Path) -> dict[str, Any]:
    """Read a schema with every reference replaced by what it names.

    Our schemas refer to parts of other files and never to themselves. Without references
    a document is checked about twice as fast.
    """
    loaded: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    inlined: dict[str, Any] = _inline(loaded, loaded)
    return inlined


def _inline(part: Any, whole: dict[str, Any]) -> Any:  # noqa: ANN401 - a schema is any JSON
    if isinstance(part, list):
        return [_inline(one, whole) for one in part]
    if not isinstance(part, dict):
        return part
    inner = {key: _inline(one, whole) for key, one in part.items() if key != "$ref"}
    if "$ref" not in part:
        return inner
    file, _, pointer = part["$ref"].partition("#")
    target: Any = _load(SCHEMAS / file) if file else whole
    for step in pointer.strip("/").split("/"):
        target = target[step]
    return {**_inline(target, whole), **inner}


def _schema(error: ValidationError) -> Any:  # noqa: ANN401 - a schema is any JSON
    return error.schema


def _wanted(error: ValidationError) -> Any:  # noqa: ANN401 - what a keyword asks is any JSON
    return error.validator_value


def _value(error: ValidationError) -> Any:  # noqa: ANN401 - what stands in the file is any JSON
    return error.instance


def _tell(error: ValidationError, document: Document) -> Iterator[Problem]:
    keyword = str(error.validator)
    comma = _decimal_comma(error, document)
    if comma:
        yield comma
        return
    named = isinstance(error.instance, str)
    if keyword == "const" and list(error.absolute_path) == ["kind"] and named:
        return  # a file in the wrong folder is told as IDN101, with both kinds named
    if keyword == "additionalProperties":
        yield from _tell_unknown(error, document)
    elif keyword in {"required", "dependentRequired"}:
        yield from _tell_missing(error, document)
    else:
        what, mend = _WORDINGS.get(keyword, _word_other)(error)
        yield MISFIT.at(document.span(*error.absolute_path), what, mend)


def _decimal_comma(error: ValidationError, document: Document) -> Problem | None:
    """Name a comma in a number: 12,6 is read as text, or in braces as 12 and a key called 6."""
    path, value = tuple(error.absolute_path), _value(error)
    last = path[-1] if path else ""
    if error.validator != "type":
        return None
    if isinstance(value, str) and _COMMA.fullmatch(value):
        point = value.replace(",", ".")
    elif value is None and isinstance(last, str) and last.isdigit():
        point = f"12.{last}"
    else:
        return None
    what = f"{_name(path)} comes of a comma in a number"
    return MISFIT.at(document.key_span(*path), what, f"write a decimal point, such as {point}")


def _tell_unknown(error: ValidationError, document: Document) -> Iterator[Problem]:
    known = list(_schema(error).get("properties", {}))
    patterns = _schema(error).get("patternProperties", {})
    for key in _value(error):
        if key in known or patterns:
            continue
        span = document.key_span(*error.absolute_path, key)
        where = "remove it, or see the template of this kind in symptoms/_template"
        free = [one for one in known if one not in _value(error)]
        mend = did_you_mean(key, free or known, where=where)
        yield UNKNOWN_KEY.at(span, f'key "{key}" is not known here', mend)
    if patterns:
        yield MISFIT.at(document.span(*error.absolute_path), *_word_other(error))


def _tell_missing(error: ValidationError, document: Document) -> Iterator[Problem]:
    path = tuple(error.absolute_path)
    missing = [key for key in _wanted(error) if key not in _value(error)]
    if error.validator == "dependentRequired":
        missing = [
            key
            for given, wanted in _wanted(error).items()
            if given in _value(error)
            for key in wanted
            if key not in _value(error)
        ]
    for key in missing:
        if f"'{key}' is a" not in error.message:
            continue  # each missing key has an error of its own
        below = document.key_span(*path) if path else document.span()
        indent = "  " * sum(1 for step in path if isinstance(step, str))
        sample = _sample(_schema(error), key)
        where = f"under {_name(path)}" if path else "in this file"
        mend = f"add `{indent}{key}: {sample}` below line {below.line}"
        yield MISFIT.at(below, f"`{key}` is missing {where}", mend)


def _sample(schema: Any, key: str) -> str:  # noqa: ANN401 - a schema is any JSON
    """Give an example of the value a missing key wants."""
    part = schema.get("properties", {}).get(key, {})
    part = part if isinstance(part, dict) else {}
    if part.get("examples"):
        return _as_yaml(part["examples"][0])
    if part.get("enum"):
        return _as_yaml(part["enum"][0])
    kinds = part.get("type", "string")
    first = kinds if isinstance(kinds, str) else kinds[0]
    return {"array": "[]", "object": "", "integer": "1", "number": "1", "boolean": "false"}.get(
        first, "..."
    )


def _name(path: tuple[str | int, ...]) -> str:
    """Name a place in words: the last key, and the item's number when it is a list."""
    *_, last = path
    if isinstance(last, int):
        key = next((step for step in reversed(path) if isinstance(step, str)), "the list")
        return f"item {last + 1} of `{key}`"
    return f"`{last}`"


def _as_yaml(value: object) -> str:
    if isinstance(value, bool) or value is None or isinstance(value, (int, float)):
        return json.dumps(value)
    if isinstance(value, list):
        return "[" + ", ".join(_as_yaml(one) for one in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_as_yaml(one)}" for key, one in value.items()) + "}"
    return str(value)


def quote(value: object) -> str:
    """Show a value as it may stand in a message: short, text in quotes."""
    if isinstance(value, str):
        line = " ".join(value.split())
        return f'"{line}"' if len(line) <= _LONGEST_QUOTE else f'"{line[:_LONGEST_QUOTE]}..."'
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a group of keys"
    return json.dumps(value)


def _subject(error: ValidationError) -> str:
    path = tuple(error.absolute_path)
    return _name(path) if path else "the file"


def _word_type(error: ValidationError) -> tuple[str, str]:
    wanted = _wanted(error)
    names = [wanted] if isinstance(wanted, str) else list(wanted)
    expected = " or ".join(_TYPE_WORDS[one] for one in names)
    value = _value(error)
    got = "nothing" if value is None else quote(value)
    mend = f"write {expected}"
    if names == ["string"] and isinstance(value, (int, float, bool)):
        mend = f"put quotes round it: {json.dumps(str(value).lower())}"
    elif isinstance(value, str) and {"number", "integer"} & set(names):
        mend += " without quotes or unit"
    return f"{_subject(error)} holds {got}, where {expected} is expected", mend


def _word_enum(error: ValidationError) -> tuple[str, str]:
    value = _value(error)
    known = [str(one) for one in _wanted(error) if one is not None]
    every = "choose from " + ", ".join(f'"{one}"' for one in known)
    mend = did_you_mean(str(value), known, where=every)
    share = _SHARE.fullmatch(str(value))
    if share and "else" in error.absolute_schema_path:
        number = float(share[1]) / (1 if float(share[1]) <= 1 and not share[2] else _PERCENT)
        mend = f"{every}, or give a share and its mark: {{value: {number:g}, source: our-estimate}}"
    return f"{_subject(error)}: {quote(value)} is not a word known here", mend


def _word_const(error: ValidationError) -> tuple[str, str]:
    wanted = _as_yaml(_wanted(error))
    return f"{_subject(error)} holds {quote(_value(error))}", f"write {wanted}"


def _word_pattern(error: ValidationError) -> tuple[str, str]:
    title = _schema(error).get("title", "the expected form")
    # A key may describe itself anew; how its text must be written stays in the comment.
    how = _schema(error).get("$comment") or _schema(error).get("description")
    mend = how or "see the template of this kind in symptoms/_template"
    mend = mend[:1].lower() + mend[1:].removesuffix(".")
    return f"{_subject(error)}: {quote(_value(error))} is not {title}", mend


def _word_length(error: ValidationError) -> tuple[str, str]:
    limit, length = _wanted(error), len(_value(error))
    if error.validator == "minLength":
        return f"{_subject(error)} is empty or too short", f"write at least {limit} characters"
    return f"{_subject(error)} has {length} characters", f"keep it within {limit}"


def _word_count(error: ValidationError) -> tuple[str, str]:
    limit, length = _wanted(error), len(_value(error))
    bound = "at least" if str(error.validator).startswith("min") else "at most"
    return f"{_subject(error)} has {length} of at {bound[3:]} {limit}", f"give {bound} {limit}"


def _word_unique(error: ValidationError) -> tuple[str, str]:
    return f"{_subject(error)} holds the same item twice", "remove the second one"


_BOUNDS = {
    "minimum": "at least",
    "maximum": "at most",
    "exclusiveMinimum": "more than",
    "exclusiveMaximum": "less than",
}


def _word_bound(error: ValidationError) -> tuple[str, str]:
    bound = f"{_BOUNDS[str(error.validator)]} {_wanted(error)}"
    return f"{_subject(error)} is {quote(_value(error))}, not {bound}", f"write a number {bound}"


def _word_name(error: ValidationError) -> tuple[str, str]:
    return f"key {quote(_value(error))} is not written as expected", _word_pattern(error)[1]


def _word_other(error: ValidationError) -> tuple[str, str]:
    mend = "compare it with the template of this kind in symptoms/_template"
    return f"{_subject(error)}: {quote(_value(error))} does not fit here", mend


_WORDINGS: dict[str, Callable[[ValidationError], tuple[str, str]]] = {
    "type": _word_type,
    "enum": _word_enum,
    "const": _word_const,
    "pattern": _word_pattern,
    "minLength": _word_length,
    "maxLength": _word_length,
    "minItems": _word_count,
    "maxItems": _word_count,
    "minProperties": _word_count,
    "maxProperties": _word_count,
    "uniqueItems": _word_unique,
    **dict.fromkeys(_BOUNDS, _word_bound),
    "propertyNames": _word_name,
}
