"""Made-up cars of the classroom: drawn and answered as the network says, priced as the engine plays.

Held against the engine's own play in Python, and against enumeration over the network.
"""

import base64
import itertools
import json
from collections import Counter

import pytest
from scipy.stats import chisquare

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.play import Car, CarModel, Told, outcome, play
from build_tools.engine.ways import policies
from build_tools.engine.worlds import Worlds, level_table
from tests.browser.phone import knowledge
from tests.embedded import embedded
from tests.sweeps import SWEEP

CATALOGUE, COMPILED, _ = knowledge()
MODEL = CarModel(CATALOGUE, network_from_catalogue(CATALOGUE))
OURS = policies(MODEL)["ours"]
PARTS = {
    "chance": "exercise/chance",
    "draw": "exercise/draw",
    "links": "exercise/links",
    "play": "exercise/play",
}
LEVELS = ("one", "alike", "two", "misleading")
# Cars of each level; the default run plays a tenth of them.
CARS = 30
# As they were written before a car could tell more than its complaint.
SENT_CAR = (
    "#x=zKec56WL-u2h6UoJQ8W45L87pMi8dXQUNNsaaLRO-WFxcyvMFXg_dxO8b7sY1HliFPOYw44ESl9vOAdUjFs5B8e4XU4"
)
SENT_RESULT = (
    "#r=PjqQcQLAKQfn5bpCTOhXE4ZRT2NV4Bn1jPO9-ZPpQWnZ3k-JQdja2zhhMytcsGbfdlJVrXbwtfps-cLGllwOKisiNLybFT5D"
    "ukAz113bpzUD"
)
# Of a thousand tests that should pass, one would not.
UNLIKELY = 0.001


def run(body, given):
    return embedded(PARTS, f"const k = input.knowledge; {body}", {**given, "knowledge": COMPILED})


def drawn(level, seeds, complaint=""):
    body = "return input.seeds.map((seed) => draw.drawCar(k, { ...input.wanted, seed }));"
    wanted = {"level": level, "complaint": complaint}
    return run(body, {"seeds": list(seeds), "wanted": wanted})


def fits(counted, expected):
    """Tell whether counts may come from these shares; rare ones are counted together."""
    total = sum(counted.values())
    rows = sorted((share * total, counted[name]) for name, share in expected.items())
    while len(rows) > 1 and rows[0][0] < 5:
        (one, seen), (other, more), *rest = rows
        rows = sorted([(one + other, seen + more), *rest])
    assert not counted.keys() - expected.keys()
    if len(rows) == 1:
        return True
    return chisquare([seen for _, seen in rows], [one for one, _ in rows]).pvalue > UNLIKELY


