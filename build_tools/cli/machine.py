"""Command line: commands that take a document and give JSON."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

from build_tools.cli.words import CLEAN, PROBLEMS, read_input

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from build_tools.cli.words import Commands


def register(commands: Commands) -> None:
    """Add posterior and plan."""
    for name, run, text in (
        ("posterior", _posterior, "exact posteriors of networks, as JSON"),
        ("plan", _plan, "best next check or repair of situations, as JSON"),
    ):
        parser = commands.add_parser(name, help=text, description=f"Give the {text}.")
        parser.add_argument(
            "file", metavar="FILE", help='JSON or YAML file, "-" for standard input'
        )
        parser.set_defaults(run=run)


def _posterior(arguments: argparse.Namespace) -> int:
    from build_tools.cli.machine_documents import posterior_document  # noqa: PLC0415

    return _answer(arguments.file, posterior_document)


def _plan(arguments: argparse.Namespace) -> int:
    from build_tools.cli.machine_documents import plan_document  # noqa: PLC0415

    return _answer(arguments.file, plan_document)


def _answer(name: str, answer: Callable[[object], object]) -> int:
    document, shown = read_input(name)
    if document is None:
        return PROBLEMS
    try:
        result = answer(document.value)
    except ValueError as error:
        print(f"{shown}: {error}", file=sys.stderr)
        return PROBLEMS
    print(json.dumps(result, ensure_ascii=False, indent=2))
    return CLEAN
