"""Commands end with 0, 1 or 2 and never with a trace for a reader's mistake.

Run as a reader would run them, in a process of their own.
"""

import json
import shutil

import pytest

from tests.commands import PROJECT, run

BASE = PROJECT / "tests" / "fixtures" / "base"
VECTORS = PROJECT / "tests" / "vectors"


@pytest.fixture
def knowledge(tmp_path):
    copy = tmp_path / "symptoms"
    shutil.copytree(BASE, copy)
    return copy


def test_clean_knowledge_ends_with_0():
    ended = run("lint", "--root", BASE)
    assert (ended.returncode, ended.stdout) == (0, "no problems; exit code 0\n")


def test_problem_ends_with_1_and_has_the_agreed_form(knowledge):
    path = knowledge / "causes" / "starter-stuck.yml"
    path.write_text(path.read_text().replace("cause: battery-empty", "cause: battery-emty"))
    ended = run("lint", "--root", knowledge)
    assert ended.returncode == 1
    assert ended.stdout.startswith(
        "symptoms/causes/starter-stuck.yml:19:13: error REF201 dangling-reference\n"
        '  cause "battery-emty" does not exist\n  why:  '
    )
    assert 'mend: did you mean "battery-empty"?' in ended.stdout
    assert ended.stdout.endswith("1 error; exit code 1\n")
    rows = json.loads(run("lint", "--root", knowledge, "--format", "json").stdout)
    assert [(row["code"], row["line"]) for row in rows] == [("REF201", 19)]
    marks = run("lint", "--root", knowledge, "--format", "annotations").stdout
    assert marks.startswith("::error file=symptoms/causes/starter-stuck.yml,line=19,col=13,")
    assert run("lint", "--root", knowledge, "--only", "ref202").returncode == 0


def test_warnings_stop_only_when_strict(knowledge):
    path = knowledge / "causes" / "starter-stuck.yml"
    path.write_text(path.read_text().replace("title: Starter stuck", "title: Starter Stuck"))
    assert run("lint", "--root", knowledge).returncode == 0
    assert run("lint", "--root", knowledge, "--strict").returncode == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["lint", "--root", "/no/such/folder"], "there is no folder"),
        (["lint", "--only", "REF999"], "no rule has the code"),
        (["explain", "REF999"], "no rule has the code"),
        (["list", "couses"], 'did you mean "cause"'),
        (["new", "cause", "Not An Id"], "is not an id"),
        (["new", "cuase", "some-id"], 'or "cause"?'),
        (["posterior", "/no/such/file.json"], "cannot be opened"),
        (["plan", "."], "cannot be opened"),
        (["lnit"], '"lint"?'),
        ([], "Usage: python -m build_tools"),
        (["lint", "--bogus"], "No such option"),
        (["plan"], "Missing argument"),
    ],
)
def test_wrong_use_ends_with_2_and_says_what_to_do(words, said):
    ended = run(*words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert ended.stdout == ""


def test_explain_prints_the_rule_and_lists_all():
    assert "Mend:" in run("explain", "num306").stdout
    codes = [line.split()[0] for line in run("explain").stdout.splitlines()]
    assert codes == sorted(codes)
    assert {"SHP001", "REF201", "EXC902"} <= set(codes)


def test_list_finds_by_word():
    rows = json.loads(run("list", "causes", "--root", BASE, "--like", "starter", "--json").stdout)
    assert rows == [{"id": "starter-stuck", "title": "Starter stuck"}]
    assert "measure-volts" in run("list", "check", "--root", BASE).stdout


def test_new_writes_once_and_dry_run_writes_nothing(knowledge):
    before = sorted(knowledge.rglob("*"))
    assert run("new", "cause", "pulley-slips", "--root", knowledge, "--dry-run").returncode == 0
    assert sorted(knowledge.rglob("*")) == before
    assert run("new", "cause", "pulley-slips", "--root", knowledge).returncode == 0
    assert (knowledge / "causes" / "pulley-slips.yml").is_file()
    again = run("new", "cause", "pulley-slips", "--root", knowledge)
    assert again.returncode == 2
    assert "exists already" in again.stderr


def test_fix_tidies_and_keeps_comments(knowledge):
    path = knowledge / "causes" / "starter-stuck.yml"
    text = path.read_text()
    path.write_text(
        "id: starter-stuck\n# why it is rare\nkind: cause   \n" + text.split("\n", 2)[2] + "\n\n"
    )
    assert run("fix", "--root", knowledge, "--dry-run").stdout.startswith("would tidy ")
    assert run("fix", "--root", knowledge).returncode == 0
    assert path.read_text() == text.replace("kind: cause", "# why it is rare\nkind: cause", 1)
    assert run("lint", "--root", knowledge).returncode == 0


@pytest.mark.parametrize(
    "given", ["{", "[1, 2", "\x00", '{"a": NaN}', "a: b: c", '"text"', "[]", "{}", "3"]
)
@pytest.mark.parametrize("command", ["posterior", "plan"])
def test_garbage_to_a_machine_command_ends_with_1_or_an_empty_answer(command, given):
    ended = run(command, "-", given=given)
    assert ended.returncode in {0, 1}
    assert ended.stderr if ended.returncode else json.loads(ended.stdout) == []


def test_posterior_agrees_with_the_exact_vectors(tmp_path):
    """tests/vectors/README.md says how the vectors were made."""
    rows = json.loads((VECTORS / "posteriors.json").read_text())[:5]
    path = tmp_path / "case.json"
    path.write_text(json.dumps(rows))
    answers = json.loads(run("posterior", path).stdout)
    for row, answer in zip(rows, answers, strict=True):
        assert answer["name"] == row["name"]
        for key, value in answer["posteriors"].items():
            assert value == pytest.approx(row["posteriors"][key], abs=1e-9)
