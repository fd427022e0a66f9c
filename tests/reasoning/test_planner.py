"""Plans against exact vectors, against all orders, and by common sense."""

import dataclasses
import itertools
import json
import math
import random
from pathlib import Path

import pytest

from build_tools.cli.machine import situation_from_document
from build_tools.engine.planner import (
    Action,
    choose,
    optimal_value,
    policy_value,
    repairs_only_value,
)
from build_tools.engine.situation import Gate, PlanCheck, Situation
from tests.reasoning.samples import random_situation

VECTORS = Path(__file__).parents[1] / "vectors"


def load(name):
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


PLANS = [(entry, False) for entry in load("plans.json")]
# In this file a repair may be tried first inside the two-step look-ahead.
PLANS += [(entry, True) for entry in load("plans_supply_first.json")]
each_plan = pytest.mark.parametrize(
    ("entry", "repair_first"), PLANS, ids=[entry["name"] for entry, _ in PLANS]
)


# The values were made by exact dynamic programming (tests/vectors/README.md).
@each_plan
def test_fixed_policies_have_the_values_of_the_vectors(entry, repair_first):
    situation = situation_from_document(entry)
    if entry["ecr_repairs_only"] is not None:
        assert repairs_only_value(situation) == pytest.approx(entry["ecr_repairs_only"], abs=1e-9)
    assert optimal_value(situation) == pytest.approx(entry["ecr_optimal"], abs=1e-9)
    one = policy_value(situation, horizon=1)
    assert one == pytest.approx(entry["ecr_one_step"], abs=1e-9)
    two = policy_value(situation, horizon=2, repair_first=repair_first)
    assert two == pytest.approx(entry["ecr_two_step"], abs=1e-9)


def test_the_shipped_policy_stays_close_to_the_optimum_of_the_vectors():
    excess = [
        policy_value(situation_from_document(entry)) / entry["ecr_optimal"] - 1
        for entry, _ in PLANS
    ]
    assert math.fsum(excess) / len(excess) <= 0.003
    assert max(excess) <= 0.03
    assert min(excess) > -1e-12


@pytest.mark.parametrize("entry", load("plans_supply_first.json"), ids=lambda entry: entry["name"])
def test_choose_takes_the_optimal_first_step_where_it_is_clear(entry):
    first = entry["optimal_first"]
    assert choose(situation_from_document(entry)).action == Action(first["type"], first["id"])


@pytest.mark.parametrize("entry", load("plans.json"), ids=lambda entry: entry["name"])
def test_repairs_in_p_over_c_order_are_those_of_the_vectors(entry):
    left = situation_from_document(entry | {"checks": []})
    order = []
    while left.cause_ids:
        first = choose(left).action
        order.append(first.id)
        keep = [k for k, cause in enumerate(left.cause_ids) if cause != first.id]
        if not keep:
            break
        left = Situation(
            tuple(left.cause_ids[k] for k in keep),
            tuple(left.repair_costs[k] for k in keep),
            tuple(1 << k for k in range(len(keep))),
            tuple(left.weights[k] for k in keep),
            (),
        )
    assert order == entry["repair_order"]


@pytest.mark.parametrize("seed", range(30))
def test_p_over_c_is_the_cheapest_of_all_orders_of_repair(seed):
    # Kadane and Simon 1977, as described in arXiv 1203.3502.
    rng = random.Random(seed)
    situation = random_situation(rng, causes=rng.randint(1, 6), checks=0)
    cheapest = min(
        order_cost(situation, order)
        for order in itertools.permutations(range(len(situation.cause_ids)))
    )
    assert repairs_only_value(situation) == pytest.approx(cheapest, abs=1e-9)
    assert optimal_value(situation) == pytest.approx(cheapest, abs=1e-9)


def order_cost(situation, order):
    cost = 0.0
    open_share = 1.0
    for cause in order:
        cost += situation.repair_costs[cause] * open_share
        open_share -= situation.weights[cause]
    return cost


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("gate", [False, True])
def test_optimal_value_agrees_with_a_plain_search(seed, gate):
    situation = random_situation(random.Random(seed), causes=3, checks=2, gate=gate)
    weights = dict(zip(situation.masks, situation.weights, strict=True))
    assert optimal_value(situation) == pytest.approx(
        plain_search(situation, weights, frozenset()), abs=1e-9
    )


