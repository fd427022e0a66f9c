"""Advice on a small catalogue: offers, prices, the policy's rules and the predictions."""

from dataclasses import replace
from math import fsum
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import relevant_causes
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer
from build_tools.engine.planning import likeliest
from build_tools.engine.pricing import UNRESOLVED_COST, Offers, check_cost, repair_cost
from build_tools.engine.triage import triage
from build_tools.knowledge.assemble import load_catalogue
from tests.reasoning.samples import chance_alone, chance_of, enumerate_joint
from tests.reasoning.small_catalogue import by_id, cause, check, small_catalogue

CATALOGUE = small_catalogue()
NETWORK = network_from_catalogue(CATALOGUE)
PROVEN = {"load-test": "holds", "twist": "tight", "charge-volts": "normal"}


def advise(catalogue=CATALOGUE, **case):
    return triage(catalogue, network_from_catalogue(catalogue), CarCase(**case))


def offers(worse=lambda _check, _level: 0.25, catalogue=CATALOGUE, **case):
    car = CarCase(**case)
    findings = find(catalogue, network_from_catalogue(catalogue), car)
    return Offers(catalogue, car, findings, worse).all()


# Costs and offers -------------------------------------------------------------------------


def test_a_check_costs_its_money_and_minutes():
    # 10 minutes at 15 an hour are 2.50.
    assert check_cost(CATALOGUE.checks["load-test"], 15) == pytest.approx(2.5)


def test_a_repair_costs_its_part_and_work():
    # At home 30 minutes at 15 an hour; in a workshop 60 minutes at 2 a minute.
    assert repair_cost(CATALOGUE.causes["battery-weak"], 15) == pytest.approx(150 + 7.5)
    assert repair_cost(CATALOGUE.causes["alternator-tired"], 15) == pytest.approx(400 + 120)


def test_a_prerequisite_without_a_result_comes_first_with_its_cost():
    offer = offers()["load-test"]
    assert (offer.first, offer.before, offer.instead) == ("rest-volts", ("rest-volts",), False)
    # 10 + 2 minutes, and a quarter of the 30 minutes of charging that may be needed.
    assert offer.cost == pytest.approx((10 + 2 + 0.25 * 30) / 4)


def test_a_good_prerequisite_frees_the_check():
    offer = offers(outcomes={"rest-volts": "full"})["load-test"]
    assert (offer.first, offer.cost) == ("load-test", pytest.approx(2.5))


def test_a_worse_prerequisite_leads_through_what_is_named_instead():
    offer = offers(outcomes={"rest-volts": "half"})["load-test"]
    assert (offer.first, offer.instead) == ("charge-up", True)
    assert offer.cost == pytest.approx((10 + 30) / 4)


def test_the_other_check_done_well_frees_it_and_done_badly_ends_it():
    done = offers(outcomes={"rest-volts": "half", "charge-up": "takes"})["load-test"]
    assert done.first == "load-test"
    assert "load-test" not in offers(outcomes={"rest-volts": "half", "charge-up": "stays"})


def test_tools_and_what_is_not_possible_are_respected():
    assert set(offers(tools=())) == {"twist", "codes", "wiggle"}
    # Without a meter the load test has no way to its prerequisite either.
    assert "load-test" not in offers(tools=("charger",))
    assert "twist" not in offers(not_possible=("twist",))
    assert "load-test" not in offers(not_possible=("rest-volts",))


def test_a_check_made_is_not_offered_again_but_one_in_question_is():
    assert "twist" not in offers(outcomes={"twist": "tight"})
    slip = {"rest-volts": {"value": 1.25, "unit": "V"}}
    assert "rest-volts" in offers(readings=slip)


def test_prerequisites_in_a_circle_are_never_offered():
    circle = by_id(
        check("a", ["ok", "bad"], {"battery-weak": [0.9]}, needs=[("b", None, None)]),
        check("b", ["ok", "bad"], {"battery-weak": [0.9]}, needs=[("a", None, None)]),
        *CATALOGUE.checks.values(),
    )
    found = offers(catalogue=replace(CATALOGUE, checks=circle))
    assert "a" not in found
    assert "b" not in found
    assert "twist" in found


# Candidates -------------------------------------------------------------------------------


def test_only_causes_of_a_complaint_matter():
    found = relevant_causes(CATALOGUE, NETWORK, CarCase(symptoms=("slow-crank", "after-rain")))
    assert found == {"battery-weak", "clamp-loose"}


