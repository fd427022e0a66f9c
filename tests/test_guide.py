"""Every command DEVELOPERS.md names: run here as written, or by the test that is named beside it."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from build_tools.cli.main import COMMANDS
from tests.shared_folder import project_copy

PROJECT = Path(__file__).parents[1]
HELP = "test_cli_help.py::test_every_example_runs"
LONG = "test_cli_help.py::test_every_long_example_runs"
# In the order of the guide. What another test runs is named by it: it takes the machine long, asks
# for a network, or needs more than a copy of the sources.
RUN = (
    "git clone ADDRESS",
    "git switch -c lights-dim-at-idle",
    'tools find "lights dim when I stop"',
    "tools new symptom lights-dim-at-idle --with-case",
    "tools list causes --like ground",
    "tools list checks --like clamp",
    "tools new cause alternator-pulley-stuck --for lights-dim-at-idle",
    "tools new check watch-lights-at-idle --for alternator-pulley-stuck",
    "tools fix",
    "tools explain NUM306",
    "tools triage symptoms/cases/lights-dim-at-idle-case.yml",
    "tools try lights-dim-at-idle-case",
    "git add symptoms",
    "git commit",
    "git push -u origin lights-dim-at-idle",
    "python -m build_tools --help",
)
ELSEWHERE = {
    "tools lint --changed": "scaffold/test_new_entry.py::test_started_entries_add_no_problem",
    "tools effect --base main": LONG,
    "tools robust --stale --base main --write": "test_cli_maintain.py::test_robust_writes_and_refreshes",
    "new case ID --from FILE": "test_learn.py::test_",
    "learn DIR": "test_learn.py::test_",
    "explain --table": "test_cli_maintain.py::test_the_table_of_rules_is_up_to_date",
    "measure-words": HELP,
    "link words --write": HELP,
    'find "..."': HELP,
    "understand -": HELP,
    "find --lines": "test_cli_garbage.py::test_",
    "triage --lines": "test_cli_garbage.py::test_",
    "understand --lines": HELP,
    "posterior": HELP,
    "plan": HELP,
    "find": HELP,
    "triage": HELP,
    "reading": HELP,
    "lint": HELP,
    "list": HELP,
    "build --out": "test_nothing_lost.py::test_build_takes",
    "python -m build_tools build --out site": LONG,
    "make setup": "test_cli_install.py::test_",
    "make serve": "test_cli_help.py::test_the_example_of_serve_answers",
    "make clean": "test_nothing_lost.py::test_clean_removes",
    "make audit": "test_audit.py::test_",
    "make test": "test_cli_maintain.py::test_the_forms_and_the_workflow_can_be_read",
}
# Long work of its own; each is shown to be there and to say what it would run.
LONG_MADE = (
    "make test-long", "make bench", 'make bench BENCH="--only pages"', "make types", "make pictures",
    "SITE_URL=https://example.org/cars/ make build",
)  # fmt: skip
BEGINNINGS = ("make", "git", "npm", "tools", "python", ".venv/bin/python", "SITE_URL")


def told():
    """Return the commands the guide names, in order."""
    text = re.sub(r"```.*?```", "", (PROJECT / "DEVELOPERS.md").read_text("utf-8"), flags=re.DOTALL)
    found = []
    for one in re.findall(r"`([^`\n]+)`", text):
        first = re.split(r"[ =]", one)[0]
        if first in BEGINNINGS[:6] or first == "SITE_URL" or first in COMMANDS:
            found.append(one)
    return list(dict.fromkeys(found))


def test_every_command_of_the_guide_is_run_by_a_test():
    beside = {".venv/bin/python -m build_tools", "tools", "git", "make", "npm run mend"}
    assert {one for one in told() if one not in beside} == {*RUN, *ELSEWHERE, *LONG_MADE}
    for line, test in ELSEWHERE.items():
        file, _, name = test.partition("::")
        assert f"def {name}" in (PROJECT / "tests" / file).read_text("utf-8"), line


@pytest.mark.parametrize("line", LONG_MADE)
def test_what_is_long_is_there_and_says_what_it_would_run(line):
    ended = subprocess.run(
        ["bash", "-c", line.replace("make", "make -n")],
        cwd=PROJECT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    assert "python" in ended.stdout or "npm" in ended.stdout


def test_the_path_runs_from_clone_to_push_as_written(tmp_path, monkeypatch):
    """As a newcomer: a copy with a history, cloned, changed and pushed."""
    origin = project_copy(tmp_path / "origin")
    who = {"NAME": "A Newcomer", "EMAIL": "newcomer@example.org"}
    for part, value in who.items():
        monkeypatch.setenv(f"GIT_AUTHOR_{part}", value)
        monkeypatch.setenv(f"GIT_COMMITTER_{part}", value)
    for words in (["init", "-q", "-b", "main"], ["add", "."], ["commit", "-q", "-m", "Begin"]):
        subprocess.run(["git", *words], cwd=origin, check=True, capture_output=True)
    clone = tmp_path / "clone"
    for line in RUN:
        shell = re.sub(
            r"^(tools|python -m build_tools) ", f"{sys.executable} -m build_tools ", line
        )
        shell = shell.replace("ADDRESS", f"{origin} {clone}")
        shell = shell.replace("git commit", "git commit -qm 'A new symptom'")
        ended = subprocess.run(
            ["bash", "-c", shell],
            cwd=tmp_path if "clone" in line else clone, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert ended.returncode == 0, (line, ended.stdout, ended.stderr)
    pushed = subprocess.run(
        ["git", "show", "--stat", "--format=%s", "lights-dim-at-idle"],
        cwd=origin, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert "A new symptom" in pushed
    assert {"entries", "cases", "causes", "checks"} <= set(re.findall(r"symptoms/(\w+)/", pushed))
