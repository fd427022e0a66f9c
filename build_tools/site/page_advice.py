"""Room 5: ask the reasoning about a case, once for each state of the knowledge.

Pages and keys to exercises ask about the same few hundred cars at every build, and planning is
most of its time. It does not depend on how things are worded, so the answers are kept, on the
disk as well, until something changes that advice rests on.
"""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.triage import Advice, triage
from build_tools.knowledge import kept
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.folders import KEPT
from build_tools.site.compile_json import compile_catalogue, to_text
from build_tools.site.page_press import Press

_FOLDER: Final = KEPT.with_name("advice")
_CODE: Final = Path(__file__).resolve().parents[1]
_RESTS_ON: Final = ("engine", "measure", "knowledge")
# Keys whose values are only shown, wherever they stand; a cause's title is part of an advice.
WORDS: Final = frozenset(
    (
        *("summary", "says", "why", "do", "means", "label", "question", "ask_first"),
        *("supply_note", "looks_like", "cannot_tell", "does_not_tell", "hint"),
    )
)
_TITLED: Final = ("causes", "tools", "groups", "hazards", "stop_lines", "abilities")
_UNASKED: Final = ("version", "sources", "sums", "synonyms", "families", "units")


@dataclass
class _Answers:
    """The answers of one state of the knowledge, and whether all of them are on the disk."""

    state: str
    by_case: dict[str, Advice] = field(default_factory=dict)
    on_disk: bool = True


# Version of the knowledge -> its answers; never holds more than one version.
_kept: dict[str, _Answers] = {}


def advice_for(press: Press, symptom_id: str) -> Advice:
    """Return the advice for a car of which only this symptom is known; see `advice_on`."""
    return advice_on(press, CarCase(symptoms=(symptom_id,)))


def advice_on(press: Press, case: CarCase) -> Advice:
    """Return the advice on a case. A press without a version is asked anew each time."""
    if not press.version:
        return triage(press.catalogue, press.network, case)
    answers = _answers(press)
    name = repr(case)
    if name not in answers.by_case:
        answers.by_case[name] = triage(press.catalogue, press.network, case)
        answers.on_disk = False
    return answers.by_case[name]


def keep_advice() -> None:
    """Write what was asked since the last time to the disk, for the next build."""
    for answers in _kept.values():
        if not answers.on_disk:
            kept.keep(_FOLDER, answers.state, answers.by_case, {})
            answers.on_disk = True


def _answers(press: Press) -> _Answers:
    if press.version not in _kept:
        state = advice_state(press.catalogue)
        former = next(iter(_kept.values()), None)
        _kept.clear()
        if former is None or former.state != state:
            found = kept.fetch(_FOLDER, state)
            former = _Answers(state, found[0] if found else {})
        _kept[press.version] = former
    return _kept[press.version]


def _without(value: Any, words: frozenset[str]) -> Any:  # noqa: ANN401 - any part of the document
    if isinstance(value, dict):
        return {key: _without(one, words) for key, one in value.items() if key not in words}
    return [_without(one, words) for one in value] if isinstance(value, (list, tuple)) else value


def advice_state(catalogue: Catalogue) -> str:
    """Return a digest of what advice can rest on: all the knowledge but words, and the code."""
    rest = {
        name: _without(one, WORDS if name in _TITLED else WORDS | {"title"})
        for name, one in compile_catalogue(catalogue).items()
        if name not in _UNASKED
    }
    for symptom in rest["symptoms"].values():
        symptom["causes"] = [link["cause"] for link in symptom["causes"]]
    signs = hashlib.sha256(to_text(rest).encode())
    for room in _RESTS_ON:
        for path in sorted((_CODE / room).glob("*.py")):
            signs.update(path.read_bytes())
    return signs.hexdigest()