def test_where_nothing_was_noticed_only_causes_of_a_result_amiss_matter():
    told = CarCase(outcomes={"twist": "loose"})
    amiss = find(CATALOGUE, NETWORK, told).amiss
    assert amiss == ("twist",)
    found = relevant_causes(CATALOGUE, NETWORK, told, amiss)
    assert found == set(NETWORK.finding_by_id["twist"].links) != set(CATALOGUE.causes)
    explained = {one.id for one in triage(CATALOGUE, NETWORK, told).causes if one.explains}
    assert explained == found


def test_at_most_twelve_causes_of_at_least_one_in_a_hundred():
    posteriors = {f"c{n:02}": 0.001 * n for n in range(30)}
    found = likeliest(posteriors, set(posteriors))
    assert len(found) == 12
    assert found[0] == "c29"
    assert likeliest({"a": 0.0099, "b": 0.01, "c": 0.01}, {"a", "b", "c"}) == ("b", "c")


# Policy -----------------------------------------------------------------------------------


def test_unproven_the_first_check_is_on_the_supply():
    advice = advise(symptoms=("lamps",))
    assert advice.supply.state == "unproven"
    assert CATALOGUE.checks[advice.next[0].check].aspects
    assert advice.repair is None


def test_a_confirmed_part_outside_the_supply_waits_for_the_supply():
    # The codes name the module, yet nothing about the supply is known.
    advice = advise(symptoms=("lamps",), outcomes={"codes": "one"})
    assert advice.causes[0].id == "module-broken"
    assert advice.repair is None
    assert advice.next
    held = {one["part"]: one for one in advice.hold_off}
    assert held["module"]["until"] == {"kind": "supply-sound"}


def test_with_the_supply_sound_it_is_advised():
    advice = advise(symptoms=("lamps",), outcomes={**PROVEN, "codes": "one"})
    assert advice.supply.state == "sound"
    assert advice.repair is not None
    assert advice.repair.cause == "module-broken"
    assert advice.next == ()


def test_failing_and_confirmed_only_that_repair_is_advised():
    advice = advise(symptoms=("lamps", "slow-crank"), outcomes={"twist": "loose", "codes": "one"})
    assert advice.supply.state == "failing"
    assert advice.repair is not None
    assert advice.repair.cause == "clamp-loose"
    assert advice.repair.part is None
    assert advice.next == ()


def test_failing_and_not_confirmed_what_an_abnormal_result_calls_for_comes_first():
    advice = advise(
        symptoms=("lamps", "slow-crank"), outcomes={"rest-volts": "flat"}, context={"age": "old"}
    )
    assert advice.supply.state == "failing"
    assert advice.repair is None
    assert advice.next
    # What a flat battery calls for comes first: charge it, then load it.
    assert (advice.next[0].check, advice.next[0].leads_to) == ("charge-up", "load-test")
    assert {"kind": "instead", "check": "load-test"} in advice.next[0].because


def test_a_look_alike_is_told_apart_before_a_dear_part():
    # Two causes that lower the charging voltage; a pull at the clamp tells them apart.
    case = {"symptoms": ("lamps",), "outcomes": {"charge-volts": "low"}}
    sure = advise(**case)
    assert sure.repair is not None
    assert sure.repair.cause == "alternator-tired"
    both = replace(
        CATALOGUE.checks["charge-volts"],
        shifts=(
            *CATALOGUE.checks["charge-volts"].shifts,
            replace(CATALOGUE.checks["charge-volts"].shifts[0], cause="clamp-loose"),
        ),
    )
    alike = replace(CATALOGUE, checks={**CATALOGUE.checks, "charge-volts": both})
    common = replace(
        alike.causes["alternator-tired"],
        how_common=replace(alike.causes["alternator-tired"].how_common, value=0.15),
    )
    alike = replace(alike, causes={**alike.causes, "alternator-tired": common})
    advice = advise(alike, **case)
    assert advice.repair is None
    assert advice.next


def test_no_part_is_advised_on_probability_alone_while_a_check_could_confirm_it():
    advice = advise(symptoms=("lamps", "slow-crank"), context={"age": "old", "warmth": -5})
    assert advice.causes[0].id == "battery-weak"
    assert advice.causes[0].probability > 0.8
    assert advice.repair is None


EVERYTHING_ELSE = {**PROVEN, "rest-volts": "full", "wiggle": "same", "codes": "none"}


def test_once_nothing_more_can_be_learned_a_likely_cause_is_worth_trying_and_told_as_a_try():
    # Every check is made, none confirms the wire; it is more likely than not, and a cheap part.
    outcomes = {**PROVEN, "rest-volts": "full", "wiggle": "reacts"}
    often = replace(CATALOGUE.causes["wire-chafed"], confirmed_by=())
    catalogue = replace(CATALOGUE, causes={**CATALOGUE.causes, "wire-chafed": often})
    advice = advise(catalogue, symptoms=("lamps",), outcomes={**outcomes, "codes": "none"})
    likeliest_cause = advice.causes[0]
    assert (likeliest_cause.id, advice.supply.state) == ("wire-chafed", "sound")
    assert likeliest_cause.probability > 0.35
    assert advice.repair is not None
    assert advice.repair.cause == "wire-chafed"
    assert advice.repair.because[0] == {
        "kind": "worth-trying",
        "cause": "wire-chafed",
        "free": "no",
    }
    assert advice.next == ()


