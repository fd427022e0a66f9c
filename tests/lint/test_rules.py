"""Every rule has a good and a bad tiny catalogue, and says where and what.

The bad one differs from the base catalogue in one place; the line that is wrong ends with
"# here". What is expected is written below by hand, not taken from a run.
"""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from build_tools.cli.main import main
from build_tools.knowledge.problems import render_text
from build_tools.lint import registry, rules_advice
from build_tools.lint.registry import RULES, RuleFailureError, Wanted, explain, find_rule, lint

FIXTURES = Path(__file__).parents[1] / "fixtures"
TODAY = date(2026, 11, 25)
CODES = [rule.code for rule in RULES]
KEY_WORDS = {
    "SHP001": "not readable YAML",
    "SHP002": 'key "tools"',
    "SHP003": "take yes for true or false",
    "SHP004": '`minutes` holds "3"',
    "SHP005": 'key "summry"',
    "SHP006": '"&mine"',
    "SHP007": "template's order",
    "SHP008": "the unseen sign U+202E",
    "SHP009": '"- dead in the morning" is read as part',
    "IDN101": 'id "battery-flat" differs from the file\'s name "battery-empty"',
    "IDN102": '"Table_2" is not an id',
    "IDN103": 'id "will-not-crank" is also the id of a symptom',
    "IDN104": 'cause "starter-sticks" was there at the base revision',
    "IDN105": 'title "Battery empty" is also the title of "battery-empty"',
    "REF201": 'cause "battery-emtpy" does not exist',
    "REF202": '"measure-volts" is a check, and a cause is expected here',
    "REF203": 'nothing cites source "second-table"',
    "REF204": "listen-while-cranking needs measure-volts",
    "REF205": '"battery-flat" is a former id',
    "REF206": '"multimetre" is not in the list of tools',
    "REF208": '"It only clicks" stands twice in `says`',
    "REF207": '"battery-flat" leads to "battery-emtpy"',
    "NUM310": 'moves "measure-volts" to "low" in 0.1',
    "NUM311": "`low` 20 is above `high` 2",
    "NUM312": "12.7 mV is far from every edge; 12.7 V",
    "SRC406": '"clicks-again" is new and calls itself stable',
    "NUM313": "`how_common` 0.7 is a share of all",
    "NUM314": "`low` 16.5 of `plausible` is not below",
    "NUM315": '"12.2 mV" has a fraction',
    "NUM301": "likelihood 10 is not between 0 and 1",
    "NUM302": "likelihood 1 leaves no room for doubt",
    "NUM303": 'weights of "meter" sum to 1.1',
    "NUM304": 'level "low" has no likelihood',
    "NUM305": 'gauge "resting-volts" takes no reading in "A"',
    "NUM306": "no band covers readings from 12 up to 12.2",
    "NUM307": "reading 118 V lies outside 0 to 16.5 V",
    "NUM308": '"12.6 V" is an edge of gauge "resting-volts"',
    "NUM309": "edge 12.604 has more digits than the 2",
    "SRC401": '"0.5 V" says not where it is from',
    "SRC402": "no year",
    "SRC403": "every edge of this stable gauge",
    "SRC404": "last reviewed on 2024-11-20",
    "SRC405": '"starter" costs 140 to 400 here',
    "TXT501": '"Empty" has a capital',
    "TXT502": "2 sentences",
    "TXT503": '"SOC" is not explained',
    "TXT504": '"Examplecar" reads like a name',
    "TXT505": "two actions",
    "TXT506": '"is dead"',
    "TXT507": 'link "check:measure-vlots"',
    "TXT509": '"TODO" is a note to yourself',
    "TXT510": "is still the template's",
    "TXT508": "nobody fills {maent}",
    "WRD651": '"lamp" is no word an owner would say',
    "SAF601": '"Crank" asks for a caution',
    "SAF602": '"Red brake"',
    "SAF603": "nothing confirms this cause",
    "SAF604": '"measure-volts" comes before "listen-while-cranking"',
    "SAF605": '"red probe" needs a tool',
    "SAF606": "nothing says why none is needed",
    "SAF607": '"bridged the terminals" is told',
    "SAF609": '"Crank" asks for a caution at this very step',
    "SAF608": '"He shorted the posts." is not found',
    "REA701": 'no symptom and no check makes "key-unknown" likelier',
    "REA702": 'no check tells "key-unknown" and "starter-stuck" apart',
    "REA703": 'check "smell-the-fuel" moves no cause',
    "REA704": "its first 8 checks need a table of 781250 numbers",
    "ABI951": '"smell-or-smoke" takes nothing away',
    "ABI952": 'takes "engine-runs", which the check does not require',
    "CAS801": 'no worked case begins with "will-not-crank"',
    "CAS802": 'the first next check is none, not "measure-volts"',
    "CAS803": "every worked case expects a cause in the supply",
    "CAS805": '"starter-stuck" is expected and stands in `never`',
    "CAS804": 'no cause of these symptoms moves "listen-while-cranking" to "clicks"',
    "EXC901": "was to be looked at by 2026-01-01",
    "EXC902": "takes nothing out",
}


