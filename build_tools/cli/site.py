"""Command line: build the site, and serve it while it is being written."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from build_tools.cli.words import CLEAN, PROBLEMS, CommandError
from build_tools.knowledge.folders import PROJECT

if TYPE_CHECKING:
    import argparse

    from build_tools.cli.words import Commands

_HIGHEST_PORT = 65535


def register(commands: Commands) -> None:
    """Add build and serve."""
    parser = commands.add_parser(
        "build",
        help="write the site to a folder",
        description="Write the site. A build with problems leaves the former site as it was.",
    )
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder to write")
    parser.add_argument("--root", type=Path, default=PROJECT, metavar="FOLDER", help="project")
    parser.set_defaults(run=_build)
    parser = commands.add_parser("serve", help="build and serve the site, rebuild on change")
    parser.add_argument("--host", default="127.0.0.1", help="address (default 127.0.0.1)")
    parser.add_argument("--port", type=int, default=8000, help="port (default 8000)")
    parser.add_argument("--root", type=Path, default=PROJECT, metavar="FOLDER", help="project")
    parser.set_defaults(run=_serve)


def _build(arguments: argparse.Namespace) -> int:
    from build_tools.knowledge.problems import count_words, render_text  # noqa: PLC0415
    from build_tools.site.build_site import build  # noqa: PLC0415
    from build_tools.site.out_folder import OutRefusedError  # noqa: PLC0415

    _project(arguments.root)
    print(f"building into {arguments.out} ...", file=sys.stderr)
    try:
        problems = build(arguments.root, arguments.out)
    except OutRefusedError as refused:
        raise CommandError(str(refused)) from None
    except OSError as error:
        raise CommandError(f"{arguments.out} cannot be written ({error.strerror})") from None
    print(render_text(problems), end="")
    if problems:
        print(f"{count_words(problems)}; {arguments.out} was left as it was", file=sys.stderr)
        return PROBLEMS
    print(f"the site is in {arguments.out}", file=sys.stderr)
    return CLEAN


def _serve(arguments: argparse.Namespace) -> int:
    from build_tools.site.build_site import serve  # noqa: PLC0415

    _project(arguments.root)
    if not 1 <= arguments.port <= _HIGHEST_PORT:
        raise CommandError(f"--port takes a number from 1 to {_HIGHEST_PORT}")
    print(f"building; then open http://{arguments.host}:{arguments.port}/", file=sys.stderr)
    return PROBLEMS if serve(arguments.root, arguments.host, arguments.port) else CLEAN


def _project(root: Path) -> None:
    if not (root / "mkdocs.yml").is_file():
        raise CommandError(f'"{root}" holds no mkdocs.yml, so it is not the project\'s folder')
