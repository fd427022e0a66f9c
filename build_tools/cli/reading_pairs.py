"""Room 5: read KEY=VALUE words as people type them on a command line.

A value is an option or a number with its unit glued or spaced behind it. Nothing is
converted or judged here.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_QUANTITY = re.compile("([+\u2212-]?[0-9.,]*[0-9][.,]?)\\s*(.*)", re.DOTALL)

Quantity = dict[str, str]


def read_pairs(pairs: Sequence[str]) -> dict[str, str]:
    """Return key to text for words like `draw=50mA`.

    Raises:
        ValueError: if a word has no key or no `=`, or a key comes twice.
    """
    found: dict[str, str] = {}
    for pair in pairs:
        key, equals, value = pair.partition("=")
        key = key.strip()
        if not equals or not key:
            raise ValueError(f'"{pair}" is not KEY=VALUE, such as draw=50mA')
        if key in found:
            raise ValueError(f'"{key}" is given twice')
        found[key] = value.strip()
    return found


def split_quantity(text: str) -> Quantity:
    """Split `50mA` or `20 degF` into value and unit; what is no number stays whole.

    A unit that was left out is left out of the result.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        return {"value": text}
    value, unit = match[1], match[2].strip()
    return {"value": value, "unit": unit} if unit else {"value": value}
