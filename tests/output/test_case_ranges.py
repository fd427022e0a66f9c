"""Finite but absurd numbers in cases, links and kept cases: told in words, in both languages.

Seeded garbage: every number of a case is replaced by one that no meter and no price shows.
"""

import json
import random

from build_tools.cli.link_command import read_link
from build_tools.cli.triage_command import case_advice
from build_tools.cli.words import RefusedError
from build_tools.engine.cases import read_case
from build_tools.knowledge.link_words import link_document
from tests.embedded import embedded
from tests.shipped import CATALOGUE, knowledge

KNOWLEDGE = knowledge()
BOOK = json.loads(json.dumps(link_document(CATALOGUE)))
ABSURD = [1e308, -1e308, 1e300, -1e13, 1e12, 5e-324, -0.0, -1, 1001, 2**53, 1e21, 0]
DRAWS = 20


def garbage(draw):
    """Draw a case of the right shape with numbers of no sense."""
    number = lambda: draw.choice(ABSURD)  # noqa: E731 - drawn anew at every place
    numbers = {name: one for name, one in CATALOGUE.contexts.items() if one.type == "number"}
    measured = {name: one for name, one in CATALOGUE.checks.items() if one.gauge}
    context = {
        name: draw.choice([number(), {"value": number(), "unit": one.unit}])
        for name, one in numbers.items()
        if draw.random() < 0.4
    }
    readings = {}
    for name, check in draw.sample(sorted(measured.items()), draw.randint(0, 3)):
        gauge = CATALOGUE.gauges[check.gauge]
        readings[name] = {"value": number(), "unit": draw.choice(gauge.accepts)}
        for condition in gauge.conditions:
            if condition.id in numbers and draw.random() < 0.5:
                unit = numbers[condition.id].unit
                readings[name][condition.id] = {"value": number(), "unit": unit}
        if draw.random() < 0.3:
            readings[name]["confirmed"] = True
    case = {
        "symptoms": draw.sample(sorted(CATALOGUE.symptoms), draw.randint(0, 2)),
        "context": context,
        "readings": readings,
        "outcomes": {},
        "not_possible": [],
    }
    if draw.random() < 0.7:
        case["hour_value"] = number()
    return case


DRAWN = [garbage(random.Random(seed)) for seed in range(DRAWS)]

ENCODE = """return input.cars.map((car) =>
  links.encodeCase(car, book.bookFrom(input.file), input.version));"""

ADVISE = """const k = input.knowledge;
return input.cars.map((car) => {
  const told = { ...car, chosen: car.symptoms, notPossible: [], hourValue: car.hour_value };
  const kept = adopt.adoptState(k, {}, told);
  const linked = adopt.adoptCase(k, {}, car);
  const cars = [states.toCase(k, kept.state), linked.car];
  return [cars.map((one) => {
    const advice = triage.triage(k, one, { workLimit: 0 });
    return [one.hour_value ?? null, Number.isFinite(advice.buying_now)];
  }), linked.changes.map((one) => words.changeWords(k, one))];
});"""


def advised_or_told(document):
    """Return the advice, or the words in which the case is refused."""
    try:
        return json.dumps(case_advice(CATALOGUE, document), allow_nan=False), ""
    except RefusedError as error:
        return None, str(error)


def test_a_case_document_is_used_or_refused_field_by_field():
    refused = 0
    for document in DRAWN:
        _, problems = read_case(document, CATALOGUE)
        advice, told = advised_or_told(document)
        assert (advice is None) == (problems != ())
        assert all(one.path in told for one in problems)
        refused += advice is None
    assert DRAWS / 4 < refused < DRAWS


def test_a_price_of_an_hour_is_none_or_from_0_to_1000():
    for value in ABSURD:
        _, problems = read_case({"hour_value": value}, CATALOGUE)
        assert (problems == ()) == (0 <= value <= 1000), value


def test_a_crafted_link_opens_with_what_makes_sense_and_tells_the_rest():
    rooms = {"links": "case/case-link", "book": "knowledge/link-words"}
    given = {"cars": DRAWN, "file": BOOK, "version": KNOWLEDGE["version"]}
    told = 0
    for link, sent in zip(embedded(rooms, ENCODE, given), DRAWN, strict=True):
        opened = read_link(CATALOGUE, f"#c={link}")
        told += len(opened["changes"])
        wrong = sent.get("hour_value") is not None and not 0 <= sent["hour_value"] <= 1000
        assert any(one["change"] == "hour-gone" for one in opened["changes"]) == wrong
        advice, words = advised_or_told(opened["case"])
        assert advice or "plausible" in words or "outside" in words
    assert told > DRAWS / 2


def test_the_browser_advises_on_every_one():
    rooms = {
        "adopt": "case/case-adopt",
        "states": "case/case",
        "triage": "engine/triage",
        "words": "case/diff-words",
    }
    answers = embedded(rooms, ADVISE, {"knowledge": KNOWLEDGE, "cars": DRAWN})
    for (both, told), sent in zip(answers, DRAWN, strict=True):
        for hour, finite in both:
            assert finite
            assert hour is None or 0 <= hour <= 1000
        wrong = sent.get("hour_value") is not None and not 0 <= sent["hour_value"] <= 1000
        assert any("price of an hour" in one for one in told) == wrong
