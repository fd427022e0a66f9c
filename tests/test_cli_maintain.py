"""The maintainers' commands, run as a maintainer runs them, in a repository of their own.

The knowledge is the tiny catalogue of the lint fixtures, so what comes out can be told by hand.
"""

import json
import re
import shutil
import subprocess

import pytest
import yaml

from build_tools.cli.knowledge import RULES_PAGE, with_table
from build_tools.lint.registry import RULES, table
from tests.commands import PROJECT, run

BASE = PROJECT / "tests" / "fixtures" / "base"


def git(folder, *words):
    who = ("-c", "user.name=A Maintainer", "-c", "user.email=maintainer@example.org")
    subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def project(tmp_path):
    """Make a repository whose first commit, called before, holds the tiny catalogue."""
    shutil.copytree(BASE, tmp_path / "symptoms")
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "Begin")
    git(tmp_path, "tag", "before")
    return tmp_path


def edit(project, name, old, new):
    path = project / "symptoms" / name
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


STARTER = "causes/starter-stuck.yml"


def test_effect_names_what_changed_elsewhere(project):
    edit(project, STARTER, "how_common: rare", "how_common: common")
    ended = run("effect", "--base", "before", "--root", project)
    assert ended.returncode == 0
    assert "symptom will-not-crank" in ended.stdout
    assert "likeliest cause: battery-empty -> starter-stuck" in ended.stdout
    # Three states of the same knowledge, and as many before it unless a former run kept those.
    assert re.search(r"asked: (3 of 3|6 of 6)$", ended.stderr.strip())
    found = json.loads(run("effect", "--base", "before", "--root", project, "--json").stdout)
    assert {one["id"] for one in found["changed"]} >= {"will-not-crank"}
    assert found["before"] != found["after"]


def test_effect_of_nothing_is_nothing_and_the_working_tree_stays(project):
    ended = run("effect", "--base", "before", "--root", project)
    assert ended.stdout == "No symptom and no case gets other advice.\n"
    state = subprocess.run(
        ["git", "status", "--porcelain"], cwd=project, capture_output=True, text=True, check=True
    )
    assert state.stdout == ""


def test_a_revision_that_is_none_is_refused_in_words(project):
    ended = run("effect", "--base", "no-such-branch", "--root", project)
    assert ended.returncode == 2
    assert 'git knows no revision "no-such-branch"' in ended.stderr
    ended = run("lint", "--base=--output=/tmp/x", "--root", project)
    assert ended.returncode == 2
    assert "git knows no revision" in ended.stderr


def test_a_folder_outside_git_is_refused_in_words(tmp_path):
    shutil.copytree(BASE, tmp_path / "symptoms")
    ended = run("effect", "--base", "main", "--root", tmp_path)
    assert ended.returncode == 2
    assert "git cannot do that" in ended.stderr


def test_changed_shows_warnings_only_where_something_changed(project):
    entry = "entries/will-not-crank.yml"
    dead = "The key is turned and nothing moves. The battery is dead."
    edit(project, entry, "The key is turned and nothing moves.", dead)
    git(project, "commit", "-q", "-a", "-m", "Word it badly")
    assert "TXT506" in run("lint", "--root", project).stdout
    ended = run("lint", "--changed", "--root", project)
    assert (ended.returncode, ended.stdout) == (0, "no problems; exit code 0\n")
    ended = run("lint", "--changed", "--base", "before", "--root", project)
    assert ended.returncode == 1
    assert ended.stdout.startswith(f"symptoms/{entry}:")
    assert ended.stdout.endswith("1 warning; exit code 1\n")


def test_changed_shows_errors_wherever_they_are(project):
    edit(project, STARTER, "cause: battery-empty", "cause: battery-emty")
    git(project, "commit", "-q", "-a", "-m", "Break it")
    (project / "symptoms" / "sources" / "fresh.yml").write_text("kind: source\nid: fresh\n")
    ended = run("lint", "--changed", "--root", project, "--format", "json")
    codes = {(one["code"], one["file"]) for one in json.loads(ended.stdout)}
    assert ("REF201", f"symptoms/{STARTER}") in codes
    assert any(file == "symptoms/sources/fresh.yml" for _, file in codes)


def test_an_id_that_vanished_is_told_only_against_a_base(project):
    (project / "symptoms" / "context" / "warmth.yml").rename(
        project / "symptoms" / "context" / "heat.yml"
    )
    without = run("lint", "--only", "IDN104", "--root", project)
    assert without.returncode == 0
    ended = run("lint", "--only", "IDN104", "--base", "before", "--root", project)
    assert ended.returncode == 1
    assert 'context "warmth" was there at the base revision and is gone' in ended.stdout
    assert run("lint", "--collection", "all", "--root", project).returncode == 2


def test_annotations_have_the_form_code_hosts_read(project):
    # Workflow commands: ::level file=,line=,col=,title=::message with %, CR, LF escaped, and in
    # fields also : and , (GitHub Docs, Workflow commands for GitHub Actions; from memory).
    edit(project, STARTER, "cause: battery-empty", "cause: battery-emty")
    text = run("lint", "--format", "annotations", "--root", project).stdout
    (line,) = text.splitlines()
    command, fields, message = line[2:].split(" ", 1)[0], *line.split(" ", 1)[1].split("::", 1)
    assert command == "error"
    given = dict(pair.split("=", 1) for pair in fields.split(","))
    assert given == {
        "file": f"symptoms/{STARTER}",
        "line": "19",
        "col": "13",
        "title": "REF201 dangling-reference",
    }
    assert message.split("%0A")[0] == 'cause "battery-emty" does not exist'


