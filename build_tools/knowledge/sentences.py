"""Room 2: say the sentences of symptoms/sentences, with their places filled in.

A sentence and the code that fills its places belong to one edition, so the project's own are
said whatever knowledge is judged or advised from. `assets/kit/sentences.js` does the same.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.folders import PROJECT, knowledge_folder, sentence_files
from build_tools.knowledge.yaml_reader import read

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    Form = tuple[Mapping[str, str], str]

# Lists of which the browser says something by itself; the others reach it as readiness.json.
IN_BROWSER: Final = ("advice", "readings", "screens", "sums")
# The line of the browser's formatter that is filled with those lists.
BLANK: Final = "const SENTENCES = {};"
PLACE: Final = re.compile(r"\{([a-z_]+)\}")


def say(name: str, **places: object) -> str:
    """Return a sentence in the first of its forms that fits; "" when none does.

    Raises:
        KeyError: if there is no such sentence, or a place of its text was not given.
    """
    for when, text in _shipped()[name]:
        if all(places.get(place) == value for place, value in when.items()):
            return fill(text, places)
    return ""


def fill(text: str, places: Mapping[str, object]) -> str:
    """Fill the places of a text.

    Raises:
        KeyError: if a place of it was not given.
    """
    return PLACE.sub(lambda match: str(places[match[1]]), text)


def forms(name: str) -> dict[str, str]:
    """Return the texts of a sentence that has one form for each value of one place."""
    return {value: text for when, text in _shipped()[name] for value in when.values()}


def forms_of(sentence: Mapping[str, Any]) -> list[Form]:
    """Return the forms of a sentence as its file gives it."""
    rows: Iterable[Mapping[str, Any]] = sentence.get("forms") or (sentence,)
    return [(row.get("when") or {}, str(row["text"])) for row in rows]


def filled(module: str) -> str:
    """Return the text of `assets/kit/sentences.js` with its sentences in it.

    Raises:
        ValueError: if its line to be filled has been changed.
    """
    if module.count(BLANK) != 1:
        raise ValueError(f'kit/sentences.js does not hold the line "{BLANK}" once')
    lists = {name: one for stem in IN_BROWSER for name, one in _lists()[stem].items()}
    texts = json.dumps(lists, ensure_ascii=False, separators=(",", ":"))
    return module.replace(BLANK, f"const SENTENCES = {texts};")


def listed(stem: str) -> Mapping[str, list[Form]]:
    """Return the sentences of one file by name, for a page that gets them with its data.

    Raises:
        KeyError: if there is no such file.
    """
    return _lists()[stem]


def forget() -> None:
    """Read the files anew at the next sentence: a preview shows them as they are changed."""
    _lists.cache_clear()
    _shipped.cache_clear()


@cache
def _shipped() -> dict[str, list[Form]]:
    return {name: one for sentences in _lists().values() for name, one in sentences.items()}


@cache
def _lists() -> dict[str, dict[str, list[Form]]]:
    found = {}
    for path in sentence_files(knowledge_folder(PROJECT)):
        document, _ = read(path.read_bytes(), path.name)
        rows = document.value["items"] if document else ()
        found[path.stem] = {row["id"]: forms_of(row) for row in rows}
    return found
