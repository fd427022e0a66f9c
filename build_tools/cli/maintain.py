"""Command line: what a change or a doubt about numbers does to the advice.

Long work reports its progress on standard error, so that the result can be piped.
"""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from build_tools.cli.case import catalogue_at, show_json
from build_tools.cli.words import CLEAN, PROBLEMS, CommandError, add_root
from build_tools.cli.writing import write_inside
from build_tools.knowledge.folders import knowledge_folder

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable
    from pathlib import Path

    from build_tools.cli.words import Commands

REPORTS = "_reports"


def register(commands: Commands) -> None:
    """Add try, effect, robust and value."""
    _register_comparing(commands)
    _register_measuring(commands)


def _register_comparing(commands: Commands) -> None:
    parser = commands.add_parser(
        "try",
        help="play a worked case through the reasoning, step by step",
        description="Play a worked case: the advice before any result, then after each, with "
        "the reasons in words. Exit code 1 when the author expects other advice.",
    )
    parser.add_argument("case", metavar="CASE", help="id of a worked case")
    parser.add_argument("--json", action="store_true", help="write JSON (every step)")
    add_root(parser)
    parser.set_defaults(run=_try)
    parser = commands.add_parser(
        "effect",
        help="say what the working tree changes for other symptoms and cases",
        description="Compare the advice of the working tree with that of a git revision, for "
        "every symptom alone and every worked case.",
    )
    parser.add_argument("--base", required=True, metavar="REV", help="git revision, such as main")
    parser.add_argument("--json", action="store_true", help="write JSON")
    add_root(parser)
    parser.set_defaults(run=_effect)


def _register_measuring(commands: Commands) -> None:
    parser = commands.add_parser(
        "robust",
        help="say how far the advice rests on our estimates",
        description="Move every prior, leak and link by noise on its log-odds and count how "
        "often the likeliest cause, the next step and the supply verdict stay.",
    )
    parser.add_argument(
        "--sigma", type=float, nargs="+", default=[0.5, 1.0], metavar="S", help="size of the noise"
    )
    parser.add_argument("--draws", type=int, default=40, metavar="N", help="draws (default 40)")
    parser.add_argument("--stale", action="store_true", help="only rows that are out of date")
    _add_measured(parser, "robust.json")
    parser.set_defaults(run=_robust)
    parser = commands.add_parser(
        "value",
        help="say what the advice is worth inside our own model",
        description="Draw cars from the knowledge and play our advice against other ways of "
        "choosing: money and minutes until cured, by family.",
    )
    parser.add_argument(
        "--worlds", type=int, default=60, metavar="N", help="cars for each family (default 60)"
    )
    _add_measured(parser, "value.json")
    parser.set_defaults(run=_value)


def _add_measured(parser: argparse.ArgumentParser, name: str) -> None:
    parser.add_argument("--seed", type=int, default=20261125, metavar="N", help="seed")
    parser.add_argument("--json", action="store_true", help="write JSON")
    parser.add_argument(
        "--write", action="store_true", help=f"keep the result in symptoms/{REPORTS}/{name}"
    )
    add_root(parser)


def _try(arguments: argparse.Namespace) -> int:
    from build_tools.cli.triage_command import CaseRefused  # noqa: PLC0415
    from build_tools.cli.try_case import play, step_text, unmet  # noqa: PLC0415
    from build_tools.engine.noisy_max import ContradictoryEvidence  # noqa: PLC0415
    from build_tools.knowledge.nearest import did_you_mean  # noqa: PLC0415

    catalogue = catalogue_at(arguments.root)
    case = catalogue.cases.get(arguments.case)
    if case is None:
        near = did_you_mean(arguments.case, tuple(catalogue.cases))
        raise CommandError(f'there is no worked case "{arguments.case}"; {near}')
    try:
        steps = list(play(catalogue, case))
    except (CaseRefused, ContradictoryEvidence) as error:
        print(f"{case.id}: {error}", file=sys.stderr)
        return PROBLEMS
    other = unmet(case, steps[-1]["advice"])
    if arguments.json:
        show_json({"case": case.id, "steps": steps, "unmet": other})
        return PROBLEMS if other else CLEAN
    print(f"{case.title}\n{case.story.strip()}\n")
    for number, step in enumerate(steps):
        print(step_text(catalogue, number, step) + "\n")
    for line in other:
        print(f"Differs from the case: {line}")
    if not other:
        print("The advice is what the case expects.")
    return PROBLEMS if other else CLEAN


