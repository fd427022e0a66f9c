"""Command line: one group of commands, each loaded only when it is asked for.

Exit codes: 0 clean, 1 problems in what was given, 2 wrong use or the tool itself failed.
A command is a function named in COMMANDS; it returns the exit code, and imports what it needs
inside, so that `--help` and every answer stay quick.
"""

import importlib
import os
import re
import sys
from collections.abc import Sequence
from typing import IO, Any

import click

from build_tools.cli.words import CLEAN, FAILED

# Name: module, and what the list of commands says; the function carries the command's name.
COMMANDS: dict[str, tuple[str, str]] = {
    "find": ("case", "Find symptoms in an owner's words."),
    "triage": ("case", "Advise on a case."),
    "reading": ("case", "Say what a reading means, or do a sum."),
    "voltlog": ("case", "Say what a log of battery volts shows."),
    "link": ("link", "Write or read a case link."),
    "understand": ("answer", "Read what somebody wrote about their car."),
    "reply": ("answer", "Write the reply to somebody's case."),
    "readout": ("readiness", "Say what a code reader shows about the monitors."),
    "may-it-go": ("readiness", "Apply a place's inspection rule to a readout."),
    "why": ("readiness", "Rank what may hold the incomplete monitors."),
    "driveplan": ("readiness", "Plan the drives for incomplete monitors."),
    "triplog": ("readiness", "Say what a log of a drive held."),
    "readiness": ("readiness", "Decode PID 01 and judge it, in short form."),
    "list": ("knowledge", "List the entries of a kind."),
    "lint": ("knowledge", "Judge the knowledge in symptoms/."),
    "explain": ("knowledge", "Say what a rule asks, why, and how to mend."),
    "new": ("knowledge", "Start an entry from its commented template."),
    "fix": ("knowledge", "Put keys in order and remove stray white space."),
    "try": ("maintain", "Play a worked case through the reasoning, step by step."),
    "effect": ("maintain", "Say what the working tree changes for other symptoms and cases."),
    "robust": ("maintain", "Say how far the advice rests on our estimates."),
    "value": ("maintain", "Say what the advice is worth inside our own model."),
    "base-rates": ("maintain", "Hold our odds against published counts."),
    "learn": ("maintain", "Hold our odds against closed cases."),
    "measure-words": ("prose", "Say how easy each page is to read."),
    "posterior": ("machine", "Exact posteriors of networks, as JSON."),
    "plan": ("machine", "Best next check or repair of situations, as JSON."),
    "build": ("site", "Write the site to a folder."),
    "serve": ("site", "Build and serve the site, rebuild on change."),
    "all": ("site", "Run every check: style, types, knowledge, tests."),
}
_NAME = "python -m build_tools"
# Signs that move a terminal's cursor, ring, or turn the direction of reading.
_UNSAFE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class _Group(click.Group):
    """Load the module of a command when the command is asked for, not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's own
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's own
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"build_tools.cli.{COMMANDS[cmd_name][0]}")
        found: click.Command = getattr(module, f"{cmd_name.replace('-', '_')}_command")
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's own
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS:
            from build_tools.knowledge.nearest import did_you_mean

            ctx.fail(f'no command is called "{args[0]}"; {did_you_mean(args[0], COMMANDS)}')
        return super().resolve_command(ctx, args)


@click.group(
    cls=_Group,
    no_args_is_help=True,
    epilog="Exit codes: 0 clean, 1 problems, 2 wrong use or the tool failed.",
)
@click.option("--trace", is_flag=True, help="Show the full trace if the tool itself fails.")
def group(*, trace: bool) -> None:
    """Tools for the knowledge in symptoms/ and the site made from it."""


class _Plain:
    """A stream to a terminal that shows unsafe signs by their numbers instead of obeying them."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        safe = _UNSAFE.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text)
        return self._stream.write(safe)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the stream has
        return getattr(self._stream, name)


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; nothing a reader gives causes a trace."""
    given = list(sys.argv[1:] if words is None else words)
    before = sys.stdout, sys.stderr
    for stream in before:
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    sys.stdout, sys.stderr = _Plain(before[0]), _Plain(before[1])
    try:
        return _run(given)
    finally:
        sys.stdout, sys.stderr = before


def _run(given: list[str]) -> int:
    try:
        code: int | None = group.main(
            given, prog_name="python -m build_tools", standalone_mode=False
        )
    except click.UsageError as error:
        error.show()
        return FAILED
    except click.ClickException as error:
        print(error.message, file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except (KeyboardInterrupt, click.Abort):
        return FAILED
    except Exception as error:
        from build_tools.browser.embedded import NotInstalledError

        if isinstance(error, NotInstalledError):
            print(error, file=sys.stderr)
            return FAILED
        if "--trace" in given:
            raise
        print(f"the tool itself failed: {error!r}", file=sys.stderr)
        print("run it again with --trace before the command to see where", file=sys.stderr)
        return FAILED
    return CLEAN if code is None else code
