"""Command line: run every check the project has, cheap ones first."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from build_tools.cli.words import CLEAN, FAILED, PROBLEMS
from build_tools.knowledge.folders import PROJECT

if TYPE_CHECKING:
    import argparse

    from build_tools.cli.words import Commands

_STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("style", ("ruff", "check", "build_tools", "tests")),
    ("layout", ("ruff", "format", "--check", "build_tools", "tests")),
    ("types", ("mypy",)),
    ("knowledge", ("build_tools", "lint")),
    ("tests", ("pytest",)),
)


def register(commands: Commands) -> None:
    """Add all."""
    parser = commands.add_parser(
        "all",
        help="run every check: style, types, knowledge, tests",
        description="Run every check, cheap ones first; go on after one fails.",
    )
    parser.add_argument("--fast", action="store_true", help="leave the tests out")
    parser.set_defaults(run=_all)


def _all(arguments: argparse.Namespace) -> int:
    steps = [step for step in _STEPS if not (arguments.fast and step[0] == "tests")]
    failed = []
    for number, (name, words) in enumerate(steps, start=1):
        print(f"== {number}/{len(steps)} {name}", flush=True)
        ended = subprocess.run([sys.executable, "-m", *words], cwd=PROJECT, check=False)  # noqa: S603 - our own words
        if ended.returncode not in {CLEAN, PROBLEMS, FAILED}:
            print(f"{name} ended with code {ended.returncode}")
        if ended.returncode != CLEAN:
            failed.append(name)
    print("all clean" if not failed else "not clean: " + ", ".join(failed))
    return PROBLEMS if failed else CLEAN
