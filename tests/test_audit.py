"""The audit never calls unknown clean.

The reports have the form that pip-audit 2.10 documents for `--format json`; the first is what it
wrote, with exit code 0, on a network whose index has no list of weaknesses.
"""

import subprocess
import sys
from pathlib import Path

from build_tools import audit

PROJECT = Path(__file__).parents[1]
SKIPPED = {
    "name": "ast-serialize",
    "skip_reason": "Dependency not found on PyPI and could not be audited: ast-serialize (0.13.1)",
}
SOUND = {"name": "attrs", "version": "26.1.0", "vulns": []}
WEAK = {
    "name": "flask",
    "version": "0.5",
    "vulns": [{"id": "PYSEC-2019-179", "fix_versions": ["1.0"], "aliases": [], "description": ""}],
}


def test_packages_that_could_not_be_looked_up_are_unknown():
    code, lines = audit.judge_report({"dependencies": [SKIPPED, SOUND], "fixes": []})
    assert code == audit.UNFINISHED
    assert lines[0] == "of 2 packages, 1 could not be looked up: ast-serialize"
    assert audit.judge_report({"dependencies": []})[0] == audit.UNFINISHED


def test_a_known_weakness_is_named_even_beside_unknown_ones():
    code, lines = audit.judge_report({"dependencies": [SKIPPED, WEAK, SOUND]})
    assert code == audit.PROBLEMS
    assert lines == ["flask 0.5: PYSEC-2019-179"]


def test_only_packages_looked_up_are_clean():
    assert audit.judge_report({"dependencies": [SOUND]}) == (audit.CLEAN, ["1 package looked up"])


def test_pins_are_compared_by_the_names_the_index_uses():
    pinned = "typing_extensions==4.16.0\nlunr==0.8.0\n"
    assert audit.compare_pins("typing-extensions==4.16.0\n", pinned) == []
    assert audit.compare_pins("lunr==0.7.0\nextra==1\n", pinned) == [
        "lunr 0.7.0 is installed, constraints.txt says 0.8.0",
        "extra 1 is installed and not in constraints.txt",
    ]


def test_this_environment_is_pinned_and_consistent():
    python = sys.executable
    frozen = subprocess.run(
        [python, "-m", "pip", "freeze"], check=True, capture_output=True, text=True
    ).stdout
    pinned = (PROJECT / "build_tools" / "constraints.txt").read_text(encoding="utf-8")
    assert audit.compare_pins(frozen, pinned) == []
    assert subprocess.run([python, "-m", "pip", "check"], check=False).returncode == 0