@pytest.mark.parametrize("seed", range(12))
def test_optimal_value_with_several_causes_agrees_with_a_plain_search(seed):
    situation = random_situation(random.Random(50 + seed), causes=2, checks=2, multi=True)
    weights = dict(zip(situation.masks, situation.weights, strict=True))
    assert optimal_value(situation) == pytest.approx(
        plain_search(situation, weights, frozenset()), abs=1e-9
    )


def plain_search(situation, weights, made):
    """Try every action at every step; weights by set of causes, cured ones gone."""
    total = math.fsum(weights.values())
    causes = [
        k
        for k in range(len(situation.cause_ids))
        if any(m >> k & 1 for m, w in weights.items() if w)
    ]
    if not causes:
        return total * situation.unresolved_cost
    values = []
    rule = situation.rule
    for k in causes:
        held = rule is not None and rule.check not in made
        if held and situation.repair_costs[k] > rule.dearer_than:
            continue
        after = {}
        for mask, weight in weights.items():
            left = mask & ~(1 << k)
            if mask == 0 or left:
                after[left] = after.get(left, 0) + weight
        values.append(situation.repair_costs[k] * total + plain_search(situation, after, made))
    for check in situation.checks:
        if check.id in made:
            continue
        value = check.cost * total
        for level in range(check.levels):
            after = {
                mask: weight * check.table[situation.masks.index(mask)][level]
                for mask, weight in weights.items()
            }
            value += plain_search(situation, after, made | {check.id})
        values.append(value)
    return min(values)


@pytest.mark.parametrize("seed", range(15))
def test_choose_deep_enough_states_the_optimum(seed):
    situation = random_situation(random.Random(200 + seed), causes=4, checks=3, gate=seed % 2 == 0)
    plan = choose(situation)
    assert plan.exact
    assert plan.value == pytest.approx(optimal_value(situation), abs=1e-9)
    assert policy_value(situation) == pytest.approx(plan.value, abs=1e-9)
    assert plan.value == pytest.approx(min(v.value for v in plan.values), rel=1e-9)


@pytest.mark.parametrize("limit", [1, 5_000, 30_000, 150_000])
def test_policy_value_is_never_below_the_optimum_and_below_repairs_only(limit):
    for seed in range(8):
        situation = random_situation(random.Random(300 + seed), causes=5, checks=4)
        value = policy_value(situation, work_limit=limit)
        assert value >= optimal_value(situation) - 1e-9
        assert value <= repairs_only_value(situation) + 1e-9


def test_choose_looks_deeper_with_a_larger_limit():
    situation = random_situation(random.Random(1), causes=6, checks=6)
    depths = [choose(situation, work_limit=limit).horizon for limit in (0, 10_000, 200_000, 10**9)]
    assert depths[0] == 1
    assert depths == sorted(depths)
    assert depths[-1] == 12


def test_optimal_value_past_its_limit_is_none():
    situation = random_situation(random.Random(1), causes=6, checks=6)
    assert optimal_value(situation, state_limit=1000) is None


def two_causes(**changes):
    """A dear cause and a cheap one, and a check that tells them apart."""
    check = PlanCheck("look", 5.0, 2, ((0.0, 1.0), (1.0, 0.0)))
    plain = Situation(("cheap", "dear"), (20.0, 400.0), (1, 2), (0.5, 0.5), (check,))
    return dataclasses.replace(plain, **changes)


def test_choose_checks_before_a_dear_repair_and_says_what_it_saves():
    # Checking first: 5 + .5 * 20 + .5 * 400 = 215; repairing: 20 + .5 * 400 = 220.
    plan = choose(two_causes())
    assert plan.action == Action("check", "look")
    assert plan.value == pytest.approx(215)
    assert plan.ecr_repairs_only == pytest.approx(220)


