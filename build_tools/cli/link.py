"""Command line: case links, for people who answer and for programs."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from build_tools.cli.case import catalogue_at, read_text, show_json
from build_tools.cli.words import CLEAN, PROBLEMS, add_root, read_input
from build_tools.cli.writing import write_inside

if TYPE_CHECKING:
    import argparse

    from build_tools.cli.words import Commands


def register(commands: Commands) -> None:
    """Add link encode, link read and link words."""
    parser = commands.add_parser(
        "link",
        help="write or read a case link",
        description="A case link holds a whole case in the part of an address after #, which "
        "browsers never send.",
    )
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    encode = actions.add_parser("encode", help="write a case as the fragment of an address")
    encode.add_argument("file", metavar="FILE", help='JSON or YAML case, "-" for standard input')
    add_root(encode)
    encode.set_defaults(run=_encode)
    opened = actions.add_parser("read", help="say what a case link holds")
    opened.add_argument("link", metavar="LINK", help='address or fragment, "-" for standard input')
    opened.add_argument("--json", action="store_true", help="write JSON (the case and its changes)")
    add_root(opened)
    opened.set_defaults(run=_read)
    words = actions.add_parser("words", help="list ids that have no number in links yet")
    words.add_argument("--write", action="store_true", help="give them the next free numbers")
    add_root(words)
    words.set_defaults(run=_words)


def _encode(arguments: argparse.Namespace) -> int:
    from build_tools.cli.link_command import link_for  # noqa: PLC0415
    from build_tools.cli.triage_command import CaseRefused  # noqa: PLC0415

    document, shown = read_input(arguments.file)
    if document is None:
        return PROBLEMS
    try:
        print(link_for(catalogue_at(arguments.root), document.value))
    except CaseRefused as refused:
        for problem in refused.problems:
            print(f"{shown}: {problem.path}: {problem.what}; {problem.mend}", file=sys.stderr)
        return PROBLEMS
    return CLEAN


def _read(arguments: argparse.Namespace) -> int:
    from build_tools.cli.link_command import link_text, read_link  # noqa: PLC0415
    from build_tools.engine.noisy_max import (  # noqa: PLC0415
        ContradictoryEvidence,
        FrontierTooWide,
    )
    from build_tools.logs.case_link import LinkRefused  # noqa: PLC0415

    text = read_text("-") if arguments.link == "-" else arguments.link
    catalogue = catalogue_at(arguments.root)
    try:
        opened = read_link(catalogue, text)
        if arguments.json:
            show_json(opened)
        else:
            print(link_text(catalogue, opened))
    except (LinkRefused, ContradictoryEvidence, FrontierTooWide) as refused:
        print(refused, file=sys.stderr)
        return PROBLEMS
    return CLEAN


def _words(arguments: argparse.Namespace) -> int:
    from build_tools.knowledge.folders import VOCABULARY, knowledge_folder  # noqa: PLC0415
    from build_tools.knowledge.link_words import new_lines  # noqa: PLC0415

    lines = new_lines(catalogue_at(arguments.root))
    if arguments.write and lines:
        path = knowledge_folder(arguments.root) / VOCABULARY / "link_words.yml"
        write_inside(arguments.root, path, path.read_text(encoding="utf-8") + lines)
    print(lines, end="")
    return CLEAN
