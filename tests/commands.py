"""Commands run as a reader runs them, in a process of their own."""

import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).parents[1]


def run(*words, given=None):
    """Run a command; whatever it is given, no trace comes out."""
    ended = subprocess.run(
        [sys.executable, "-m", "build_tools", *map(str, words)],
        cwd=PROJECT, input=given, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert "Traceback" not in ended.stderr + ended.stdout
    return ended
