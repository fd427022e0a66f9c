"""Command line: commands for people who write the knowledge."""

import sys
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import click

from build_tools.cli.words import (
    CLEAN,
    FAILED,
    PROBLEMS,
    CommandError,
    RefusedError,
    catalogue_at,
    command,
    existing,
    json_option,
    read_input,
    root_option,
    show_json,
)
from build_tools.cli.writing import write_inside
from build_tools.knowledge.folders import FOLDER_OF_KIND, KINDS, PROJECT, knowledge_folder
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import (
    Problem,
    Severity,
    count_words,
    render_annotations,
    render_json,
    render_text,
)

RULES_PAGE = "content/maintain/lint-rules.md"
TABLE_START, TABLE_END = "<!-- rules: start -->", "<!-- rules: end -->"
_RENDERERS = {"text": render_text, "json": render_json, "annotations": render_annotations}
_kind_argument = click.argument("kind", metavar="KIND")
_dry_option = click.option("--dry-run", is_flag=True, help="Show it and write nothing.")


@command("lint", "lint --only NUM306 --format json", short_help="Judge the knowledge.")
@click.option(
    "--format",
    "form",
    type=click.Choice(sorted(_RENDERERS)),
    default="text",
    show_default=True,
    help="How to write the problems.",
)
@click.option("--only", multiple=True, metavar="CODE", help="Judge by this rule (repeatable).")
@click.option("--strict", is_flag=True, help="Let warnings, too, end with exit code 1.")
@click.option(
    "--collection",
    type=click.Choice(["quick", "offline", "all"]),
    default="offline",
    show_default=True,
    help="quick: files only; offline: advice too; all: also against --base.",
)
@click.option("--base", metavar="REV", help="Compare with this git revision.")
@click.option(
    "--changed",
    is_flag=True,
    help="Every error, but warnings only of files changed since --base (default HEAD); those "
    "warnings end with exit code 1. Of worked cases only changed ones are asked for advice; "
    "effect shows the others.",
)
@root_option
def lint_command(
    form: str,
    only: tuple[str, ...],
    *,
    strict: bool,
    **scope: Any,  # noqa: ANN401 - values of options
) -> int:
    """Judge every entry. Exit code 0: no errors, 1: errors, 2: the tool failed."""
    from build_tools.lint import registry

    codes = {code.upper() for code in only}
    try:
        for code in sorted(codes):
            registry.find_rule(code)
    except LookupError as error:
        raise CommandError(str(error.args[0])) from None
    try:
        problems = _judge(codes, **scope)
    except registry.RuleFailureError as error:
        print(_RENDERERS[form](error.problems), end="")
        for failure in error.failures:
            print(f"the tool itself failed: {failure}", file=sys.stderr)
        return FAILED
    print(_RENDERERS[form](problems), end="")
    ranks = {problem.severity for problem in problems}
    warned = strict or scope["changed"]
    stopping = {Severity.ERROR, Severity.WARNING} if warned else {Severity.ERROR}
    ended = PROBLEMS if ranks & stopping else CLEAN
    if form == "text":
        print(f"{count_words(problems)}; exit code {ended}")
    return ended


def _judge(
    only: set[str], root: Path, collection: str, base: str | None, *, changed: bool
) -> list[Problem]:
    """Run the rules asked for, with the knowledge as it was at the base beside them."""
    from build_tools.cli.git import changed_files, tree_at
    from build_tools.lint import registry

    if collection == "all" and base is None:
        raise CommandError("--collection all compares with a revision; name it with --base")
    today = datetime.now(UTC).date()
    with tree_at(existing(root), base) as former:
        files = changed_files(root, base or "HEAD") if changed else None
        wanted = registry.Wanted(only, collection, former, files)
        problems = registry.lint(root, today=today, wanted=wanted)
    if files is not None:
        problems = [
            one for one in problems if one.severity is Severity.ERROR or one.span.file in files
        ]
    return problems


@command("explain NUM306", "explain", short_help="Say what a rule asks, why, and how to mend.")
@click.argument("code", required=False, metavar="[CODE]")
@click.option("--table", is_flag=True, help=f"Write every rule into the table of {RULES_PAGE}.")
def explain_command(code: str | None, *, table: bool) -> int:
    """Say what a rule asks, why, and how to mend. Without CODE every rule is listed."""
    from build_tools.lint import registry

    if table:
        return _write_table(registry.table())
    if code is None:
        for one in registry.RULES:
            print(f"{one.code}  {one.severity.value:<8} {one.slug}")
        return CLEAN
    try:
        print(registry.explain(code), end="")
    except LookupError as error:
        raise CommandError(str(error.args[0])) from None
    return CLEAN


def _write_table(table: str) -> int:
    path = PROJECT / RULES_PAGE
    text = path.read_text(encoding="utf-8")
    write_inside(PROJECT, path, with_table(text, table))
    print(f"wrote the table in {RULES_PAGE}")
    return CLEAN


