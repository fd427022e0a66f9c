"""What one look answers together, against counting out every combination of answers."""

import random
from itertools import product
from math import prod

import pytest

from build_tools.engine.cases import CarCase
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.one_look import joined, joined_confirms, reads_codes
from build_tools.engine.triage import assess
from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.folders import PROJECT

CATALOGUE, _ = load_catalogue(PROJECT)
NETWORK = network_from_catalogue(CATALOGUE)
READING = "read-and-write-down-codes"


def random_row(draw, levels):
    row = [draw.random() for _ in range(levels)]
    return tuple(one / sum(row) for one in row)


def counted_out(own, tables, world):
    """Sum every combination of answers under the outcome it belongs to."""
    rows = [table[world] for table in tables]
    found = {}
    for levels in product(range(len(own[world])), *(range(len(row)) for row in rows)):
        first, *answers = levels
        named = next(((place, one) for place, one in enumerate(answers) if one), None)
        chance = own[world][first] * prod(row[one] for row, one in zip(rows, answers, strict=True))
        key = ("none", first) if named is None else named
        found[key] = found.get(key, 0.0) + chance
    unnamed = [found["none", level] for level in range(len(own[world]))]
    return unnamed + [
        found[place, level] for place, row in enumerate(rows) for level in range(1, len(row))
    ]


@pytest.mark.parametrize("seed", range(20))
def test_outcomes_are_the_combinations_of_answers(seed):
    draw = random.Random(seed)
    worlds = draw.randint(1, 3)
    sizes = [draw.randint(2, 4) for _ in range(draw.randint(1, 4))]
    tables = [tuple(random_row(draw, size) for _ in range(worlds)) for size in sizes]
    own = tuple(random_row(draw, 3) for _ in range(worlds))
    table = joined(own, tables, worlds)
    for world, row in enumerate(table):
        assert row == pytest.approx(counted_out(own, tables, world))
        alone = joined(None, tables, worlds)[world]
        assert alone[0] == pytest.approx(sum(row[:3]))
        assert alone[1:] == pytest.approx(row[3:])


def test_a_named_code_confirms_what_its_question_and_the_reading_do():
    own = ((), (), (4,))
    assert joined_confirms(own, [((), (1,)), ((), (2,), (0, 2))]) == (
        *own,
        (1, 4),
        (2, 4),
        (0, 2, 4),
    )
    assert joined_confirms(None, [((), (1,))]) == ((), (1,))


@pytest.mark.parametrize("complaint", ["engine-lamp-steady", "evap-code-or-cap-message"])
def test_the_reading_is_worth_more_than_any_family_asked_alone(complaint):
    """More known never costs more: asked alone, a family is the reading with most of it forgotten."""
    priced = assess(CATALOGUE, NETWORK, CarCase(symptoms=(complaint,))).planning.priced
    whole = next(one for one in priced if one.offer.check == READING)
    assert len(whole.answers) > 1
    for family in whole.answers:
        others = tuple(name for name in whole.answers if name != family)
        case = CarCase(symptoms=(complaint,), not_possible=others)
        alone = next(
            one
            for one in assess(CATALOGUE, NETWORK, case).planning.priced
            if one.offer.check == READING
        )
        assert whole.saving >= alone.saving - 1e-6


def test_no_family_is_asked_of_an_empty_list():
    case = CarCase(symptoms=("engine-lamp-steady",), outcomes={READING: "none-stored"})
    offers = assess(CATALOGUE, NETWORK, case).planning.offers
    assert not [name for name in offers if reads_codes(CATALOGUE.checks[name])]
    case = CarCase(symptoms=("engine-lamp-steady",), outcomes={READING: "specific-code"})
    priced = assess(CATALOGUE, NETWORK, case).planning.priced
    asked = [one for one in priced if reads_codes(CATALOGUE.checks[one.offer.check])]
    assert len(asked) == 1
    assert len(asked[0].answers) > 1


def test_a_code_that_was_named_leaves_the_others_unnamed_but_not_what_goes_on_from_it():
    named = {READING: "specific-code", "code-names-the-vapor-system": "names-it"}
    assessment = assess(
        CATALOGUE, NETWORK, CarCase(symptoms=("engine-lamp-steady",), outcomes=named)
    )
    found, offers = assessment.diagnosis.findings, assessment.planning.offers
    assert "code-names-the-gearbox" in found.unnamed
    assert "match-the-vapor-code" not in found.unnamed
    assert not set(found.unnamed) & offers.keys()
    assert "match-the-vapor-code" in offers
    # Unsaid is likelier where it is not on the list; no more is taken from silence than that.
    assert all(one[0] == 1 and 0 < one[1] < 1 for one in map(found.evidence.get, found.unnamed))
    without = assess(
        CATALOGUE, NETWORK, CarCase(symptoms=("engine-lamp-steady",))
    ).diagnosis.findings
    assert without.unnamed == ()
