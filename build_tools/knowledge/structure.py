"""Room 2: turn a file's plain values into entries and back, by the types of their fields.

The one decoder and the one encoder for every kind. A field is read from the key of its name,
or from `key` in its metadata; a class whose file is laid out otherwise rearranges the plain
value in `unfold`. Plain values must fit their schema; only words of the scale are judged here.
"""

import math
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from build_tools.knowledge.entries import Likelihood
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Problem
from build_tools.knowledge.quantities import Quantity
from build_tools.knowledge.references import UNKNOWN_WORD
from build_tools.knowledge.vocabulary import Scale
from build_tools.knowledge.yaml_reader import Document, KeyPath

_Made = TypeVar("_Made")
_BLANK: Mapping[Any, Any] = {str: "", bool: False, tuple: (), Mapping: {}}


class Structurer:
    """Make the entry of one document, collecting the problems met.

    `units` gives, by context, the unit of a number written without one. A likelihood whose
    word is unknown is told as a problem and becomes not-a-number; the caller drops the entry.
    """

    def __init__(self, document: Document, scale: Scale, units: Mapping[str, str]) -> None:
        self.document = document
        self.scale = scale
        self.units = units
        self.problems: list[Problem] = []

    def make(self, kind: Callable[..., _Made], raw: Any, path: KeyPath = ()) -> _Made:  # noqa: ANN401
        """Return a dataclass filled from a plain group of keys that stands at `path`."""
        unfolded = getattr(kind, "unfold", lambda one: one)(raw)
        return kind(
            **{
                one.name: self._field(one, hint, unfolded.get(key), (*path, key))
                for one, key, hint in _plan(kind)
                if key in unfolded or one.default is MISSING
            }
        )

    def _field(self, one: Field[Any], hint: Any, raw: Any, path: KeyPath) -> Any:  # noqa: ANN401
        if raw is not None:
            return self._value(hint, raw, path, one.metadata.get("scale", ""))
        if one.default is not MISSING:
            return one.default
        return None if type(None) in get_args(hint) else _BLANK[get_origin(hint) or hint]

    def _value(self, hint: Any, raw: Any, path: KeyPath, scale: str) -> Any:  # noqa: ANN401
        origin, inner = get_origin(hint), get_args(hint)
        if hint is Likelihood:
            return self._likelihood(raw, path, scale)
        if hint is float:
            return float(raw)
        if isinstance(hint, type) and is_dataclass(hint):
            return self.make(hint, raw, path)
        if origin is tuple and inner[-1] is ...:
            return tuple(self._value(inner[0], one, (*path, n), scale) for n, one in enumerate(raw))
        if origin is tuple:
            return tuple(self._value(*one, path, scale) for one in zip(inner, raw, strict=True))
        if origin is Mapping:
            return {k: self._value(inner[1], one, (*path, k), scale) for k, one in raw.items()}
        if origin in {Union, types.UnionType}:
            return self._one_of(inner, raw, path, scale)
        return raw

    def _one_of(self, hints: tuple[Any, ...], raw: Any, path: KeyPath, scale: str) -> Any:  # noqa: ANN401
        """Read what may be one of two things: a group of keys, or a plain value."""
        if Quantity in hints and isinstance(raw, (int, float)):
            return Quantity(value=float(raw), unit=self.units.get(str(path[-1]), ""))
        wanted = [one for one in hints if one is not type(None)]
        grouped = isinstance(raw, dict)
        fitting = [one for one in wanted if is_dataclass(one) == grouped] or wanted
        return self._value(fitting[0], raw, path, scale)

    def _likelihood(self, raw: Any, path: KeyPath, scale: str) -> Likelihood:  # noqa: ANN401
        """Read a word of the scale, or a number with its mark."""
        if isinstance(raw, dict):
            return Likelihood(value=float(raw["value"]), word=None, source=raw["source"])
        words: Mapping[str, float] = getattr(self.scale, scale)
        if raw not in words:
            mend = did_you_mean(str(raw), words, where="see symptoms/vocabulary/scale.yml")
            what = f'"{raw}" is no word of the scale'
            self.problems.append(UNKNOWN_WORD.at(self.document.span(*path), what, mend))
        value = words.get(raw, math.nan)
        return Likelihood(value=value, word=str(raw), source=self.scale.source)


def plain(value: Any, keys: Mapping[type, str]) -> Any:  # noqa: ANN401 - any entry or part of one
    """Return an entry, or any part of one, as plain values under the keys of its file.

    `keys` names, for each class, the keys to write, in their order and parted by blanks; a
    class without keys is written whole. A likelihood becomes its number.
    """
    if isinstance(value, Likelihood):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        names = {key: one.name for one, key, _ in _plan(type(value))}
        wanted = keys[type(value)].split() if type(value) in keys else names
        return {key: plain(getattr(value, names[key]), keys) for key in wanted}
    if isinstance(value, Mapping):
        return {key: plain(one, keys) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(one, keys) for one in value]
    return value


@cache
def _plan(kind: Any) -> tuple[tuple[Field[Any], str, Any], ...]:  # noqa: ANN401 - a dataclass
    """Return (field, key in the file, type) of every field; worked out once for a class."""
    hints = get_type_hints(kind)
    return tuple((one, one.metadata.get("key", one.name), hints[one.name]) for one in fields(kind))