def _effect(arguments: argparse.Namespace) -> int:
    from build_tools.cli.git import changed_files, tree_at  # noqa: PLC0415
    from build_tools.knowledge.assemble import load_catalogue  # noqa: PLC0415
    from build_tools.knowledge.problems import Severity  # noqa: PLC0415
    from build_tools.reports.effect import effect, effect_text  # noqa: PLC0415

    after = catalogue_at(arguments.root)
    with tree_at(arguments.root, arguments.base) as folder:
        before, problems = load_catalogue(folder or arguments.root)
    if any(one.severity is Severity.ERROR for one in problems):
        raise CommandError(f'the knowledge at "{arguments.base}" has errors; it gives no advice')
    edited = changed_files(arguments.root, arguments.base)
    found = effect(before, after, edited=edited, progress=_progress("asked"))
    if arguments.json:
        show_json(found)
    else:
        print(effect_text(found))
    return CLEAN


def _robust(arguments: argparse.Namespace) -> int:
    from build_tools.reports.robust import (  # noqa: PLC0415
        Noise,
        merged,
        report_text,
        robust_report,
        stale_entries,
    )
    from build_tools.reports.robust_words import summary, table  # noqa: PLC0415
    from build_tools.site.compile_json import compile_catalogue  # noqa: PLC0415

    _at_least_one("--draws", arguments.draws)
    if any(sigma <= 0 for sigma in arguments.sigma):
        raise CommandError("--sigma takes numbers above 0, such as 0.5 1.0")
    catalogue = catalogue_at(arguments.root)
    path = report_path(arguments.root, "robust.json")
    former = _read_report(path) if arguments.stale else None
    noise = Noise(tuple(arguments.sigma), arguments.draws, arguments.seed)
    only = None
    if former is not None:
        only = stale_entries(catalogue, former)
        noise = Noise(tuple(former["sigmas"]), former["draws"], former["seed"])
    version = compile_catalogue(catalogue)["version"]
    report = robust_report(catalogue, version, noise, only=only, progress=_progress("draws"))
    if former is not None:
        report = merged(catalogue, former, report)
    if arguments.write:
        _keep(arguments.root, "robust.json", report_text(report))
    if arguments.json:
        show_json(report)
    else:
        print("\n".join([*table(report), "", *summary(report)]))
    return CLEAN


def _value(arguments: argparse.Namespace) -> int:
    from build_tools.reports.value import Draws, value_report, value_text  # noqa: PLC0415
    from build_tools.site.compile_json import compile_catalogue  # noqa: PLC0415

    _at_least_one("--worlds", arguments.worlds)
    catalogue = catalogue_at(arguments.root)
    version = compile_catalogue(catalogue)["version"]
    draws = Draws(arguments.worlds, arguments.seed)
    report = value_report(catalogue, version, draws, progress=_progress("cars"))
    if arguments.write:
        _keep(arguments.root, "value.json", json.dumps(report, indent=1) + "\n")
    if arguments.json:
        show_json(report)
    else:
        print(value_text(report))
    return CLEAN


def report_path(root: Path, name: str) -> Path:
    """Return where a report is kept."""
    return knowledge_folder(root) / REPORTS / name


def _read_report(path: Path) -> dict[str, Any]:
    try:
        report: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise CommandError(f"{path} cannot be read; write it first, without --stale") from None
    return report


def _keep(root: Path, name: str, text: str) -> None:
    path = report_path(root, name)
    write_inside(root, path, text)
    print(f"wrote {path}", file=sys.stderr)


def _at_least_one(name: str, number: int) -> None:
    if number < 1:
        raise CommandError(f"{name} takes a whole number from 1")


def _progress(name: str) -> Callable[[int, int], None]:
    """Return what tells on standard error how far the work has come, in tenths."""
    told = -1

    def tell(done: int, total: int) -> None:
        nonlocal told
        tenth = 10 * done // max(1, total)
        if tenth != told:
            told = tenth
            print(f"{name}: {done} of {total}", file=sys.stderr, flush=True)

    return tell