def test_a_dear_part_is_not_tried_where_a_workshop_would_cost_less():
    # At 900 and more in vain, a module is no guess, however little is left to check.
    costs = repair_cost(CATALOGUE.causes["module-broken"], 15)
    advice = advise(symptoms=("lamps",), outcomes=EVERYTHING_ELSE)
    chance = next(one.probability for one in advice.causes if one.id == "module-broken")
    assert costs * (1 - chance) > UNRESOLVED_COST * chance
    assert advice.repair is None or advice.repair.cause != "module-broken"


def test_stop_now_comes_with_any_other_advice():
    advice = advise(symptoms=("lamps",), outcomes={"rest-volts": "flat"})
    assert [one["id"] for one in advice.stop_now] == ["first-line", "second-line"]


# Numbers ----------------------------------------------------------------------------------


def test_predicted_outcomes_agree_with_enumeration_and_inference():
    case = CarCase(symptoms=("lamps",), context={"age": "old"})
    findings = find(CATALOGUE, NETWORK, case)
    joint = enumerate_joint(NETWORK, findings.odds, findings.evidence)
    total = fsum(joint.values())
    for one in triage(CATALOGUE, NETWORK, case).next:
        finding = NETWORK.finding_by_id[one.check]
        want = [
            fsum(weight * chance_of(finding, k, present) for present, weight in joint.items())
            / total
            for k in range(len(finding.levels))
        ]
        assert [each.probability for each in one.outcomes] == pytest.approx(want, abs=1e-12)
        for place, each in enumerate(one.outcomes):
            hard = tuple(float(level == place) for level in range(len(want)))
            after = infer(NETWORK, findings.odds, {**findings.evidence, one.check: hard})
            assert each.top_cause == max(after.posteriors, key=after.posteriors.__getitem__)


def test_the_saving_of_a_perfect_check_is_what_guessing_would_cost():
    # Two causes, one perfect and free check: saving = repairs in p/c order minus the right one.
    causes = by_id(
        cause("cheap", group="module", prior=0.2, part="c", price=100, minutes=0),
        cause("dear", group="wiring", prior=0.1, part="d", price=200, minutes=0),
    )
    catalogue = replace(
        CATALOGUE,
        causes=causes,
        symptoms=by_id(
            replace(
                CATALOGUE.symptoms["lamps"],
                causes=tuple(
                    replace(CATALOGUE.symptoms["lamps"].causes[0], cause=name)
                    for name in ("cheap", "dear")
                ),
            )
        ),
        checks=by_id(
            check("tell", ["cheap", "dear"], {"dear": [0.999999]}, minutes=0, leak=0.000001)
        ),
    )
    network = network_from_catalogue(catalogue)
    case = CarCase(symptoms=("lamps",))
    advice = triage(catalogue, network, case)
    found = {one.id: one.probability for one in advice.causes}
    # By hand: without it one buys "cheap" first, then "dear" unless that cured it. The check spares
    # "cheap" where only "dear" makes the lamps, and "dear" where it is not there; where both are
    # there and only "cheap" makes them, "dear" is bought because of it.
    findings = find(catalogue, network, case)
    both = _both(network, findings)
    lamps = network.finding_by_id["lamps"]
    by_itself, silent = 1 - lamps.leak[0], lamps.links["dear"][0]
    assert lamps.links["cheap"][0] == silent
    shown = [1 - (1 - by_itself) * silent**number for number in range(3)]
    one_makes = [0, (1 - silent) / shown[1], silent * (1 - silent) / shown[2]]
    only_dear = (found["dear"] - both) * one_makes[1] + both * one_makes[2]
    only_cheap = (found["cheap"] - both) * one_makes[1] + both * one_makes[2]
    assert advice.next[0].check == "tell"
    saving = 100 * only_dear + 200 * (1 - only_cheap - found["dear"])
    assert advice.next[0].expected_saving == pytest.approx(saving, rel=0.02)


def _both(network, findings):
    """P(both | evidence) from three inferences, by inclusion and exclusion over two causes."""
    base = infer(network, findings.odds, findings.evidence)
    without = infer(network, {**findings.odds, "dear": 0.0}, findings.evidence)
    absent = 1 / (1 + findings.odds["dear"])
    only_cheap = (
        without.posteriors["cheap"]
        * absent
        * 2.718281828459045 ** (without.log_evidence - base.log_evidence)
    )
    return base.posteriors["cheap"] - only_cheap


