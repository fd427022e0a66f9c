"""Made-up cars come as the model says, and what they cost is added up right.

On the tiny catalogue of the lint fixtures; bills and chances are worked by hand from its files.
"""

import random
from dataclasses import replace
from math import sqrt
from pathlib import Path

import pytest

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer
from build_tools.engine.planner import expected_repair_cost, optimal_value
from build_tools.engine.play import (
    Bill,
    Car,
    CarModel,
    Known,
    Move,
    Told,
    draw_car,
    outcome,
    play,
    small_loss,
    small_situation,
)
from build_tools.engine.situation import plan_tables
from build_tools.engine.ways import policies
from build_tools.knowledge.assemble import load_catalogue

CATALOGUE, _ = load_catalogue(Path(__file__).parents[1] / "fixtures" / "base")
MODEL = CarModel(CATALOGUE, network_from_catalogue(CATALOGUE))
NO_CRANK = "will-not-crank"
EMPTY, STUCK = frozenset({"battery-empty"}), frozenset({"starter-stuck"})


def car(present, **chances):
    usual = dict.fromkeys(CATALOGUE.checks, 0.5)
    return Car(
        Told((NO_CRANK,)),
        present,
        {NO_CRANK: present},
        {**usual, **{k.replace("_", "-"): v for k, v in chances.items()}},
    )


def following(*moves):
    left = list(moves)
    return lambda _known: left.pop(0)


def test_cars_come_as_often_as_the_exact_posterior_says():
    # Exact inference is held against another library in test_noisy_max.
    exact = infer(MODEL.network, {}, {NO_CRANK: (0.0, 1.0)}).posteriors
    draw = random.Random(20261125)
    every = [draw_car(MODEL, NO_CRANK, draw.random) for _ in range(5600)]
    # What is told of facts and repairs moves the odds; those without come by the plain ones.
    cars = [one for one in every if not one.told.facts and not one.told.mended]
    assert len(cars) > 1500
    for cause, probability in exact.items():
        share = sum(cause in one.present for one in cars) / len(cars)
        assert abs(share - probability) < 4 * sqrt(probability * (1 - probability) / len(cars))


def test_a_check_comes_out_by_its_chance():
    # battery-empty alone: P(full) = .95 * .05 = .0475, P(at most fair) = .99 * .2 = .198
    for chance, level in ((0.047, "full"), (0.048, "fair"), (0.197, "fair"), (0.199, "low")):
        assert outcome(MODEL, EMPTY, "measure-volts", chance) == level
    # nobody there: .95 and .99
    for chance, level in ((0.94, "full"), (0.96, "fair"), (0.995, "low")):
        assert outcome(MODEL, frozenset(), "measure-volts", chance) == level


def test_a_bill_by_hand():
    # listen: 2 minutes; starter in a workshop: 275 + 90 * 2 = 455, one part
    moves = following(Move("check", "listen-while-cranking"), Move("repair", "starter-stuck"))
    assert play(MODEL, car(STUCK), moves) == Bill(455.0, 2.0, 0.0, 1, 1, 0, helped=True)


def test_a_part_in_vain_and_a_workshop_by_hand():
    # starter in vain 455; workshop asks 275 and charges the battery in 10 minutes: 20
    moves = following(Move("repair", "starter-stuck"), Move("workshop"))
    assert play(MODEL, car(EMPTY), moves) == Bill(
        750.0, 0.0, 0.0, 0, 1, 1, helped=False, why="stopped"
    )


def test_two_causes_take_two_repairs():
    moves = following(Move("repair", "battery-empty"), Move("repair", "starter-stuck"))
    assert play(MODEL, car(EMPTY | STUCK), moves) == Bill(455.0, 10.0, 0.0, 0, 1, 0, helped=True)


def test_a_workshop_is_told_apart_by_what_is_left():
    # The complaint of the fixtures brings a stop line; the starter is a workshop's to repair.
    symptom = replace(CATALOGUE.symptoms[NO_CRANK], stop_now=())
    calm = replace(CATALOGUE, symptoms={**CATALOGUE.symptoms, NO_CRANK: symptom})
    for model, present, why in (
        (MODEL, frozenset(), "no-cause"),
        (MODEL, STUCK, "shops-repair"),
        (MODEL, EMPTY | STUCK, "stopped"),
        (CarModel(calm, MODEL.network), EMPTY, "left-open"),
    ):
        assert play(model, car(present), following(Move("workshop"))).why == why


