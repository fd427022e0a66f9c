"""The keys to the exercises say what the authors of the cases expect, who wrote before any answer.

The note that goes with a symptom promises a stop line only where its page has one.
"""

import pytest

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.words import supply_words
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.page_press import Press
from build_tools.site.page_symptom import send_view
from build_tools.site.print_sheets import answer_view
from tests.shipped import CATALOGUE, ROOT


@pytest.fixture(scope="module")
def press():
    drawings = ROOT / "site_overrides" / "assets" / "drawings"
    # With the version the build has, what it kept of its planning serves here too.
    version = compile_catalogue(CATALOGUE)["version"]
    network = network_from_catalogue(CATALOGUE)
    return Press(CATALOGUE, network, drawings, version=version, site_url="")


def test_each_key_agrees_with_what_its_author_expects(press):
    exercises = [case for case in press.catalogue.cases.values() if case.is_exercise]
    assert len(exercises) > 100
    for case in exercises:
        if case.status != "stable":
            continue
        key, expect = answer_view(press, case), case.expect
        named = [one["to"].id for one in key["causes"]]
        assert expect.cause_in_first_three in {None, *named}, case.id
        assert (key["next"].id if key["next"] else None) == expect.next, case.id
        lines = {one["text"] for one in press.stop_lines(expect.stop_now)}
        assert lines <= {one["text"] for one in key["stop_now"]}, case.id
        if expect.supply:
            assert key["supply"] == supply_words(expect.supply), case.id


def test_a_note_speaks_of_stopping_only_where_the_page_does(press):
    symptoms = press.catalogue.symptoms.values()
    with_line = {one.id for one in symptoms if one.stop_now}
    assert with_line
    assert len(with_line) < len(press.catalogue.symptoms)
    spoken = {one.id for one in symptoms if "when to stop driving" in send_view(press, one)["note"]}
    assert spoken == with_line
