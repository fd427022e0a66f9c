"""Command line: commands for people who write the knowledge."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from build_tools.cli.words import CLEAN, FAILED, PROBLEMS, CommandError, add_root
from build_tools.cli.writing import write_inside
from build_tools.knowledge.folders import (
    FOLDER_OF_KIND,
    KINDS,
    PROJECT,
    knowledge_folder,
)
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import (
    Severity,
    count_words,
    render_annotations,
    render_json,
    render_text,
)

if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping
    from pathlib import Path

    from build_tools.cli.words import Commands
    from build_tools.knowledge.problems import Problem

RULES_PAGE = "content/maintain/lint-rules.md"
TABLE_START, TABLE_END = "<!-- rules: start -->", "<!-- rules: end -->"
_RENDERERS = {"text": render_text, "json": render_json, "annotations": render_annotations}


def register(commands: Commands) -> None:
    """Add lint, explain, list, new and fix."""
    _register_lint(commands)
    _register_reading(commands)
    _register_writing(commands)


def _register_lint(commands: Commands) -> None:
    parser = commands.add_parser(
        "lint",
        help="judge the knowledge in symptoms/",
        description="Judge every entry. Exit code 0: no errors, 1: errors, 2: the tool failed.",
    )
    parser.add_argument(
        "--format", choices=sorted(_RENDERERS), default="text", help="how to write the problems"
    )
    parser.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="CODE",
        help="judge by this rule (repeatable)",
    )
    parser.add_argument(
        "--strict", action="store_true", help="let warnings, too, end with exit code 1"
    )
    parser.add_argument(
        "--collection",
        choices=("quick", "offline", "all"),
        default="offline",
        help="quick: files only; offline: advice too (default); all: also against --base",
    )
    parser.add_argument("--base", metavar="REV", help="compare with this git revision")
    parser.add_argument(
        "--changed",
        action="store_true",
        help="every error, but warnings only of files changed since --base (default HEAD); "
        "those warnings end with exit code 1",
    )
    add_root(parser)
    parser.set_defaults(run=_lint)


def _register_reading(commands: Commands) -> None:
    parser = commands.add_parser("explain", help="say what a rule asks, why, and how to mend")
    parser.add_argument("code", nargs="?", metavar="CODE", help="such as REF201; none lists all")
    parser.add_argument(
        "--table", action="store_true", help=f"write every rule into the table of {RULES_PAGE}"
    )
    parser.set_defaults(run=_explain)
    parser = commands.add_parser("list", help="list the entries of a kind")
    parser.add_argument("kind", metavar="KIND", help=", ".join(KINDS))
    parser.add_argument("--like", metavar="WORD", help="only those whose id or title holds this")
    parser.add_argument("--json", action="store_true", help="write a JSON list")
    add_root(parser)
    parser.set_defaults(run=_list)


def _register_writing(commands: Commands) -> None:
    parser = commands.add_parser("new", help="start an entry from its commented template")
    parser.add_argument("kind", metavar="KIND", help=", ".join(KINDS))
    parser.add_argument("id", metavar="ID", help="lower-case words joined by hyphens")
    parser.add_argument(
        "--with-case", action="store_true", help="start a worked case for the symptom as well"
    )
    parser.add_argument("--dry-run", action="store_true", help="show what would be written")
    add_root(parser)
    parser.set_defaults(run=_new)
    parser = commands.add_parser("fix", help="put keys in order and remove stray white space")
    parser.add_argument("--dry-run", action="store_true", help="name the files, change nothing")
    add_root(parser)
    parser.set_defaults(run=_fix)


def _lint(arguments: argparse.Namespace) -> int:
    from build_tools.lint import registry  # noqa: PLC0415 - rules load only when asked for

    only = {code.upper() for code in arguments.only}
    try:
        for code in sorted(only):
            registry.find_rule(code)
    except LookupError as error:
        raise CommandError(str(error.args[0])) from None
    try:
        problems = _judge(arguments, only)
    except registry.RuleFailureError as error:
        print(_RENDERERS[arguments.format](error.problems), end="")
        for failure in error.failures:
            print(f"the tool itself failed: {failure}", file=sys.stderr)
        return FAILED
    print(_RENDERERS[arguments.format](problems), end="")
    ranks = {problem.severity for problem in problems}
    strict = arguments.strict or arguments.changed
    stopping = {Severity.ERROR, Severity.WARNING} if strict else {Severity.ERROR}
    code = PROBLEMS if ranks & stopping else CLEAN
    if arguments.format == "text":
        print(f"{count_words(problems)}; exit code {code}")
    return code


def _judge(arguments: argparse.Namespace, only: set[str]) -> list[Problem]:
    """Run the rules asked for, with the knowledge as it was at the base beside them."""
    from build_tools.cli.git import changed_files, tree_at  # noqa: PLC0415
    from build_tools.lint import registry  # noqa: PLC0415 - rules load only when asked for

    root, base = _existing(arguments), arguments.base
    if arguments.collection == "all" and base is None:
        raise CommandError("--collection all compares with a revision; name it with --base")
    today = datetime.now(UTC).date()
    with tree_at(root, base) as former:
        wanted = registry.Wanted(only, arguments.collection, former)
        problems = registry.lint(root, today=today, wanted=wanted)
    if arguments.changed:
        changed = changed_files(root, base or "HEAD")
        problems = [
            one for one in problems if one.severity is Severity.ERROR or one.span.file in changed
        ]
    return problems


def _explain(arguments: argparse.Namespace) -> int:
    from build_tools.lint import registry  # noqa: PLC0415 - rules load only when asked for

    if arguments.table:
        return _write_table(registry.table())
    if arguments.code is None:
        for one in registry.RULES:
            print(f"{one.code}  {one.severity.value:<8} {one.slug}")
        return CLEAN
    try:
        print(registry.explain(arguments.code), end="")
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


def _existing(arguments: argparse.Namespace) -> Path:
    root: Path = arguments.root
    if not root.is_dir():
        raise CommandError(f'there is no folder "{root}"')
    return root


def known_kind(word: str) -> str:
    """Return the kind meant by a word: a kind, its plural or its folder.

    Raises:
        CommandError: with the kinds that are close, if there is none.

    """
    for kind, folder in FOLDER_OF_KIND.items():
        if word in {kind, f"{kind}s", folder}:
            return kind
    raise CommandError(f'no kind is called "{word}"; {did_you_mean(word, KINDS)}')


def _list(arguments: argparse.Namespace) -> int:
    like = (arguments.like or "").casefold()
    rows = [
        {"id": key, "title": entry.title}
        for key, entry in _entries(arguments).items()
        if like in key.casefold() or like in entry.title.casefold()
    ]
    if arguments.json:
        print(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        width = max((len(row["id"]) for row in rows), default=0)
        for row in rows:
            print(f"{row['id']:<{width}}  {row['title']}")
    return CLEAN


def _entries(arguments: argparse.Namespace) -> Mapping[str, Any]:
    from build_tools.knowledge.assemble import load_catalogue  # noqa: PLC0415

    catalogue, _ = load_catalogue(_existing(arguments))
    return catalogue.of_kind(known_kind(arguments.kind))


def _new(arguments: argparse.Namespace) -> int:
    from build_tools.cli.new_entry import plan_entry  # noqa: PLC0415

    kind = known_kind(arguments.kind)
    today = datetime.now(UTC).date()
    try:
        files = plan_entry(
            _existing(arguments), kind, arguments.id, today=today, with_case=arguments.with_case
        )
    except ValueError as error:
        raise CommandError(str(error)) from None
    for path, text in files:
        if arguments.dry_run:
            print(f"would write {path}\n\n{text}")
            continue
        write_inside(arguments.root, path, text)
        print(f"wrote {path}")
    if not arguments.dry_run:
        print("next: fill it in, then run: python -m build_tools lint")
    return CLEAN


def _fix(arguments: argparse.Namespace) -> int:
    from build_tools.lint.fixes import tidy_files  # noqa: PLC0415

    root = _existing(arguments)
    changed = tidy_files(knowledge_folder(root))
    for path, text in changed:
        if not arguments.dry_run:
            write_inside(root, path, text)
        print(f"{'would tidy' if arguments.dry_run else 'tidied'} {path}")
    print(f"{len(changed)} of the files {'need' if arguments.dry_run else 'needed'} tidying")
    return CLEAN
