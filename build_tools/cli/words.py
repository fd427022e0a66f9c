"""Command line: what every command shares: exit codes, options, input, output, mistakes told."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from build_tools.knowledge.folders import FOLDER_OF_KIND, PROJECT, knowledge_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.readiness_entries import Readiness

CLEAN, PROBLEMS, FAILED = 0, 1, 2
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")
_MOST_DIGITS = 300


class CommandError(click.ClickException):
    """Say why a command cannot do what was asked; the text is shown as it stands."""

    exit_code = FAILED


class RefusedError(click.ClickException):
    """Say what cannot be used in what was given; the text is shown as it stands."""

    exit_code = PROBLEMS


class Number(click.FloatRange):
    """A number between two others; what is no number at all is outside every range."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401 - click's own
        """Read the number, or let the command say what is wanted."""
        number = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number one can measure.", param, ctx)
        return number


root_option = click.option(
    "--root",
    type=Path,
    default=PROJECT,
    show_default="this project",
    metavar="FOLDER",
    help="Project or knowledge folder.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Write JSON, all of it.")
file_argument = click.argument("file", metavar="FILE")


def command(*examples: str, **more: Any) -> Callable[[Callable[..., Any]], click.Command]:  # noqa: ANN401 - click's own
    """Make a command whose help ends with examples, each given without `python -m build_tools`.

    A "|" in an example stands before the command's own words.
    """
    lines = []
    for one in examples:
        before, pipe, words = one.rpartition("| ")
        lines.append(f"  {before}{pipe}python -m build_tools {words}")
    return click.command(epilog="\n".join(["\b", "For example:", *lines]), **more)


def read_bytes(name: str) -> tuple[bytes, str]:
    """Read a file, "-" for standard input; return what it holds and the name messages show.

    Raises:
        CommandError: if there is no such file or it cannot be opened.
    """
    shown = "standard input" if name == "-" else name
    try:
        raw = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else "this is no name of a file"
        raise CommandError(f"{shown}: cannot be opened ({why})") from None
    return raw, shown


def read_text(name: str) -> str:
    """Read a text file, "-" for standard input; bytes that are no text become marks.

    Raises:
        CommandError: if there is no such file or it cannot be opened.
    """
    raw = read_bytes(name)[0]
    return raw.decode("utf-16" if raw.startswith(_UTF_16) else "utf-8-sig", errors="replace")


def read_value(raw: str | bytes, shown: str) -> Any:  # noqa: ANN401 - whatever a document holds
    """Read a JSON or YAML document whose numbers are all finite.

    Raises:
        RefusedError: with every problem and its place.
    """
    from build_tools.knowledge.document_reader import read_document
    from build_tools.knowledge.problems import render_text

    if isinstance(raw, bytes) and raw.startswith(_UTF_16):
        raw = raw.decode("utf-16", errors="replace")
    document, problems = read_document(raw, shown)
    if problems:
        raise RefusedError(render_text(problems).rstrip("\n"))
    if document is None:
        raise RefusedError(f"{shown}: this holds nothing")
    _refuse_boundless(document.value, shown)
    return document.value


def read_input(name: str) -> tuple[Any, str]:
    """Read a JSON or YAML file, "-" for standard input; return its value and shown name.

    Raises:
        CommandError: if there is no such file or it cannot be opened.
        RefusedError: if it cannot be used, with every problem and its place.
    """
    raw, shown = read_bytes(name)
    return read_value(raw, shown), shown


def _refuse_boundless(value: object, where: str) -> None:
    """Refuse numbers no computer keeps: JSON's 1e999 reads as infinite, a long one overflows."""
    if isinstance(value, dict):
        for key, one in value.items():
            _refuse_boundless(one, f"{where}: {key}")
    elif isinstance(value, list):
        for place, one in enumerate(value, start=1):
            _refuse_boundless(one, f"{where}: entry {place}")
    elif (isinstance(value, float) and not math.isfinite(value)) or (
        isinstance(value, int) and abs(value) >= 10**_MOST_DIGITS
    ):
        raise RefusedError(f"{where}: this number is too large to be meant; write a plain number")


def show_json(document: object) -> None:
    """Write a document as JSON; a number that is not finite has no place in it."""
    print(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False))


def show(document: object, lines: Iterable[str], *, as_json: bool) -> None:
    """Write a document whole as JSON, or what it says in lines."""
    if as_json:
        show_json(document)
    else:
        for line in lines:
            print(line)


def answer_lines(answer: Callable[[Any], object]) -> int:
    """Answer each line of standard input, a JSON value, by one line of JSON, in order.

    A line that cannot be used is answered by `{"error": ...}`, and the exit code is 1 then.
    """
    code = CLEAN
    for number, line in enumerate(sys.stdin.buffer, start=1):
        if not line.strip():
            continue
        try:
            told = answer(read_value(line.decode("utf-8", "replace"), f"line {number}.json"))
        except RefusedError as refused:
            told, code = {"error": refused.message}, PROBLEMS
        print(json.dumps(told, ensure_ascii=False, allow_nan=False), flush=True)
    return code


def existing(root: Path) -> Path:
    """Return a folder that is there and holds knowledge.

    Raises:
        CommandError: if it is not, or holds none.
    """
    try:
        if not root.is_dir():
            raise CommandError(f'there is no folder "{root}"')
        folder = knowledge_folder(root)
        if not any((folder / one).is_dir() for one in FOLDER_OF_KIND.values()):
            raise CommandError(f'"{root}" holds no knowledge, such as symptoms/ or causes/')
    except (OSError, ValueError):
        raise CommandError(f'there is no folder "{root}"') from None
    return root


def catalogue_at(root: Path) -> Catalogue:
    """Load the knowledge, or say that it has to be mended first.

    Raises:
        CommandError: if there is no such folder, or the knowledge has errors.
    """
    from build_tools.knowledge.assemble import load_catalogue
    from build_tools.knowledge.problems import Severity

    catalogue, problems = load_catalogue(existing(root))
    errors = sum(1 for one in problems if one.severity is Severity.ERROR)
    if errors:
        raise CommandError(
            f"the knowledge has {errors} errors; run `python -m build_tools lint` to see them"
        )
    return catalogue


def readiness_at(root: Path) -> Readiness:
    """Load monitors and inspection rules, or say that they have to be mended first.

    Raises:
        CommandError: if there is no such folder, or the rules have errors.
    """
    from build_tools.knowledge.assemble import load_readiness

    readiness, problems = load_readiness(existing(root))
    if problems:
        raise CommandError(f"{len(problems)} problems; run `python -m build_tools lint`")
    return readiness