def test_an_unexplained_complaint_ends_at_the_workshop():
    moves = following(Move("repair", "battery-empty"), Move("workshop"))
    bill = play(MODEL, car(frozenset()), moves)
    assert (bill.money, bill.minutes, bill.helped) == (275.0, 10.0, False)


def test_a_result_that_a_repair_may_have_changed_is_forgotten():
    seen = []

    def choose(known):
        seen.append(known)
        moves = (
            Move("check", "measure-volts"),
            Move("repair", "battery-empty"),
            Move("workshop"),
        )
        return moves[len(seen) - 1]

    play(MODEL, car(STUCK), choose)
    assert dict(seen[1].outcomes) == {"measure-volts": "full"}
    assert seen[2] == Known(Told((NO_CRANK,)), (), EMPTY, 0)


def test_a_complaint_is_over_once_all_that_made_it_is_put_right():
    one = car(EMPTY | STUCK)
    told = Told((NO_CRANK, "lights-dim", "no-cause-of-ours"))
    makers = {NO_CRANK: STUCK, "lights-dim": EMPTY | STUCK, "no-cause-of-ours": frozenset()}
    seen = []
    moves = following(Move("repair", "starter-stuck"), Move("repair", "battery-empty"))

    def choose(known):
        seen.append(known.told.complaints)
        return moves(known)

    assert play(MODEL, replace(one, told=told, makers=makers), choose).helped
    assert seen == [told.complaints, told.complaints[1:]]


def test_a_new_battery_puts_right_what_only_needed_charge():
    battery = CATALOGUE.causes["starter-stuck"]
    worn = replace(
        battery, id="battery-worn", group="battery", repair=replace(battery.repair, part="battery")
    )
    catalogue = replace(CATALOGUE, causes={**CATALOGUE.causes, "battery-worn": worn})
    model = CarModel(catalogue, network_from_catalogue(catalogue))
    assert model.puts_right["battery-worn"] == {"battery-worn", "battery-empty"}
    assert model.puts_right["battery-empty"] == {"battery-empty"}


def test_ways_of_choosing_begin_as_their_names_say():
    first = {name: choose(Known(Told((NO_CRANK,)))) for name, choose in policies(MODEL).items()}
    # An empty battery makes nine in ten of these complaints, and a charge buys nothing.
    assert first["ours"] == Move("repair", "battery-empty")
    # The first edition looks at the battery before it charges it.
    assert first["supply-first"] == Move("check", "measure-volts")
    assert first["likeliest-part"] == Move("repair", "starter-stuck")
    assert first["every-check"].kind == "check"
    # No battery can be bought in this catalogue, so the likeliest part comes first.
    assert first["battery-first"] == Move("repair", "starter-stuck")


def test_every_way_of_choosing_ends():
    draw = random.Random(3)
    for _ in range(30):
        one = draw_car(MODEL, NO_CRANK, draw.random)
        for choose in policies(MODEL).values():
            bill = play(MODEL, one, choose)
            assert bill.money >= 0
            assert bill.in_vain <= bill.parts <= 3


def test_looking_further_ahead_never_costs_more_than_the_best_allows():
    found = small_loss(MODEL, NO_CRANK)
    assert found.best == pytest.approx(optimal_value(small_situation(MODEL, NO_CRANK)))
    assert found.best <= found.two_steps + 1e-9
    assert found.best <= found.one_step + 1e-9


def test_worlds_of_two_causes_are_priced_alike_by_both_ways():
    # The fast way for pairs against the way for any number of causes, on the same worlds.
    tables = plan_tables(small_situation(MODEL, NO_CRANK))
    assert tables.pairs
    plain = replace(tables, pairs=())
    draw = random.Random(11)
    for _ in range(50):
        weights = [draw.choice([0.0, draw.random()]) for _ in tables.bits]
        assert expected_repair_cost(tables, weights, gated=False) == expected_repair_cost(
            plain, weights, gated=False
        )
