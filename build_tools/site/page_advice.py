"""Room 5: ask the reasoning about one symptom alone, once for each state of the knowledge.

A preview makes every page anew after each edit of a style or a text. Planning is most of
that time and does not depend on how things are worded, so the answers are kept until
something changes that advice rests on.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.triage import triage
from build_tools.site.compile_json import compile_catalogue, to_text

if TYPE_CHECKING:
    from build_tools.engine.triage import Advice
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.site.page_press import Press

# State that advice rests on -> symptom -> advice; never holds more than one state.
_kept: dict[str, dict[str, Advice]] = {}
# Version of the knowledge -> state; never holds more than one version.
_states: dict[str, str] = {}
# Keys whose values are only shown, wherever they stand; a cause's title is part of an advice.
WORDS: Final = frozenset(
    (
        *("summary", "says", "why", "do", "means", "label", "question", "ask_first"),
        *("supply_note", "looks_like", "cannot_tell", "does_not_tell", "hint"),
    )
)
_TITLED: Final = ("causes", "tools", "groups", "hazards", "stop_lines", "abilities")
_UNASKED: Final = ("version", "sources", "sums", "synonyms", "families", "units")


def advice_for(press: Press, symptom_id: str) -> Advice:
    """Return the advice for a car of which only this symptom is known.

    A press without a version is asked anew each time.
    """
    state = _state(press)
    if symptom_id in _kept.get(state, {}):
        return _kept[state][symptom_id]
    advice = triage(press.catalogue, press.network, CarCase(symptoms=(symptom_id,)))
    if state:
        if state not in _kept:
            _kept.clear()
        _kept.setdefault(state, {})[symptom_id] = advice
    return advice


def _state(press: Press) -> str:
    if press.version and press.version not in _states:
        _states.clear()
        _states[press.version] = advice_state(press.catalogue)
    return _states.get(press.version, "")


def advice_state(catalogue: Catalogue) -> str:
    """Return a digest of what the advice on one symptom can rest on: all but words."""
    rest = {
        name: _without(one, WORDS if name in _TITLED else WORDS | {"title"})
        for name, one in compile_catalogue(catalogue).items()
        if name not in _UNASKED
    }
    for symptom in rest["symptoms"].values():
        symptom["causes"] = [link["cause"] for link in symptom["causes"]]
    return hashlib.sha256(to_text(rest).encode()).hexdigest()


def _without(value: Any, words: frozenset[str]) -> Any:  # noqa: ANN401 - any part of the document
    if isinstance(value, dict):
        return {key: _without(one, words) for key, one in value.items() if key not in words}
    return [_without(one, words) for one in value] if isinstance(value, (list, tuple)) else value