def test_try_plays_a_case_step_by_step():
    ended = run("try", "clicks-and-full", "--root", BASE)
    assert ended.returncode == 0
    steps = [line for line in ended.stdout.splitlines() if line[:1].isdigit()]
    beside = " (the advice was another check)"
    assert steps == [
        "0. Before any result",
        "1. After: measure the volts, 12.7 V (meter good, warmth 20 degC)" + beside,
        "2. After: listen while cranking, it clicks",
    ]
    assert "Now, at a shop: Have the starter replaced" in ended.stdout
    assert "Next check: Listen while cranking" in ended.stdout
    raised = [line for line in ended.stdout.splitlines() if "more likely because of" in line]
    assert any("listen while cranking (it clicks)" in line for line in raised)
    assert ended.stdout.endswith("The advice is what the case expects.\n")


def test_try_says_what_differs_from_the_case(project):
    edit(project, "cases/clicks-and-full.yml", "supply: unproven", "supply: sound")
    ended = run("try", "clicks-and-full", "--root", project)
    assert ended.returncode == 1
    assert "Differs from the case: supply is unproven, expected is sound" in ended.stdout
    found = json.loads(run("try", "clicks-and-full", "--root", project, "--json").stdout)
    assert found["unmet"] == ["supply is unproven, expected is sound"]
    assert len(found["steps"]) == 3


def test_try_names_a_near_case():
    ended = run("try", "clicks-and-ful", "--root", BASE)
    assert ended.returncode == 2
    assert 'did you mean "clicks-and-full"?' in ended.stderr


def test_robust_writes_and_refreshes_its_report(project):
    path = project / "symptoms" / "_reports" / "robust.json"
    ended = run("robust", "--draws", "3", "--root", project, "--write")
    assert ended.returncode == 0
    assert "draws: 6 of 6" in ended.stderr
    assert "symptoms, noise 0.5: likeliest cause " in ended.stdout
    first = json.loads(path.read_text())
    edit(project, STARTER, "how_common: rare", "how_common: common")
    before = run("robust", "--stale", "--root", project)
    assert "will-not-crank" in before.stdout
    assert "flat-in-the-frost" not in before.stdout
    run("robust", "--stale", "--root", project, "--write")
    assert run("robust", "--stale", "--root", project).stdout == "Nothing is out of date.\n"
    second = json.loads(path.read_text())
    assert second["symptoms"]["will-not-crank"]["cause"] == "starter-stuck"
    assert second["version"] == first["version"] != second["refreshed"]
    assert second["draws"] == 3


def test_value_reports_as_json(project):
    ended = run("value", "--worlds", "4", "--root", project, "--json")
    report = json.loads(ended.stdout)
    assert report["all"]["ours"]["cars"] == 4
    assert not (project / "symptoms" / "_reports").exists()


@pytest.mark.parametrize(
    "words", [("robust", "--draws", "0"), ("robust", "--sigma", "-1"), ("value", "--worlds", "0")]
)
def test_numbers_that_make_no_sense_are_refused(words):
    ended = run(*words, "--root", BASE)
    assert ended.returncode == 2
    assert words[1] in ended.stderr


def test_a_started_symptom_is_a_valid_draft_named_by_its_id(project):
    ended = run("new", "symptom", "lights-dim-at-idle", "--with-case", "--root", project)
    assert ended.returncode == 0
    text = (project / "symptoms" / "entries" / "lights-dim-at-idle.yml").read_text()
    assert text.startswith("# yaml-language-server: $schema=../_schema/symptom.schema.json\n")
    assert yaml.safe_load(text)["title"] == "Lights dim at idle"


def test_the_table_of_rules_is_up_to_date():
    text = (PROJECT / RULES_PAGE).read_text(encoding="utf-8")
    assert text == with_table(text, table()), "run: python -m build_tools explain --table"
    assert all(f"| {rule.code} |" in text for rule in RULES)


def test_the_forms_and_the_workflow_can_be_read():
    folder = PROJECT / ".github/ISSUE_TEMPLATE"
    names = sorted(path.name for path in folder.glob("[0-9]-*.yml"))
    forms = {name: yaml.safe_load((folder / name).read_text()) for name in names}
    # Hosts list the forms by their file's name; what may hurt somebody comes first.
    assert forms[names[0]]["name"] == "Unsafe advice"
    wanted = [{"page", "words", "harm"}, {"page", "figure", "source"}, {"seen", "when", "source"}]
    for form, fields in zip(forms.values(), wanted, strict=True):
        ids = [one["id"] for one in form["body"] if "id" in one]
        assert len(ids) == len(set(ids))
        assert fields <= set(ids)
    assert yaml.safe_load((folder / "config.yml").read_text()) == {"blank_issues_enabled": False}
    flow = yaml.safe_load((PROJECT / ".github/workflows/check.yml").read_text())
    assert flow["permissions"] == {"contents": "read"}
    steps = [step for job in flow["jobs"].values() for step in job["steps"]]
    assert {step["uses"].split("@")[0] for step in steps if "uses" in step} == {"actions/checkout"}
    assert any(step.get("run") == "make test" for step in steps)
    # The problems are told whether or not the effect could be worked out, and a pipe hides none.
    names = {step.get("name"): step for step in steps}
    assert names["Problems beside the lines"]["if"] == "success() || failure()"
    assert all(step["shell"] == "bash" for step in steps if " | " in step.get("run", ""))
    # Nothing a contributor writes may become part of a shell command.
    assert all("${{" not in step.get("run", "") for step in steps)