def test_choose_under_the_rule_keeps_the_dear_repair_back():
    check = PlanCheck("prove", 30.0, 2, ((0.5, 0.5), (0.5, 0.5)))
    free = two_causes(weights=(0.01, 0.99), checks=(check,), repair_costs=(90.0, 100.0))
    held = dataclasses.replace(free, rule=Gate("prove", 60.0))
    assert choose(free).action == Action("repair", "dear")
    plan = choose(held)
    assert plan.action == Action("check", "prove")
    assert {(v.kind, v.id) for v in plan.values} == {("check", "prove")}
    # The check comes before both repairs: 30 + .99 * 100 + .01 * 190.
    assert plan.ecr_repairs_only == pytest.approx(30 + 0.99 * 100 + 0.01 * 190)


def test_repairs_only_under_the_rule_puts_the_check_between_cheap_and_dear():
    check = PlanCheck("prove", 8.0, 1, ((1.0,), (1.0,)))
    situation = two_causes(checks=(check,), rule=Gate("prove", 60.0))
    assert repairs_only_value(situation) == pytest.approx(20 + 0.5 * (8 + 400))
    all_cheap = dataclasses.replace(situation, rule=Gate("prove", 400.0))
    assert repairs_only_value(all_cheap) == pytest.approx(20 + 0.5 * 400)


def test_several_causes_at_once_each_need_their_repair():
    # Sets {a}, {b}, {a, b} at .5, .3, .2; the price of "a, then b" is 10 + (.3 + .2) * 10.
    situation = Situation(("a", "b"), (10.0, 10.0), (0, 1, 2, 3), (0.0, 0.5, 0.3, 0.2), ())
    plan = choose(situation)
    assert plan.action == Action("repair", "a")
    assert plan.value == pytest.approx(15)
    assert optimal_value(situation) == pytest.approx(15)


def test_an_unexplained_complaint_costs_all_repairs_and_the_workshop():
    situation = Situation(
        ("a", "b"), (10.0, 30.0), (0, 1, 2), (0.5, 0.25, 0.25), (), unresolved_cost=250.0
    )
    # Cause a alone pays 10, b pays 40, no cause pays both and the workshop: 40 + 250.
    assert repairs_only_value(situation) == pytest.approx(157.5)
    only = dataclasses.replace(situation, weights=(1.0, 0.0, 0.0))
    plan = choose(only)
    assert plan.action is None
    assert plan.value == pytest.approx(250)


def test_a_check_after_a_repair_reads_the_car_as_it_is_then():
    # "look" shows b for certain. In {a, b} the first repair of a leaves {b}.
    look = PlanCheck("look", 1.0, 2, ((1.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.0, 1.0)))
    situation = Situation(
        ("a", "b"), (10.0, 100.0), (0, 1, 2, 3), (0.3, 0.0, 0.0, 0.7), (look,), unresolved_cost=5.0
    )
    weights = dict(zip(situation.masks, situation.weights, strict=True))
    assert optimal_value(situation) == pytest.approx(
        plain_search(situation, weights, frozenset()), abs=1e-9
    )


def test_equal_values_go_to_the_first_id():
    situation = Situation(("b", "a"), (10.0, 10.0), (1, 2), (0.5, 0.5), ())
    assert choose(situation).action == Action("repair", "a")
    twin = ((0.0, 1.0), (1.0, 0.0))
    checks = (PlanCheck("y", 5.0, 2, twin), PlanCheck("x", 5.0, 2, twin))
    assert choose(two_causes(checks=checks)).action == Action("check", "x")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"weights": (0.0, 0.0)}, "no world has any weight"),
        ({"weights": (0.5,)}, "one weight per world"),
        ({"masks": (1, 4)}, "4 names a cause"),
        ({"masks": (1, 3)}, "3 is listed but 2 is not"),
        ({"masks": (1, 1)}, "listed twice"),
        ({"repair_costs": (1.0, -1.0)}, "repair_costs: -1.0"),
        ({"cause_ids": ("a", "a")}, "cause_ids: an id is used twice"),
        ({"rule": Gate("ghost", 1.0)}, '"ghost" is not among the checks'),
        ({"checks": (PlanCheck("k", 1.0, 2, ((0.5, 0.4), (0.5, 0.5))),)}, "adds up to 0.9"),
        ({"checks": (PlanCheck("k", 1.0, 2, ((0.5, 0.5),)),)}, "one row per world"),
    ],
)
def test_a_situation_that_does_not_fit_together_is_refused(changes, said):
    with pytest.raises(ValueError, match=said):
        two_causes(**changes)
