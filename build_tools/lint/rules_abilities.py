"""Room 4: judge what the car is said to be able and allowed to do."""

import re
from collections.abc import Iterator

from build_tools.engine.abilities import implied
from build_tools.knowledge.entries import Check
from build_tools.knowledge.problems import Severity
from build_tools.lint.dangers import dangers
from build_tools.lint.prose import sentences
from build_tools.lint.rule import Judged, Told, rule

_BROUGHT = frozenset({"electrics-on", "start-tried", "engine-starts"})
_IF = re.compile(r"\b(?:if|or|unless|where|when)\b", re.IGNORECASE)


@rule(Severity.ERROR)
def check_stop_lines_raised(judged: Judged) -> Iterator[Told]:
    """ABI951 stop-line-idle: something raises every stop line, and it takes something away.

    Why: a line that nothing raises protects nobody. One that takes nothing away stands above a
    step that it forbids.
    Mend: name the line under `stop_now` of a symptom, a level or an option, and what it takes
    under `takes_away`.
    Bad:   - id: overcharging, and no entry names it
    Good:  - id: overcharging
             takes_away: [engine-runs]
    """
    catalogue = judged.catalogue
    raising = [
        *(one.stop_now for one in catalogue.symptoms.values()),
        *(level.may_stop for one in catalogue.checks.values() for level in one.levels),
        *(option.stop_now for one in catalogue.contexts.values() for option in one.options),
    ]
    raised = {line for lines in raising for line in lines}
    for number, line in enumerate(catalogue.vocabulary.stop_lines.values()):
        place = ("vocabulary", "stop_lines", ("items", number, "id"))
        if line.id not in raised:
            yield place, f'nothing raises "{line.id}"', "name it under `stop_now` somewhere"
        if not line.takes_away:
            mend = "add `takes_away:` with ids from symptoms/vocabulary/abilities.yml"
            yield place, f'"{line.id}" takes nothing away', mend


@rule(Severity.ERROR, each=("check",))
def check_steps_have_abilities(check: Check, judged: Judged) -> Iterator[Told]:
    """ABI952 ability-not-required: a step that starts, drives or charges is required to be able to.

    The words stand under `acts` in symptoms/vocabulary/abilities.yml. A step that tells the act
    only if something holds does not ask for it.

    Why: the check would be offered for a car that cannot do it, or must not.
    Mend: add the ability's id to `requires`.
    Bad:   - do: Start the engine and let it idle.     (requires: [])
    Good:  - do: Start the engine and let it idle.     (requires: [engine-runs])
    """
    words = judged.catalogue.vocabulary.abilities
    closure = implied(words)
    there = {other for one in check.requires for other in closure.get(one, ())}
    items = [{"id": one.id, "verbs": list(one.acts)} for one in words.values() if one.acts]
    if "battery-jumped" in there:
        there |= _BROUGHT  # the helper's battery gives what the car has not
    for act in dangers({"items": items}):
        for number, step in enumerate(check.steps):
            found = act.find(sentences(step.do), step=True)
            if found and act.id not in there and not _IF.search(step.do):
                what = f'"{found}" takes "{act.id}", which the check does not require'
                yield ("steps", number), what, f"add {act.id} to `requires`"
