"""Command line: what a change or a doubt about numbers does to the advice.

Long work reports its progress on standard error, so that the result can be piped.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from build_tools.cli.words import (
    CLEAN,
    PROBLEMS,
    CommandError,
    Number,
    RefusedError,
    catalogue_at,
    command,
    existing,
    json_option,
    read_input,
    root_option,
    show,
    show_json,
)
from build_tools.cli.writing import write_inside
from build_tools.knowledge.folders import knowledge_folder

REPORTS = "_reports"
_POSITIVE = Number(0, 100, min_open=True)
_seed_option = click.option(
    "--seed", type=int, default=20261125, show_default=True, metavar="N", help="Seed."
)
_write_option = click.option(
    "--write", is_flag=True, help=f"Keep the result in symptoms/{REPORTS}."
)


def _number_option(name: str, default: int, text: str) -> Callable[..., Any]:
    return click.option(
        name, type=click.IntRange(1), default=default, show_default=True, metavar="N", help=text
    )


@command("try abs-lamps-after-the-wash", short_help="Play a worked case step by step.")
@click.argument("case_id", metavar="CASE")
@json_option
@root_option
def try_command(case_id: str, root: Path, *, as_json: bool) -> int:
    """Play a worked case: the advice before any result, then after each, with the reasons.

    CASE is an id of `list cases`. Exit code 1 when the author expects other advice.
    """
    from build_tools.cli.triage_command import CaseRefused
    from build_tools.cli.try_case import play, step_text, unmet
    from build_tools.engine.noisy_max import ContradictoryEvidence
    from build_tools.knowledge.nearest import did_you_mean

    catalogue = catalogue_at(root)
    case = catalogue.cases.get(case_id)
    if case is None:
        near = did_you_mean(case_id, tuple(catalogue.cases))
        raise CommandError(f'there is no worked case "{case_id}"; {near}')
    try:
        steps = list(play(catalogue, case))
    except (CaseRefused, ContradictoryEvidence) as error:
        raise RefusedError(f"{case.id}: {error}") from None
    other = unmet(case, steps[-1]["advice"])
    if as_json:
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


@command("effect --base HEAD", short_help="Say what a change does to other symptoms and cases.")
@click.option("--base", required=True, metavar="REV", help="Git revision, such as main.")
@json_option
@root_option
def effect_command(base: str, root: Path, *, as_json: bool) -> int:
    """Compare the advice of the working tree with that of a git revision.

    Every symptom alone and every worked case is asked.
    """
    from build_tools.cli.git import changed_files, tree_at
    from build_tools.knowledge.assemble import load_catalogue
    from build_tools.knowledge.problems import Severity
    from build_tools.reports.effect import effect, effect_text

    after = catalogue_at(root)
    with tree_at(root, base) as folder:
        before, problems = load_catalogue(folder or root)
    if any(one.severity is Severity.ERROR for one in problems):
        raise CommandError(f'the knowledge at "{base}" has errors; it gives no advice')
    edited = changed_files(root, base)
    found = effect(before, after, edited=edited, progress=_progress("asked"))
    show(found, [effect_text(found)], as_json=as_json)
    return CLEAN


@command("robust --stale", short_help="Say how far the advice rests on our estimates.")
@click.option(
    "--sigma",
    type=_POSITIVE,
    multiple=True,
    default=(0.5, 1.0),
    show_default=True,
    metavar="S",
    help="Size of the noise (repeatable).",
)
@_number_option("--draws", 40, "Draws.")
@click.option("--stale", is_flag=True, help="Only rows that are out of date.")
@click.option("--base", metavar="REV", help="With --stale: drafts that are new since then, too.")
@_seed_option
@_write_option
@json_option
@root_option
def robust_command(
    root: Path,
    *,
    stale: bool,
    base: str | None,
    write: bool,
    as_json: bool,
    **noisy: Any,  # noqa: ANN401 - values of options
) -> int:
    """Say how far the advice rests on our estimates.

    Moves every prior, leak and link by noise on its log-odds and counts how often the
    likeliest cause, the next step and the supply verdict stay.
    """
    from build_tools.cli.git import changed_files
    from build_tools.reports.robust import Noise, merged, report_text, robust_report, stale_entries
    from build_tools.reports.robust_words import summary, table
    from build_tools.site.compile_json import compile_catalogue

    catalogue = catalogue_at(root)
    former = _read_report(report_path(root, "robust.json")) if stale else None
    noise = Noise(noisy["sigma"], noisy["draws"], noisy["seed"])
    only = None
    if former is not None:
        edited = changed_files(root, base) if base is not None else ()
        only = stale_entries(catalogue, former, edited=edited)
        noise = Noise(tuple(former["sigmas"]), former["draws"], former["seed"])
    version = compile_catalogue(catalogue)["version"]
    report = robust_report(catalogue, version, noise, only=only, progress=_progress("draws"))
    if write:
        kept = report if former is None else merged(catalogue, former, report)
        _keep(root, "robust.json", report_text(kept))
    if as_json:
        show_json(report)
    elif only == []:
        print("Nothing is out of date.")
    else:
        print("\n".join([*table(report), "", *summary(report)]))
    return CLEAN


@command("value --worlds 1", short_help="Say what the advice is worth inside our own model.")
@_number_option("--worlds", 60, "Cars for each family.")
@_seed_option
@_write_option
@json_option
@root_option
def value_command(worlds: int, seed: int, root: Path, *, write: bool, as_json: bool) -> int:
    """Say what the advice is worth inside our own model.

    Draws cars from the knowledge and plays our advice against other ways of choosing: money
    and minutes until cured, by family.
    """
    from build_tools.reports.value import Draws, value_report, value_text
    from build_tools.site.compile_json import compile_catalogue

    catalogue = catalogue_at(root)
    version = compile_catalogue(catalogue)["version"]
    draws = Draws(worlds, seed)
    report = value_report(catalogue, version, draws, progress=_progress("cars"))
    if write:
        _keep(root, "value.json", json.dumps(report, indent=1) + "\n")
    show(report, [value_text(report)], as_json=as_json)
    return CLEAN


@command("base-rates", short_help="Hold our odds against published counts.")
@json_option
@root_option
def base_rates_command(root: Path, *, as_json: bool) -> int:
    """Compare our odds with published counts of breakdowns and tests.

    For each figure: theirs with sources, ours, and whether they agree within a factor of two.
    """
    from build_tools.reports.base_rates import (
        base_rates,
        base_rates_text,
        comparable,
        rows_document,
    )

    catalogue = catalogue_at(root)
    if not comparable(catalogue):
        raise CommandError("this knowledge lacks a complaint or a cause that is compared")
    rows = base_rates(catalogue)
    if as_json:
        show_json(rows_document(rows))
    else:
        print(base_rates_text(rows))
    return CLEAN


@command("learn tests/fixtures/closed-cases", short_help="Hold our odds against closed cases.")
@click.argument("folder", metavar="DIR")
@json_option
@root_option
def learn_command(folder: str, root: Path, *, as_json: bool) -> int:
    """Say how far our odds and first steps fit the closed cases in DIR, and propose changes.

    DIR holds cases closed in the list of cases and saved there without names, one a file ending
    in .yml, .yaml or .json. Changes of odds are shown as a diff with their effect; nothing is
    changed.
    """
    from build_tools.engine.from_catalogue import network_from_catalogue
    from build_tools.reports.closed_cases import closed_case
    from build_tools.reports.learn import learn_report, learn_text, proposed_diff

    if not Path(folder).is_dir():
        raise CommandError(f"{folder} is no folder")
    catalogue = catalogue_at(root)
    paths = sorted(
        one for one in Path(folder).iterdir() if one.suffix in {".yml", ".yaml", ".json"}
    )
    cases, refused = [], []
    for path in paths:
        try:
            cases.append(closed_case(catalogue, read_input(str(path))[0]))
        except (ValueError, RefusedError) as error:
            refused.append(f"{path}: {error}")
    for line in refused:
        print(line, file=sys.stderr)
    report = learn_report(catalogue, network_from_catalogue(catalogue), cases)
    report["refused"] = len(refused)
    diff = proposed_diff(existing(root), report["proposals"])
    if as_json:
        show_json({**report, "diff": diff})
    else:
        print(learn_text(report, diff))
    return PROBLEMS if refused else CLEAN


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
