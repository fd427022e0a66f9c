"""Command line: what every command group shares: exit codes and how a mistake is told."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from build_tools.knowledge.document_reader import read_document
from build_tools.knowledge.folders import PROJECT

if TYPE_CHECKING:
    import argparse

    from build_tools.knowledge.yaml_reader import Document

CLEAN, PROBLEMS, FAILED = 0, 1, 2

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001 - argparse names it no other way


class CommandError(Exception):
    """Say why a command cannot do what was asked; the text is shown as it stands."""


def add_root(parser: argparse.ArgumentParser) -> None:
    """Let a command be pointed at another knowledge folder."""
    parser.add_argument(
        "--root",
        type=Path,
        default=PROJECT,
        metavar="FOLDER",
        help="project or knowledge folder (default: this project)",
    )


def read_bytes(name: str) -> tuple[bytes, str]:
    """Read a file, "-" for standard input; return what it holds and the name messages show.

    Raises:
        CommandError: if there is no such file or it cannot be opened.

    """
    shown = "standard input" if name == "-" else name
    try:
        raw = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise CommandError(f"{shown}: cannot be opened ({error.strerror})") from None
    return raw, shown


def read_input(name: str) -> tuple[Document | None, str]:
    """Read a JSON or YAML file, "-" for standard input, and print its problems.

    Returns the document, None when it cannot be used, and the name messages show.

    Raises:
        CommandError: if there is no such file or it cannot be opened.

    """
    from build_tools.knowledge.problems import render_text  # noqa: PLC0415

    raw, shown = read_bytes(name)
    document, problems = read_document(raw, shown)
    if problems:
        print(render_text(problems), end="", file=sys.stderr)
        return None, shown
    return document, shown
