"""Command line: build the site, serve it while it is being written, run every check."""

import subprocess
import sys
from pathlib import Path

import click

from build_tools.cli.words import CLEAN, FAILED, PROBLEMS, CommandError, command, root_option
from build_tools.knowledge.folders import PROJECT

_HIGHEST_PORT = 65535
_STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("style", ("ruff", "check", "build_tools", "tests")),
    ("layout", ("ruff", "format", "--check", "build_tools", "tests")),
    ("types", ("mypy",)),
    ("knowledge", ("build_tools", "lint")),
    ("tests", ("pytest",)),
)


@command("build --out site", short_help="Write the site to a folder.")
@click.option(
    "--out",
    type=Path,
    required=True,
    metavar="DIR",
    help="Folder to write: new, empty, or a former build in which nothing was changed.",
)
@root_option
def build_command(out: Path, root: Path) -> int:
    """Write the site. A build with problems leaves the former site as it was."""
    from build_tools.knowledge.problems import count_words, render_text
    from build_tools.site.build_site import build
    from build_tools.site.out_folder import OutRefusedError

    _project(root)
    print(f"building into {out} ...", file=sys.stderr)
    try:
        problems = build(root, out)
    except OutRefusedError as refused:
        raise CommandError(str(refused)) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise CommandError(f"{out} cannot be written ({why})") from None
    print(render_text(problems), end="")
    if problems:
        print(f"{count_words(problems)}; {out} was left as it was", file=sys.stderr)
        return PROBLEMS
    print(f"the site is in {out}", file=sys.stderr)
    return CLEAN


@command("serve --port 8001", short_help="Build and serve the site, rebuild on change.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address.")
@click.option(
    "--port", type=click.IntRange(1, _HIGHEST_PORT), default=8000, show_default=True, help="Port."
)
@root_option
def serve_command(host: str, port: int, root: Path) -> int:
    """Build and serve the site, and rebuild it on a change, until interrupted."""
    from build_tools.site.build_site import serve

    _project(root)
    print(f"building; then open http://{host}:{port}/", file=sys.stderr)
    return PROBLEMS if serve(root, host, port) else CLEAN


def _project(root: Path) -> None:
    try:
        is_project = (root / "mkdocs.yml").is_file()
    except (OSError, ValueError):
        is_project = False
    if not is_project:
        raise CommandError(f'"{root}" holds no mkdocs.yml, so it is not the project\'s folder')


@command("all --fast", short_help="Run every check.")
@click.option("--fast", is_flag=True, help="Leave the tests out.")
def all_command(*, fast: bool) -> int:
    """Run every check, cheap ones first; go on after one fails."""
    steps = [step for step in _STEPS if not (fast and step[0] == "tests")]
    failed = []
    for number, (name, words) in enumerate(steps, start=1):
        print(f"== {number}/{len(steps)} {name}", flush=True)
        ended = subprocess.run([sys.executable, "-m", *words], cwd=PROJECT, check=False)  # noqa: S603 - our own words
        if ended.returncode not in {CLEAN, PROBLEMS, FAILED}:
            print(f"{name} ended with code {ended.returncode}")
        if ended.returncode != CLEAN:
            failed.append(name)
    print("all clean" if not failed else "not clean: " + ", ".join(failed))
    return PROBLEMS if failed else CLEAN
