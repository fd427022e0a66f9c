"""No car played by our advice is led to a step that is unsafe or cannot be made.

Counted anew from the files: what a step requires, and what complaints, results and stop lines
take away, in the order the documentation gives. Nothing of the engine judges it; the engine only
plays. A drawn part stands in the default run; `long` plays sixty cars of each family.
"""

from functools import cache
from pathlib import Path

import pytest
import yaml

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.play import CarModel, Known, Move, Told, play
from build_tools.engine.ways import policies
from build_tools.knowledge.assemble import load_catalogue
from build_tools.reports.value import Draws, cars_of, families

ROOT = Path(__file__).parents[1] / "symptoms"
CATALOGUE, _ = load_catalogue(ROOT.parent)
MODEL = CarModel(CATALOGUE, network_from_catalogue(CATALOGUE))


@cache
def entries(folder):
    """Read the files of a folder by id, as plain values."""
    found = (yaml.safe_load(one.read_text("utf-8")) for one in (ROOT / folder).glob("*.yml"))
    return {one["id"]: one for one in found}


@cache
def words(name):
    """Read a word list by id."""
    return {
        one["id"]: one for one in yaml.safe_load((ROOT / "vocabulary" / name).read_text())["items"]
    }


@cache
def implied(ability):
    """Return an ability with all that it takes."""
    found = {ability}
    for one in words("abilities.yml")[ability].get("implies", ()):
        found |= implied(one)
    return frozenset(found)


def level_of(check, name):
    return next(one for one in entries("checks")[check]["levels"] if one["id"] == name)


def standing(known):
    """Return the levels told that no other result has overtaken."""
    told = {check: level_of(check, level) for check, level in known.outcomes}
    overtaken = {other for one in told.values() for other in one.get("resets", ())} - known.again
    first = {name: entries("checks")[name]["levels"][0]["id"] for name in told}
    return [one for name, one in told.items() if one["id"] == first[name] or name not in overtaken]


def stop_lines(known, levels):
    """Return the stop lines that complaints, results and facts raise."""
    contexts = entries("context")
    options = [
        one
        for context, word in known.told.facts
        for one in contexts[context].get("options", ())
        if one["id"] == word
    ]
    complaints = [entries("entries")[name] for name in known.told.complaints]
    return {line for one in [*complaints, *levels, *options] for line in one.get("stop_now", ())}


def gone(known):
    """Return the abilities that are taken away."""
    levels = standing(known)
    complaints = [entries("entries")[name] for name in known.told.complaints]
    found = {one for each in complaints for one in each.get("takes_away", ())}
    for each in [*complaints, *levels]:
        for one in each.get("shows", ()):
            found -= implied(one)
    found -= {one for each in levels for one in each.get("allows", ())}
    found |= {one for each in levels for one in each.get("takes_away", ())}
    for line in stop_lines(known, levels):
        found |= set(words("stop_lines.yml")[line].get("takes_away", ()))
    return found


def lacking(known, move):
    """Return what a step requires that is not there."""
    if move.kind == "workshop":
        return set()
    step = (
        entries("checks")[move.id] if move.kind == "check" else entries("causes")[move.id]["repair"]
    )
    requires = {*step.get("requires", ()), *(() if step.get("away") else ("near",))}
    lost = gone(known)
    return {one for one in requires if implied(one) & lost}


def unsafe_steps(cars):
    """Play our advice in cars, and list each step that lacks something."""
    ours, found = policies(MODEL)["ours"], []

    def choose(known):
        move = ours(known)
        lacks = lacking(known, move)
        if lacks:
            found.append((known.told, known.outcomes, move, lacks))
        return move

    for car in cars:
        play(MODEL, car, choose)
    return found


def cars(worlds, seed):
    drawn = Draws(worlds, seed)
    return [
        car
        for family, complaints in families(CATALOGUE).items()
        for car in cars_of(MODEL, complaints, drawn, family)
    ]


def test_the_count_sees_a_step_that_must_not_be():
    told = Told(("starter-keeps-running",))
    assert lacking(Known(told), Move("check", "swap-starter-relay")) == {"start-tried"}
    wet = Known(Told(("cranks-slowly-any-weather",)), (("look-at-battery", "damaged"),))
    assert lacking(wet, Move("check", "measure-resting-voltage"))
    assert not lacking(wet, Move("check", "read-and-write-down-codes"))


def test_no_drawn_car_is_led_to_an_unsafe_or_impossible_step():
    assert unsafe_steps(cars(2, 7)) == []


@pytest.mark.long
def test_no_car_of_three_hundred_and_sixty_is():
    assert unsafe_steps(cars(60, 20261125)) == []
