"""Pages about how sure the advice is say what the reports say, and nothing of other advice.

The reports are measured on the tiny catalogue and kept in a folder of the test.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import pytest

from build_tools.engine.cases import CarCase, case_document, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from build_tools.knowledge import reports
from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.entries import Cause
from build_tools.knowledge.schema_check import published_schemas
from build_tools.reports.robust import Noise, report_text, robust_report
from build_tools.reports.value import POLICIES, Draws, value_report
from build_tools.site import page_advice
from build_tools.site.page_advice import WORDS, advice_state
from build_tools.site.page_how_well import draw_costs, how_sure, value_fragment
from build_tools.site.page_press import Press
from tests.shipped import CATALOGUE

PROJECT = Path(__file__).parents[2]
BASE = PROJECT / "tests" / "fixtures" / "base"
TINY, _ = load_catalogue(BASE)
PRESS = Press(TINY, network_from_catalogue(TINY))
NO_CRANK = "will-not-crank"


@pytest.fixture(scope="module")
def measured():
    return value_report(TINY, "abc", Draws(20))


@pytest.fixture
def kept(tmp_path, monkeypatch, measured):
    monkeypatch.setattr(reports, "FOLDER", tmp_path)
    (tmp_path / "value.json").write_text(json.dumps(measured))
    robust = robust_report(TINY, "abc", Noise((0.5,), 8))
    (tmp_path / "robust.json").write_text(report_text(robust))
    return tmp_path


def advice():
    return triage(TINY, PRESS.network, CarCase(symptoms=(NO_CRANK,)))


def test_a_page_says_how_sure_its_own_advice_is(kept):
    said = how_sure(PRESS, NO_CRANK, advice())
    assert said.endswith(".")
    assert "estimates" in said or "close call" in said


def test_a_report_on_other_advice_says_nothing(kept):
    report = json.loads((kept / "robust.json").read_text())
    report["symptoms"][NO_CRANK]["cause"] = "starter-stuck"
    (kept / "robust.json").write_text(json.dumps(report, indent=2))
    assert how_sure(PRESS, NO_CRANK, advice()) == ""


@pytest.mark.parametrize("text", [None, "{", "[1, 2"])
def test_a_missing_or_spoiled_report_says_nothing(tmp_path, monkeypatch, text):
    monkeypatch.setattr(reports, "FOLDER", tmp_path)
    if text is not None:
        (tmp_path / "robust.json").write_text(text)
        (tmp_path / "value.json").write_text(text)
    assert how_sure(PRESS, NO_CRANK, advice()) == ""
    assert "not been measured yet" in value_fragment(PRESS, "./")


def test_the_value_page_shows_each_way_with_its_figures(kept, measured):
    html = value_fragment(PRESS, "./")
    for name, words in POLICIES.items():
        figures = measured["all"][name]
        assert f"{words}: {figures['cost']['mean']:.0f}" in html
        assert f"{figures['money']['mean']:.0f} ({figures['money']['spread']:.0f})" in html
    assert "20 made-up cars" in html
    assert "our estimate" in html


def test_bars_are_as_long_as_their_cost(measured):
    svg = draw_costs(measured["all"], 15)
    widths = [float(one) for one in re.findall(r'<rect [^>]*width="([\d.]+)"', svg)]
    costs = [measured["all"][name]["cost"]["mean"] for name in POLICIES]
    assert len(widths) == len(costs)
    for width, cost in zip(widths, costs, strict=True):
        assert width / widths[0] == pytest.approx(cost / costs[0], rel=0.02)
    assert all(float(one) <= 320 for one in re.findall(r'x2="([\d.]+)"', svg))


def test_wording_a_symptom_moves_no_advice_and_a_number_does(tmp_path):
    def state(file, old, new):
        path = tmp_path / file.replace("/", "-")
        folder = path / "symptoms"
        folder.mkdir(parents=True)
        for one in BASE.rglob("*.yml"):
            text = one.read_text()
            name = one.relative_to(BASE)
            if str(name) == file:
                assert old in text
                text = text.replace(old, new)
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(text)
        return advice_state(load_catalogue(folder)[0])

    same = advice_state(TINY)
    assert state(f"entries/{NO_CRANK}.yml", "title: It will not crank", "title: No crank") == same
    assert state("causes/starter-stuck.yml", "how_common: rare", "how_common: common") != same
    assert state("checks/measure-volts.yml", "minutes: 3", "minutes: 4") != same


def test_advice_of_a_former_build_is_the_one_asked_for_anew(tmp_path, monkeypatch):
    monkeypatch.setattr(page_advice, "_FOLDER", tmp_path)
    monkeypatch.setattr(page_advice, "_kept", {})
    press = replace(PRESS, version="one")
    asked = [page_advice.advice_for(press, name) for name in TINY.symptoms]
    page_advice.keep_advice()
    assert [one.name for one in tmp_path.iterdir()] == [advice_state(TINY)]
    monkeypatch.setattr(page_advice, "_kept", {})
    monkeypatch.setattr(page_advice, "triage", lambda *_: pytest.fail("planned again"))
    assert [page_advice.advice_for(press, name) for name in TINY.symptoms] == asked


def reworded(value, *, is_word=False):
    """Return part of a catalogue with all its words changed, titles too where they move nothing."""
    if isinstance(value, str):
        return f"{value} now" if is_word else value
    if isinstance(value, tuple):
        return tuple(reworded(one, is_word=is_word) for one in value)
    if isinstance(value, Mapping):
        return {key: reworded(one) for key, one in value.items()}
    if not is_dataclass(value):
        return value
    words = WORDS if isinstance(value, Cause) else WORDS | {"title"}
    own = {one.name: getattr(value, one.name) for one in fields(value)}
    return replace(value, **{name: reworded(v, is_word=name in words) for name, v in own.items()})


def test_words_of_entries_move_no_advice():
    """The preview keeps an advice while only words change, so advice may not rest on them."""
    kinds = ("symptoms", "causes", "checks", "gauges", "contexts")
    told = replace(CATALOGUE, **{kind: reworded(getattr(CATALOGUE, kind)) for kind in kinds})
    assert told.checks["twist-battery-clamps"].levels[0].label.endswith(" now")
    assert advice_state(told) == advice_state(CATALOGUE)
    cases = [CarCase(symptoms=(one,)) for one in ("flat-overnight", "red-charging-lamp")]
    measured = [one for one in CATALOGUE.cases.values() if one.is_exercise and one.readings][:3]
    for case in [*cases, *(read_case(case_document(one), CATALOGUE)[0] for one in measured)]:
        now = triage(told, network_from_catalogue(told), case)
        assert now == triage(CATALOGUE, network_from_catalogue(CATALOGUE), case)


def test_published_schemas_are_the_ones_we_judge_by():
    published = dict(published_schemas())
    assert {"compiled.schema.json", "symptom.schema.json", "common.schema.json"} <= set(published)
    for text in published.values():
        for reference in re.findall(r'"\$ref": "([^"#]+)#', text):
            assert reference in published