@SWEEP
@pytest.mark.parametrize("level", LEVELS)
def test_the_checkers_policy_scores_what_the_engine_plays_in_the_same_car(level, share):
    body = """return input.seeds.map((seed) => {
      const car = draw.drawCar(k, { level: input.level, seed });
      const { play: made, why } = play.bestPlay(k, car);
      const chances = Object.keys(k.checks).map((name) => [name, chance.chanceOf(seed, name)]);
      return { car, made, why, chances: Object.fromEntries(chances) };
    });"""
    first = CARS * LEVELS.index(level)
    for one in run(body, {"level": level, "seeds": list(range(first, first + CARS // share))}):
        told, bill = one["car"], one["made"]["bill"]
        complaints, causes = (told["complaint"], *told["others"]), frozenset(told["causes"])
        car = Car(
            Told(complaints, tuple(told["facts"].items())),
            causes,
            dict.fromkeys(complaints, causes),
            one["chances"],
            frozenset(told["misread"]),
        )
        wanted = play(MODEL, car, OURS)
        assert (bill["money"], bill["minutes"], bill["waiting"]) == pytest.approx(
            (wanted.money, wanted.minutes, wanted.waiting)
        )
        assert (bill["checks"], bill["parts"], bill["in_vain"], bill["helped"]) == (
            (wanted.checks, wanted.parts, wanted.in_vain, wanted.helped)
        )
        # What the checker advises is never unsafe, and each of its checks can tell something.
        assert (bill["pointless"], bill["unsafe"]) == (0, 0)
        steps = [step["move"]["kind"] for step in one["made"]["made"]]
        assert all(why for why, kind in zip(one["why"], steps, strict=True) if kind != "workshop")


@pytest.mark.parametrize("level", LEVELS)
def test_the_same_seed_gives_the_same_car_and_the_same_results(level):
    first, again = drawn(level, range(8)), drawn(level, range(8))
    assert first == again
    assert len({json.dumps(one) for one in first}) > 4
    body = """return input.cars.map((car) => Object.keys(k.checks).map((check) =>
      play.resultOf(k, car, car.causes, check)));"""
    results = run(body, {"cars": first})
    for car, read in zip(first, results, strict=True):
        assert read == run(body, {"cars": [car]})[0]
        assert len(car["causes"]) == (2 if level == "two" else 1)
        assert len(car["misread"]) == (level == "misleading")


def shares(complaint, level):
    """Enumerate the sets of causes of a level and how often all of each make the complaint."""
    finding = MODEL.network.finding_by_id[complaint]
    priors = {one.id: one.prior for one in MODEL.network.causes}
    linked = sorted(MODEL.relevant((complaint,)))
    sets = list(itertools.combinations(linked, 2 if level == "two" else 1))
    if level == "two":
        fixes = MODEL.puts_right
        sets = [(a, b) for a, b in sets if b not in fixes[a] and a not in fixes[b]]
    weights = {}
    for one in sets:
        # Exactly these are there, each makes it, and all others of the complaint are not there.
        weight = 1.0
        for name in linked:
            there = priors[name] * (1 - finding.links[name][0])
            weight *= there if name in one else 1 - priors[name]
        weights[one] = weight
    if level == "alike":
        del weights[max(weights, key=weights.get)]
    total = sum(weights.values())
    return {one: weight / total for one, weight in weights.items()}


@pytest.mark.parametrize("level", ["one", "alike", "two"])
@pytest.mark.parametrize("complaint", ["flat-overnight", "cranks-slowly-when-cold"])
def test_causes_are_drawn_as_often_as_the_network_says(level, complaint):
    cars = drawn(level, range(4000), complaint)
    assert fits(Counter(tuple(car["causes"]) for car in cars), shares(complaint, level))


def test_results_come_as_often_as_the_network_says():
    seeds, tested = range(3000), 0
    for car in drawn("two", range(3), "flat-overnight") + drawn(
        "one", range(3), "cranks-slowly-when-cold"
    ):
        worlds = Worlds(
            masks=(2 ** len(car["causes"]) - 1,), weights=(1.0,), causes=tuple(car["causes"])
        )
        body = """return input.seeds.map((seed) => input.checks.map((check) =>
          play.resultOf(k, { ...input.car, misread: [], seed }, input.car.causes, check)));"""
        checks = [
            name
            for name in CATALOGUE.checks
            if name in MODEL.network.finding_by_id
            and MODEL.network.finding_by_id[name].links.keys() & set(car["causes"])
        ][:6]
        rows = run(body, {"seeds": list(seeds), "checks": checks, "car": car})
        for place, check in enumerate(checks):
            table = level_table(MODEL.network, worlds, check)[0]
            levels = MODEL.network.finding_by_id[check].levels
            counted = Counter(row[place] for row in rows)
            assert fits(counted, dict(zip(levels, table, strict=True))), (car, check)
            tested += 1
    assert tested > 12


def test_further_complaints_are_those_that_the_causes_make():
    cars = drawn("one", range(2000), "lights-dim-or-flicker")
    told = [(name, car["causes"][0]) for car in cars for name in car["others"]]
    assert len(told) > len(cars) / 4
    for name, cause in set(told):
        assert CATALOGUE.symptoms[name].role == "complaint"
        assert MODEL.network.finding_by_id[name].links[cause][0] < 1
    assert max(len(car["others"]) for car in cars) == 2


def test_a_fact_is_told_as_often_as_it_goes_with_the_cause():
    """P(answer | cause) is in proportion to what the answer makes of the odds of the cause."""
    wanted = {"level": "one", "complaint": "flat-overnight", "causes": ["battery-worn-out"]}
    body = "return input.seeds.map((seed) => draw.drawCar(k, { ...input.wanted, seed }));"
    cars = run(body, {"seeds": list(range(6000)), "wanted": wanted})
    counted = Counter(item for car in cars for item in car["facts"].items())
    assert 0.45 < counted.total() / len(cars) < 0.55
    tested = 0
    for name, context in CATALOGUE.contexts.items():
        shown = Counter(
            {answer: count for (asked, answer), count in counted.items() if asked == name}
        )
        if not shown:
            continue
        times = {option.id: 1.0 for option in context.options}
        for factor in CATALOGUE.causes["battery-worn-out"].context:
            if factor.when == name:
                times[factor.equals] *= factor.times
        total = sum(times.values())
        assert fits(shown, {answer: one / total for answer, one in times.items()}), name
        tested += 1
    assert tested > 5


def test_links_that_were_sent_before_more_was_told_still_open():
    body = "return [links.carIn(k, input.car), ...links.resultsIn(k, input.result)];"
    opened, result = run(body, {"car": SENT_CAR, "result": SENT_RESULT})
    told = {"complaint": "flat-overnight", "others": [], "facts": {}}
    causes = ["accessory-draws-when-parked"]
    car = {"level": "one", **told, "causes": causes, "misread": [], "seed": 3}
    assert opened == {"car": car, "edition": "0d73"}
    assert (result["car"], result["name"]) == (car, "Zoë")
    assert result["moves"] == [{"kind": "workshop", "id": ""}]


def test_a_misread_check_lands_beside_the_true_level():
    for car in drawn("misleading", range(12)):
        body = """return [play.resultOf(k, input.car, input.car.causes, input.check),
          chance.chanceOf(input.car.seed, input.check)];"""
        (check,) = car["misread"]
        read, number = run(body, {"car": car, "check": check})
        levels = [one.id for one in CATALOGUE.checks[check].levels]
        true = outcome(MODEL, frozenset(car["causes"]), check, number)
        assert abs(levels.index(read) - levels.index(true)) == 1


def test_a_link_hides_its_car_and_gives_it_back():
    moves = [{"kind": "check", "id": "measure-resting-voltage"}, {"kind": "workshop", "id": ""}]
    body = """const link = links.carLink(input.car, "0d73");
      const result = { name: "Zoë", edition: "0d73", car: input.car, moves: input.moves };
      const sent = links.resultLink(result);
      return { link, sent, car: links.carIn(k, `x/${link}`), result,
        results: links.resultsIn(k, `a ${sent}\\nb ${sent.slice(0, -2)} c ${link}`) };"""
    for car in drawn("two", range(4)):
        told = run(body, {"car": car, "moves": moves})
        assert told["car"] == {"car": car, "edition": "0d73"}
        assert told["results"] == [told["result"], None]
        letters = told["link"].removeprefix("#x=")
        assert len(letters) < 400
        raw = base64.urlsafe_b64decode(letters + "=" * (-len(letters) % 4))
        for word in (*car["causes"], car["complaint"]):
            assert word.encode() not in raw
            assert word not in letters


STEPS = """let now = play.begin(input.car);
  return input.moves.map((move) => {
    const { play: after, refused } = play.take(k, now, move);
    now = after;
    return { refused, bill: after.bill, made: after.made.at(-1) ?? null, over: after.over };
  });"""


def steps(complaint, cause, *moves):
    """Take steps in a car with one cause; each is written as kind and id."""
    told = {"complaint": complaint, "others": [], "facts": {}}
    car = {"level": "one", **told, "causes": [cause], "misread": [], "seed": 5}
    rows = [dict(zip(("kind", "id"), one.split(":"), strict=True)) for one in moves]
    return run(STEPS, {"car": car, "moves": rows})


def test_a_step_that_can_tell_nothing_new_is_counted_and_still_costs():
    twist = "check:twist-battery-clamps"
    first, second = steps("flat-overnight", "battery-worn-out", twist, twist)
    assert (first["bill"]["pointless"], second["bill"]["pointless"]) == (0, 1)
    assert second["bill"]["minutes"] == 2 * first["bill"]["minutes"] > 0
    assert first["made"]["level"] == second["made"]["level"]


def test_what_a_stop_line_forbids_is_refused_and_counted_and_costs_nothing():
    (one,) = steps("red-oil-lamp", "engine-oil-low-or-old", "check:let-diesel-thaw")
    assert one["made"]["mark"] == "unsafe"
    assert one["made"]["because"] == {"kind": "stop", "line": "red-oil-lamp-on"}
    assert one["bill"]["unsafe"] == 1
    assert one["bill"]["minutes"] == one["bill"]["money"] == 0


def test_a_check_waits_for_what_comes_before_it():
    (one,) = steps("flat-overnight", "battery-worn-out", "check:load-test-battery")
    assert one["refused"]["kind"] == "first"
    assert one["refused"]["check"] in {
        row.check for row in CATALOGUE.checks["load-test-battery"].needs
    }
    assert one["made"] is None


def test_the_right_repair_ends_it_and_the_wrong_part_is_in_vain():
    wrong, right = steps(
        "flat-overnight", "battery-worn-out", "repair:alternator-weak", "repair:battery-worn-out"
    )
    assert (wrong["made"]["mark"], wrong["bill"]["in_vain"], wrong["over"]) == ("in-vain", 1, False)
    assert (right["made"]["mark"], right["bill"]["in_vain"], right["over"]) == ("", 1, True)
    assert right["bill"]["helped"]
