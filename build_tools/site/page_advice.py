"""Room 5: ask the reasoning about one symptom alone, once for each state of the knowledge.

A preview makes every page anew after each edit of a style or a text. Planning is most of
that time and does not depend on how a symptom is worded, so the answers are kept until
something changes that advice rests on.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Final

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
_WORDS: Final = ("title", "summary", "family", "says", "ask_first", "supply_note", "looks_like")


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
    """Return a digest of the knowledge without the words of symptoms, which move no advice."""
    compiled = compile_catalogue(catalogue)
    rest = {name: one for name, one in compiled.items() if name not in ("version", "sources")}
    rest["symptoms"] = {
        name: {
            **{key: value for key, value in one.items() if key not in (*_WORDS, "causes")},
            "causes": [link["cause"] for link in one["causes"]],
        }
        for name, one in compiled["symptoms"].items()
    }
    return hashlib.sha256(to_text(rest).encode()).hexdigest()
