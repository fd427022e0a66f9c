"""Command line: advice, readings, logs and search, as people and programs ask for them."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from build_tools.cli.words import CLEAN, PROBLEMS, CommandError, add_root, read_bytes, read_input

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from build_tools.cli.words import Commands
    from build_tools.knowledge.catalogue import Catalogue


def register(commands: Commands) -> None:
    """Add triage, find, reading and voltlog."""
    _register_case(commands)
    _register_find(commands)
    _register_readings(commands)


def _register_case(commands: Commands) -> None:
    parser = commands.add_parser(
        "triage",
        help="advise on a case",
        description="Advise on a case: stop-now lines, causes, the supply, next checks, parts "
        "to hold off on.",
    )
    parser.add_argument("file", metavar="FILE", help='JSON or YAML case, "-" for standard input')
    parser.add_argument("--json", action="store_true", help="write JSON (the whole advice)")
    add_root(parser)
    parser.set_defaults(run=_triage)


def _register_find(commands: Commands) -> None:
    parser = commands.add_parser("find", help="find symptoms in an owner's words")
    parser.add_argument("words", nargs="*", metavar="WORDS", help="what the car does")
    parser.add_argument("--limit", type=int, default=8, metavar="N", help="at most N (default 8)")
    parser.add_argument("--json", action="store_true", help="write a JSON list")
    add_root(parser)
    parser.set_defaults(run=_find)


def _register_readings(commands: Commands) -> None:
    parser = commands.add_parser(
        "reading",
        help="say what a reading means, or do a sum",
        description="Say what a reading on a gauge means, or work out a sum. A unit may follow "
        "its number: voltage=12.1V temperature=20degF.",
    )
    parser.add_argument("gauge", metavar="GAUGE", help="id of a gauge or a sum")
    parser.add_argument("pairs", nargs="*", metavar="KEY=VALUE", help="the reading, its conditions")
    parser.add_argument("--json", action="store_true", help="write JSON (the whole answer)")
    add_root(parser)
    parser.set_defaults(run=_reading)
    parser = commands.add_parser("voltlog", help="say what a log of battery volts shows")
    parser.add_argument("file", metavar="FILE", help='CSV file, "-" for standard input')
    for name, text in (
        ("time", "column of the time, by name or number from 1"),
        ("volts", "column of the volts"),
        ("capacity", "ampere-hours on the label"),
        ("battery-type", "flooded, efb, agm or gel"),
    ):
        parser.add_argument(f"--{name}", metavar=name.upper(), help=text)
    parser.add_argument("--json", action="store_true", help="write JSON (the whole answer)")
    parser.set_defaults(run=_voltlog)


def catalogue_at(root: Path) -> Catalogue:
    """Load the knowledge, or say that it has to be mended first.

    Raises:
        CommandError: if there is no such folder, or the knowledge has errors.

    """
    from build_tools.knowledge.assemble import load_catalogue  # noqa: PLC0415
    from build_tools.knowledge.problems import Severity  # noqa: PLC0415

    if not root.is_dir():
        raise CommandError(f'there is no folder "{root}"')
    catalogue, problems = load_catalogue(root)
    errors = sum(1 for one in problems if one.severity is Severity.ERROR)
    if errors:
        raise CommandError(
            f"the knowledge has {errors} errors; run `python -m build_tools lint` to see them"
        )
    return catalogue


def show_json(document: object) -> None:
    """Write a document as JSON."""
    print(json.dumps(document, ensure_ascii=False, indent=2))


def read_text(name: str) -> str:
    """Read a text file, "-" for standard input; bytes that are no UTF-8 become marks.

    Raises:
        CommandError: if there is no such file or it cannot be opened.

    """
    return read_bytes(name)[0].decode("utf-8-sig", errors="replace")


def _triage(arguments: argparse.Namespace) -> int:
    from build_tools.cli.triage_command import CaseRefused, triage_document  # noqa: PLC0415
    from build_tools.cli.triage_text import advice_text  # noqa: PLC0415
    from build_tools.engine.noisy_max import (  # noqa: PLC0415
        ContradictoryEvidence,
        FrontierTooWide,
    )

    document, shown = read_input(arguments.file)
    if document is None:
        return PROBLEMS
    try:
        advice = triage_document(catalogue_at(arguments.root), document.value)
    except CaseRefused as refused:
        for problem in refused.problems:
            print(f"{shown}: {problem.path}: {problem.what}; {problem.mend}", file=sys.stderr)
        return PROBLEMS
    except (ContradictoryEvidence, FrontierTooWide) as error:
        print(f"{shown}: {error}", file=sys.stderr)
        return PROBLEMS
    if arguments.json:
        show_json(advice)
    else:
        print(advice_text(advice))
    return CLEAN


def _find(arguments: argparse.Namespace) -> int:
    from build_tools.site.search import find  # noqa: PLC0415

    if arguments.limit < 1:
        raise CommandError("--limit takes a whole number from 1")
    hits = find(catalogue_at(arguments.root), " ".join(arguments.words), arguments.limit)
    if arguments.json:
        show_json(hits)
        return CLEAN
    for hit in hits:
        print(f"{hit['id']:<44} {hit['title']}")
    if not hits:
        print("nothing fits these words")
    return CLEAN


def _reading(arguments: argparse.Namespace) -> int:
    from build_tools.cli.reading_command import reading_document  # noqa: PLC0415
    from build_tools.cli.sum_command import sum_command  # noqa: PLC0415

    catalogue = catalogue_at(arguments.root)
    is_sum = arguments.gauge in catalogue.sums
    try:
        answer = (sum_command if is_sum else reading_document)(
            catalogue, arguments.gauge, arguments.pairs
        )
    except (ValueError, LookupError) as error:
        print(error.args[0], file=sys.stderr)
        return PROBLEMS
    _show_answer(answer, as_json=arguments.json)
    return PROBLEMS if answer["refused"] else CLEAN


def _voltlog(arguments: argparse.Namespace) -> int:
    from build_tools.logs.voltlog_command import voltlog_document  # noqa: PLC0415

    options = {
        "time": arguments.time,
        "volts": arguments.volts,
        "capacity": arguments.capacity,
        "battery-type": arguments.battery_type,
    }
    given = {name: value for name, value in options.items() if value is not None}
    answer = voltlog_document(read_text(arguments.file), given)
    if arguments.json:
        show_json(answer)
    elif answer["refused"]:
        print(_refusal(answer["refused"]))
    else:
        print(answer["summary"])
        for found in answer["findings"]:
            print(f"- {found['sentence']}")
        print(answer["does_not_tell"])
    return PROBLEMS if answer["refused"] else CLEAN


def _refusal(refused: dict[str, Any]) -> str:
    return " ".join(str(refused[part]) for part in ("why", "mend") if refused.get(part))


def _show_answer(answer: dict[str, Any], *, as_json: bool) -> None:
    if as_json:
        show_json(answer)
        return
    if answer["refused"]:
        print(_refusal(answer["refused"]))
        return
    for part in ("sentence", "does_not_tell", "next"):
        if answer.get(part):
            print(answer[part])