def catalogue_with(tmp_path, overlay):
    """Lay a fixture's files over the base catalogue, in a folder called knowledge."""
    knowledge = tmp_path / "knowledge"
    shutil.copytree(FIXTURES / "base", knowledge)
    if overlay is not None:
        shutil.copytree(overlay, knowledge, dirs_exist_ok=True)
    return knowledge


def judge(tmp_path, overlay, code):
    """Judge a fixture by one rule, beside the state it is compared with if it has one."""
    knowledge = catalogue_with(tmp_path / "now", overlay)
    former = FIXTURES / "former" / code
    base = catalogue_with(tmp_path / "former", former) if former.is_dir() else None
    return knowledge, lint(knowledge, today=TODAY, wanted=Wanted([code], base=base))


def marked_places(knowledge):
    return {
        (f"knowledge/{path.relative_to(knowledge).as_posix()}", number)
        for path in knowledge.rglob("*.yml")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if "# here" in line
    }


def test_base_catalogue_is_clean(tmp_path):
    assert lint(catalogue_with(tmp_path, None), today=TODAY) == []


@pytest.mark.parametrize("code", CODES)
def test_bad_fixture_is_told_at_its_line(tmp_path, code):
    knowledge, found = judge(tmp_path, FIXTURES / "bad" / code, code)
    places = marked_places(knowledge)
    assert {(one.span.file, one.span.line) for one in found} == places
    assert len(places) == 1
    assert all(KEY_WORDS[code] in one.what for one in found), [one.what for one in found]
    assert all(one.severity is find_rule(code).severity for one in found)
    assert all(one.why and one.mend and one.slug == find_rule(code).slug for one in found)


@pytest.mark.parametrize("code", CODES)
def test_good_fixture_is_silent(tmp_path, code):
    _, found = judge(tmp_path, FIXTURES / "good" / code, code)
    assert found == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_is_documented_and_has_fixtures(rule):
    text = explain(rule.code)
    assert text.startswith(f"{rule.code} {rule.slug}: ")
    for part in ("Why:", "Mend:", "Bad:", "Good:"):
        assert part in text
    for side in ("good", "bad"):
        assert any((FIXTURES / side / rule.code).rglob("*.yml")), f"{side} fixture is missing"


def test_no_fixture_is_left_over():
    for side in ("good", "bad"):
        assert {path.name for path in (FIXTURES / side).iterdir()} == set(CODES)
    assert set(KEY_WORDS) == set(CODES)
    assert {path.name for path in (FIXTURES / "former").iterdir()} <= set(CODES)


def test_codes_and_slugs_are_unique():
    assert len(set(CODES)) == len(CODES)
    assert len({rule.slug for rule in RULES}) == len(RULES)


def test_there_are_at_least_fifty_five_rules():
    # The list in the maintainers' plan names 55.
    assert len(CODES) >= 55


def test_quick_collection_asks_for_no_advice():
    quick = [one.code for one in RULES if Wanted(collection="quick").takes(one)]
    assert {"CAS802", "REA704", "IDN104", "SRC406"} == set(CODES) - set(quick)


def test_rules_on_advice_are_silent_while_a_file_has_errors(tmp_path):
    knowledge = catalogue_with(tmp_path, FIXTURES / "bad" / "CAS802")
    cause = knowledge / "causes" / "battery-empty.yml"
    cause.write_text(cause.read_text().replace("group: battery", "group: batery"))
    codes = {one.code for one in lint(knowledge, today=TODAY)}
    assert "CAS802" not in codes
    assert "REF206" in codes or "SHP004" in codes


