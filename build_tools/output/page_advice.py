"""Room 5: ask the reasoning about one symptom alone, once for each state of the knowledge.

A preview makes every page anew after each edit of a style or a text. Planning is most of
that time and depends on the knowledge only, so the answers of the last knowledge are kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.reasoning.cases import CarCase
from build_tools.reasoning.triage import triage

if TYPE_CHECKING:
    from build_tools.output.page_press import Press
    from build_tools.reasoning.triage import Advice

# Version of the knowledge -> symptom -> advice; never holds more than one version.
_kept: dict[str, dict[str, Advice]] = {}


def advice_for(press: Press, symptom_id: str) -> Advice:
    """Return the advice for a car of which only this symptom is known.

    A press without a version is asked anew each time.
    """
    kept = _kept.get(press.version, {})
    if symptom_id in kept:
        return kept[symptom_id]
    advice = triage(press.catalogue, press.network, CarCase(symptoms=(symptom_id,)))
    if press.version:
        if press.version not in _kept:
            _kept.clear()
        _kept.setdefault(press.version, {})[symptom_id] = advice
    return advice
