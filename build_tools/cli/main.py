"""Command line: parse arguments, call one function per command, set the exit code.

Exit codes: 0 clean, 1 problems in what was given, 2 wrong use or the tool itself failed.
A command group is a module `cli_*.py` with `register(commands)`; it is made known in
GROUPS. A command sets `run`, a function that takes the parsed arguments and returns the
exit code, and imports what it needs inside that function, so that `--help` stays quick.
"""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from build_tools.cli import all_checks as cli_all
from build_tools.cli import case as cli_case
from build_tools.cli import knowledge as cli_knowledge
from build_tools.cli import link as cli_link
from build_tools.cli import machine as cli_machine
from build_tools.cli import maintain as cli_maintain
from build_tools.cli import readiness as cli_readiness
from build_tools.cli import site as cli_site
from build_tools.cli.words import FAILED, CommandError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import ModuleType

GROUPS: tuple[ModuleType, ...] = (
    cli_case,
    cli_knowledge,
    cli_link,
    cli_machine,
    cli_maintain,
    cli_readiness,
    cli_site,
    cli_all,
)


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of every command."""
    parser = argparse.ArgumentParser(
        prog="python -m build_tools",
        description="Tools for the knowledge in symptoms/ and the site made from it.",
        epilog="Exit codes: 0 clean, 1 problems, 2 wrong use or the tool failed.",
    )
    parser.add_argument(
        "--trace", action="store_true", help="show the full trace if the tool itself fails"
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for group in GROUPS:
        group.register(commands)
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; nothing a reader gives causes a trace."""
    arguments = build_parser().parse_args(words)
    try:
        code: int = arguments.run(arguments)
    except CommandError as error:
        print(f"{arguments.command}: {error}", file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except KeyboardInterrupt:
        return FAILED
    except Exception as error:
        if arguments.trace:
            raise
        print(f"{arguments.command}: the tool itself failed: {error!r}", file=sys.stderr)
        print("run it again with --trace before the command to see where", file=sys.stderr)
        return FAILED
    return code
