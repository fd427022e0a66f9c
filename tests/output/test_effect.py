"""A change of one entry shows as other advice elsewhere, with before and after."""

import shutil
from pathlib import Path

import pytest

from build_tools.knowledge.assemble import load_catalogue
from build_tools.reports.effect import effect, effect_text

BASE = Path(__file__).parents[1] / "fixtures" / "base"


def changed(tmp_path, file, old, new):
    folder = tmp_path / "symptoms"
    shutil.copytree(BASE, folder)
    path = folder / file
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new))
    return load_catalogue(folder)[0]


@pytest.fixture(scope="module")
def before():
    return load_catalogue(BASE)[0]


def test_equal_knowledge_asks_nothing(before):
    asked = []
    found = effect(before, load_catalogue(BASE)[0], progress=lambda *one: asked.append(one))
    assert (found["changed"], found["added"], found["removed"], asked) == ([], [], [], [])
    assert found["before"] == found["after"]
    assert effect_text(found) == "No symptom and no case gets other advice."


def test_a_prior_mistyped_turns_the_advice_of_another_file(before, tmp_path):
    file = "causes/starter-stuck.yml"
    after = changed(tmp_path, file, "how_common: rare", "how_common: common")
    found = effect(before, after, edited={f"symptoms/{file}"})
    rows = {(one["kind"], one["id"]): one for one in found["changed"]}
    row = rows["symptom", "will-not-crank"]
    assert not row["edited"]
    # .1/.9 * .8 against .1/.9 * .95: with equal priors the stronger link leads
    assert {"what": "first_cause", "before": "battery-empty", "after": "starter-stuck"} in row[
        "changes"
    ]
    text = effect_text(found)
    assert text.startswith("Changed elsewhere: ")
    assert "symptom will-not-crank\n    likeliest cause: battery-empty -> starter-stuck" in text


def test_an_edited_entry_is_told_from_the_others(before, tmp_path):
    file = "entries/will-not-crank.yml"
    after = changed(tmp_path, file, "how_often: usually", "how_often: hardly-ever")
    found = effect(before, after, edited={f"symptoms/{file}"})
    own = [one for one in found["changed"] if one["id"] == "will-not-crank"]
    assert own
    assert all(one["edited"] for one in own)
    assert "Changed in edited entries" in effect_text(found)


def test_new_and_removed_entries_are_named(before, tmp_path):
    folder = tmp_path / "symptoms"
    shutil.copytree(BASE, folder)
    (folder / "cases" / "clicks-and-full.yml").rename(folder / "cases" / "clicks-and-charged.yml")
    path = folder / "cases" / "clicks-and-charged.yml"
    path.write_text(path.read_text().replace("id: clicks-and-full", "id: clicks-and-charged"))
    found = effect(before, load_catalogue(folder)[0])
    (added,) = found["added"]
    assert (added["kind"], added["id"]) == ("case", "clicks-and-charged")
    assert found["removed"] == [{"kind": "case", "id": "clicks-and-full"}]
    text = effect_text(found)
    assert "Added: case clicks-and-charged\n    likeliest causes: " in text
    assert text.endswith("Nothing else changed.")


def test_a_new_cause_comes_with_its_rank_and_small_moves_are_told(before, tmp_path):
    folder = tmp_path / "symptoms"
    shutil.copytree(BASE, folder)
    old = (folder / "causes" / "starter-stuck.yml").read_text()
    new = old.replace("id: starter-stuck", "id: starter-jammed")
    (folder / "causes" / "starter-jammed.yml").write_text(new)
    entry = folder / "entries" / "will-not-crank.yml"
    link = "  - {cause: starter-jammed, how_often: sometimes, why: It sticks., checks: []}\n"
    entry.write_text(entry.read_text() + link)
    after = load_catalogue(folder)[0]
    found = effect(before, after, edited={"symptoms/entries/will-not-crank.yml"})
    (added,) = found["added"]
    (place,) = added["ranks"]
    # The least likely of three: the prior of the other starter's cause with a weaker link.
    assert (place["symptom"], place["rank"], place["of"]) == ("will-not-crank", 3, 3)
    moved = [one for row in found["changed"] for one in row["changes"] if one["what"] == "odds"]
    assert moved
    assert all(abs(one["after"] - one["before"]) >= 0.0195 for one in moved)
    assert "in will-not-crank: number 3 of 3, " in effect_text(found)