def with_table(text: str, table: str) -> str:
    """Put the table of rules between its two marks; the rest of the page stays."""
    before, _, rest = text.partition(TABLE_START)
    _, _, after = rest.partition(TABLE_END)
    return f"{before}{TABLE_START}\n\n{table}\n{TABLE_END}{after}"


def known_kind(word: str) -> str:
    """Return the kind meant by a word: a kind, its plural or its folder.

    Raises:
        CommandError: with the kinds that are close, if there is none.
    """
    for kind, folder in FOLDER_OF_KIND.items():
        if word in {kind, f"{kind}s", folder}:
            return kind
    raise CommandError(f'no kind is called "{word}"; {did_you_mean(word, KINDS)}')


@command(
    "list causes --like ground", "list checks --json", short_help="List the entries of a kind."
)
@_kind_argument
@click.option("--like", metavar="WORD", default="", help="Only those whose id or title holds it.")
@json_option
@root_option
def list_command(kind: str, like: str, root: Path, *, as_json: bool) -> int:
    """List the entries of a kind.

    KIND: symptoms, causes, checks, gauges, sums, contexts, cases, sources, monitors or
    inspections.
    """
    from build_tools.knowledge.assemble import load_catalogue

    known, word = known_kind(kind), like.casefold()
    catalogue, _ = load_catalogue(existing(root))
    rows = [
        {"id": key, "title": entry.title}
        for key, entry in catalogue.of_kind(known).items()
        if word in key.casefold() or word in entry.title.casefold()
    ]
    if as_json:
        show_json(rows)
    else:
        width = max((len(row["id"]) for row in rows), default=0)
        for row in rows:
            print(f"{row['id']:<{width}}  {row['title']}")
    return CLEAN


@command(
    "new symptom lights-dim-at-idle --with-case --dry-run",
    "new cause alternator-pulley-stuck --for red-charging-lamp --dry-run",
    "new check watch-lights-at-idle --for alternator-weak --dry-run",
    short_help="Start an entry from its commented template.",
)
@_kind_argument
@click.argument("entry_id", metavar="ID")
@click.option("--with-case", is_flag=True, help="Start a worked case for the symptom as well.")
@click.option("--from", "origin", metavar="FILE", help="Fill a worked case from a closed one.")
@click.option(
    "--for",
    "led_from",
    metavar="ID",
    help="What leads to it: the symptom of a new cause, the cause that a new check confirms.",
)
@_dry_option
@root_option
def new_command(
    kind: str, entry_id: str, root: Path, *, origin: str | None, led_from: str | None, **flags: bool
) -> int:
    """Start an entry from its commented template. ID is lower-case words joined by hyphens.

    A cause needs a symptom that leads to it, and a check a cause: name it with --for.
    FILE is a case closed in the list of cases and saved there without names. Of its results,
    those that no cause of its symptoms produces are left out, and named.
    """
    from build_tools.cli.new_entry import plan_entry, plan_led_entry

    known, today = known_kind(kind), datetime.now(UTC).date()
    try:
        if led_from is None:
            with_case = flags["with_case"]
            files = plan_entry(existing(root), known, entry_id, today=today, with_case=with_case)
        else:
            files = plan_led_entry(existing(root), known, entry_id, led_from, today=today)
    except ValueError as error:
        raise CommandError(str(error)) from None
    if origin is not None:
        if known != "case":
            raise CommandError("--from belongs to a case: new case ID --from FILE")
        files = [(files[0][0], _from_closed(root, origin, entry_id, today))]
    for path, text in files:
        if flags["dry_run"]:
            print(f"would write {path}\n\n{text}")
            continue
        write_inside(root, path, text)
        print(f"wrote {path}")
    if not flags["dry_run"]:
        print("next: fill it in, then run: python -m build_tools lint --changed")
    return CLEAN


def _from_closed(root: Path, origin: str, entry_id: str, today: date) -> str:
    """Return the text of a worked case made of a closed one; what it leaves out is told."""
    from build_tools.reports.closed_cases import closed_case, worked_case

    document, shown = read_input(origin)
    catalogue = catalogue_at(root)
    try:
        text, away = worked_case(catalogue, closed_case(catalogue, document), entry_id, today)
    except ValueError as error:
        raise RefusedError(f"{shown}: {error}") from None
    for name in away:
        print(f"left out: {name}, which no cause of these symptoms moves", file=sys.stderr)
    return text


@command("fix --dry-run", short_help="Put keys in order and remove stray white space.")
@_dry_option
@root_option
def fix_command(root: Path, *, dry_run: bool) -> int:
    """Put keys in order and remove stray white space; comments and values stay."""
    from build_tools.lint.fixes import tidy_files

    changed = tidy_files(knowledge_folder(existing(root)))
    for path, text in changed:
        if not dry_run:
            write_inside(root, path, text)
        print(f"{'would tidy' if dry_run else 'tidied'} {path}")
    print(f"{len(changed)} of the files {'need' if dry_run else 'needed'} tidying")
    return CLEAN