def test_what_advice_told_is_kept_until_a_byte_changes(tmp_path, monkeypatch):
    knowledge = catalogue_with(tmp_path, FIXTURES / "bad" / "CAS802").rename(tmp_path / "symptoms")
    monkeypatch.setattr(registry, "PROJECT", tmp_path)
    monkeypatch.setattr(registry, "_KEPT", tmp_path / "kept")
    first = lint(tmp_path, today=TODAY)
    assert [one.code for one in first] == ["CAS802"]
    with monkeypatch.context() as patch:
        patch.setattr(rules_advice, "assess", lambda *_: pytest.fail("advice was asked for again"))
        assert lint(tmp_path, today=TODAY) == first
    case = knowledge / "cases" / "clicks-and-full.yml"
    text = case.read_text("utf-8")
    case.write_text(text.replace("next: measure-volts", "next: null"), "utf-8")
    assert case.read_text("utf-8") != text
    assert lint(tmp_path, today=TODAY) == []


def test_an_exception_is_not_called_needless_by_a_run_that_left_its_rule_out(tmp_path):
    knowledge = catalogue_with(tmp_path, FIXTURES / "bad" / "CAS802")
    (knowledge / "lint_exceptions.yml").write_text(
        "kind: lint-exceptions\n"
        "items:\n"
        "  - code: CAS802\n"
        "    entry: knowledge/cases/clicks-and-full.yml\n"
        "    reason: Under review.\n"
        '    review_by: "2027-01-01"\n'
    )
    assert lint(knowledge, today=TODAY) == []
    assert lint(knowledge, today=TODAY, wanted=Wanted(collection="quick")) == []


def test_a_rule_that_fails_is_named_with_its_entry_and_the_others_go_on(
    tmp_path, monkeypatch, capsys
):
    def slip(check):
        raise ZeroDivisionError(check.id)

    rules = [replace(one, check=slip) if one.code == "SAF605" else one for one in RULES]
    monkeypatch.setattr(registry, "RULES", tuple(rules))
    knowledge = catalogue_with(tmp_path, FIXTURES / "bad" / "SAF601")
    with pytest.raises(RuleFailureError) as raised:
        lint(knowledge, today=TODAY)
    checks = sorted(path.stem for path in (knowledge / "checks").glob("*.yml"))
    assert sorted(raised.value.failures) == [
        f"rule SAF605 failed on check {name}: ZeroDivisionError('{name}')" for name in checks
    ]
    assert "SAF601" in {one.code for one in raised.value.problems}
    assert main(["lint", "--root", str(knowledge)]) == 2
    said = capsys.readouterr()
    assert "error SAF601" in said.out
    assert f"the tool itself failed: rule SAF605 failed on check {checks[0]}" in said.err


def slipped(tmp_path, name, old, new):
    knowledge = catalogue_with(tmp_path, None)
    path = knowledge / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return lint(knowledge, today=TODAY)


def test_an_unreadable_file_is_told_alone_and_a_tab_by_name(tmp_path):
    found = slipped(
        tmp_path, "checks/listen-while-cranking.yml", "  - {id: turns", "\t- {id: turns"
    )
    assert [(one.code, one.mend) for one in found] == [("SHP001", "use spaces")]


def test_a_decimal_comma_is_told_as_one(tmp_path):
    found = slipped(tmp_path, "cases/clicks-and-full.yml", "value: 12.7", "value: 12,7")
    (one,) = [one for one in found if "comma in a number" in one.what]
    assert one.mend == "write a decimal point, such as 12.7"


def test_a_list_for_kind_is_refused(tmp_path):
    found = slipped(tmp_path, "causes/battery-empty.yml", "kind: cause", "kind: [cause]")
    assert "`kind` holds a list of 1" in {one.what for one in found}


def test_what_a_terminal_shows_holds_no_escape(tmp_path):
    found = slipped(
        tmp_path, "causes/battery-empty.yml", "how_common: common", 'how_common: "\\e[31mx"'
    )
    assert any("\x1b" in one.what for one in found)
    assert "\x1b" not in render_text(found)