def test_a_dear_and_unlikely_repair_never_counts_for_more_than_asking():
    advice = advise(symptoms=("lamps",), outcomes=PROVEN)
    # All five repairs and the unresolved rest, each at most what a workshop asks.
    assert advice.buying_now <= 6 * UNRESOLVED_COST


def test_equal_input_gives_equal_output_whatever_the_order():
    one = advise(symptoms=("lamps", "slow-crank"), outcomes={"twist": "tight", "codes": "none"})
    other = advise(symptoms=("slow-crank", "lamps"), outcomes={"codes": "none", "twist": "tight"})
    assert one.causes == other.causes
    assert one.next == other.next
    assert one.hold_off == other.hold_off


def supply_part(case, findings):
    """Work out, over every set of causes, P(the supply alone makes the complaints)."""
    complaints = [name for name in case.symptoms if CATALOGUE.symptoms[name].role == "complaint"]
    joint = enumerate_joint(NETWORK, findings.odds, findings.evidence)
    part = 0.0
    for present, weight in joint.items():
        supply = {
            name
            for name in present
            if CATALOGUE.vocabulary.groups[CATALOGUE.causes[name].group].supply
        }
        part += weight * chance_alone(NETWORK, complaints, set(present), supply)
    return part / fsum(joint.values())


LEVELS = {name: [level.id for level in one.levels] for name, one in CATALOGUE.checks.items()}


@given(
    symptoms=st.sets(st.sampled_from(["lamps", "slow-crank", "after-rain"])),
    outcomes=st.dictionaries(st.sampled_from(sorted(LEVELS)), st.integers(0, 2), max_size=5),
    tools=st.one_of(st.none(), st.sets(st.sampled_from(["multimeter", "charger"]))),
)
@settings(max_examples=120, deadline=None)
def test_what_holds_for_every_case(symptoms, outcomes, tools):
    made = {
        name: LEVELS[name][min(place, len(LEVELS[name]) - 1)] for name, place in outcomes.items()
    }
    case = CarCase(
        symptoms=tuple(symptoms),
        outcomes=made,
        tools=None if tools is None else tuple(tools),
    )
    advice = triage(CATALOGUE, NETWORK, case)
    assert len(advice.next) <= 6
    assert len({one.check for one in advice.next}) == len(advice.next)
    for one in advice.next:
        assert one.check not in made
        assert tools is None or set(CATALOGUE.checks[one.check].tools) <= tools
        assert sum(each.probability for each in one.outcomes) == pytest.approx(1)
    assert not (advice.repair and advice.next)
    for one in advice.next:
        assert one.because
    assert all(one.expected_saving > 0 for one in advice.next[1:])
    if advice.next and advice.next[0].expected_saving <= 0:
        assert {"kind": "only-one"} in advice.next[0].because
    part_of_supply = supply_part(case, advice.findings)
    group = advice.repair and CATALOGUE.causes[advice.repair.cause].group
    outside = group in ("module", "wiring", "other")
    if outside and advice.repair.part and advice.supply.state != "sound" and part_of_supply > 0.1:
        open_checks = offers(outcomes=made, tools=case.tools)
        on_supply = [
            one.cost for name, one in open_checks.items() if CATALOGUE.checks[name].aspects
        ]
        assert not on_supply or advice.repair.price_high <= min(on_supply)
    if advice.repair:
        assert advice.repair.part not in {one["part"] for one in advice.hold_off}


def test_nothing_noticed_and_a_normal_reading_means_nothing_to_do():
    case = CarCase(readings={"rest-volts": {"value": 12.7, "unit": "V"}})
    advice = triage(CATALOGUE, NETWORK, case)
    assert advice.watch == {"kind": "nothing"}
    assert (advice.next, advice.repair, advice.workshop, advice.hold_off) == ((), None, None, ())
    low = triage(CATALOGUE, NETWORK, CarCase(readings={"rest-volts": {"value": 11.5, "unit": "V"}}))
    assert low.watch is None
    assert triage(CATALOGUE, NETWORK, CarCase()).watch is None


def test_battery_and_charging_are_left_out_where_they_cannot_make_the_complaint():
    assert triage(CATALOGUE, NETWORK, CarCase(symptoms=("lamps",))).supply.matters
    made = CarCase(readings={"rest-volts": {"value": 12.7, "unit": "V"}})
    assert triage(CATALOGUE, NETWORK, made).supply.matters
    shipped, _ = load_catalogue(Path(__file__).parents[2])
    assert not advise(shipped, symptoms=("brake-pedal-soft",)).supply.matters
