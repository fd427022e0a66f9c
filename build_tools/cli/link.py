"""Command line: case links, for people who answer and for programs."""

from pathlib import Path

import click

from build_tools.cli.words import (
    CLEAN,
    RefusedError,
    catalogue_at,
    command,
    file_argument,
    json_option,
    read_input,
    read_text,
    root_option,
    show,
)
from build_tools.cli.writing import write_inside


@click.group("link", epilog="\b\nFor example:\n  python -m build_tools link words")
def link_command() -> None:
    """Write or read a case link.

    A case link holds a whole case in the part of an address after #, which browsers never send.
    """


@command("link encode symptoms/cases/abs-lamps-after-the-wash.yml", name="encode")
@file_argument
@root_option
def _encode(file: str, root: Path) -> int:
    """Write a case as the fragment of an address.

    FILE is a case as JSON or YAML, "-" for standard input; see `triage`.
    """
    from build_tools.cli.link_command import link_for
    from build_tools.cli.triage_command import CaseRefused, plain_case

    value, shown = read_input(file)
    try:
        print(link_for(catalogue_at(root), plain_case(value, shown)))
    except CaseRefused as refused:
        raise RefusedError(refused.shown(shown)) from None
    return CLEAN


@command(
    """echo '{"symptoms": ["flat-overnight"]}' | python -m build_tools link encode - """
    "| link read -",
    name="read",
)
@click.argument("link", metavar="LINK")
@json_option
@root_option
def _read(link: str, root: Path, *, as_json: bool) -> int:
    """Say what a case link holds. LINK is an address or fragment, "-" for standard input."""
    from build_tools.cli.link_command import LinkRefusedError, link_text, read_link
    from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide

    text = read_text("-") if link == "-" else link
    catalogue = catalogue_at(root)
    try:
        opened = read_link(catalogue, text)
        show(opened, [link_text(catalogue, opened)], as_json=as_json)
    except (LinkRefusedError, ContradictoryEvidence, FrontierTooWide) as refused:
        raise RefusedError(str(refused)) from None
    return CLEAN


@command("link words", name="words")
@click.option("--write", is_flag=True, help="Give them the next free numbers.")
@root_option
def _words(root: Path, *, write: bool) -> int:
    """List ids that have no number in links yet."""
    from build_tools.knowledge.folders import VOCABULARY, knowledge_folder
    from build_tools.knowledge.link_words import new_lines

    lines = new_lines(catalogue_at(root))
    if write and lines:
        path = knowledge_folder(root) / VOCABULARY / "link_words.yml"
        known = path.read_text("utf-8") if path.is_file() else "kind: link_words\nitems:\n"
        write_inside(root, path, known + lines)
    print(lines, end="")
    return CLEAN


for _one in (_encode, _read, _words):
    link_command.add_command(_one)
