"""A started entry reads and fits its kind before a word of it is changed."""

import shutil
from datetime import date

import pytest

from build_tools.cli.new_entry import plan_entry, plan_led_entry
from build_tools.knowledge.folders import KINDS, PROJECT
from build_tools.knowledge.problems import Severity
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import read
from build_tools.lint.fixes import tidy
from build_tools.lint.registry import lint

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize("kind", KINDS)
def test_template_reads_fits_and_is_tidy(tmp_path, kind):
    ((path, text),) = plan_entry(tmp_path, kind, "brand-new-entry", today=TODAY)
    assert path.name == "brand-new-entry.yml"
    document, problems = read(text, path.name)
    assert problems == []
    assert check_document(document, kind) == []
    assert document.value["id"] == "brand-new-entry"
    assert document.value.get("reviewed", "2026-11-25") == "2026-11-25"
    assert tidy(text, kind) == text
    assert "NEW-" not in text
    assert "SYMPTOM-ID" not in text


def test_started_entries_add_no_problem_to_the_shipped_knowledge(tmp_path):
    shutil.copytree(PROJECT / "symptoms", tmp_path / "symptoms")

    def start(files):
        for path, text in files:
            path.write_text(text, encoding="utf-8")
        return [path.name for path, _ in files]

    case = plan_entry(tmp_path, "symptom", "lights-dim-at-idle", today=TODAY, with_case=True)
    assert start(case) == ["lights-dim-at-idle.yml", "lights-dim-at-idle-case.yml"]
    cause = plan_led_entry(tmp_path, "cause", "pulley-stuck", "red-charging-lamp", today=TODAY)
    assert start(cause) == ["pulley-stuck.yml", "red-charging-lamp.yml"]
    check = plan_led_entry(tmp_path, "check", "watch-at-idle", "pulley-stuck", today=TODAY)
    assert start(check) == ["watch-at-idle.yml", "pulley-stuck.yml"]
    after = lint(tmp_path, today=TODAY)
    # What is still to be written: a note in what is new, an error where readers already look.
    written = [one for one in after if one.code == "TXT510"]
    grave = {one.span.file for one in written if one.severity is not Severity.NOTE}
    assert grave == {"symptoms/entries/red-charging-lamp.yml"}
    assert "symptoms/entries/lights-dim-at-idle.yml" in {one.span.file for one in written}
    # The shipped knowledge is judged without them only where there is something to compare.
    others = [one for one in after if one.code != "TXT510"]
    before = {(one.code, one.span) for one in lint(PROJECT, today=TODAY)} if others else set()
    assert [one for one in others if (one.code, one.span) not in before] == []


def test_what_leads_to_an_entry_must_be_there_and_lead_to_its_kind(tmp_path):
    with pytest.raises(ValueError, match='no symptom "no-such"'):
        plan_led_entry(tmp_path, "cause", "pulley-stuck", "no-such", today=TODAY)
    with pytest.raises(ValueError, match="--for belongs to"):
        plan_led_entry(tmp_path, "gauge", "some-volts", "no-such", today=TODAY)


@pytest.mark.parametrize("name", ["Lamps", "1-lamp", "a--b", "a-", "", "x" * 49, "../etc", "a b"])
def test_bad_id_is_refused_with_an_example(tmp_path, name):
    with pytest.raises(ValueError, match="is not an id"):
        plan_entry(tmp_path, "cause", name, today=TODAY)


def test_taken_id_is_refused_across_symptoms_causes_and_checks(tmp_path):
    (tmp_path / "checks").mkdir()
    (tmp_path / "checks" / "same-name.yml").write_text("x")
    with pytest.raises(ValueError, match="exists already in checks/"):
        plan_entry(tmp_path, "cause", "same-name", today=TODAY)
