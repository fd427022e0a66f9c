"""Room 5: build the whole site, or preview it while files change.

The site generator runs in a process of its own, so that its logging and its caches cannot
leak into ours. A build goes to a new folder beside the old one and takes its place only
when it is whole. Nothing is printed; what went wrong comes back as problems.
"""

import contextlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.problems import Complaint, Problem, Severity, Span
from build_tools.site.out_folder import swap, turn, usable_out, workplace, write_manifest
from build_tools.site.security import examine_policy
from build_tools.site.site_links import examine_site

REFUSED = Complaint(
    code="BLD900",
    slug="build-refused",
    severity=Severity.ERROR,
    why="the site stays as it was before this build",
)
# When no commit is known: 1980-01-01, the earliest time every archive format can hold.
NO_COMMIT_EPOCH = "315532800"
_LOG_LINE = re.compile(r"^(WARNING|ERROR|CRITICAL)\s+-\s+(.*)$")
_TIME_LIMIT = 600


def build(root: Path, out: Path) -> list[Problem]:
    """Build the site of the project at `root` into the folder `out`.

    Returns the problems; when there is one, `out` is left as it was. Errors in the
    knowledge come back at their own places, and nothing else then. Equal input gives
    equal bytes: every date is that of the last commit.

    Raises:
        OutRefusedError: if `out` is not a folder that a build may make or replace.
        OSError: if the disk does not take it; `out` is as it was then, too.
    """
    out = usable_out(out, root)
    with workplace(out) as place:
        fresh = place / "site"
        problems = _generate(root.resolve(), fresh)
        if not problems:
            problems = examine_site(fresh) + examine_policy(fresh)
        if not problems:
            write_manifest(fresh)
            with turn(out):
                # Much may have happened to the folder since the build began.
                swap(fresh, usable_out(out, root), place / "former")
        return problems


def serve(root: Path, host: str, port: int) -> int:
    """Preview the site at an address until interrupted; return the generator's exit code.

    Rebuilds when an entry, a page, a template, a style or a script changes. Problems are
    told on the terminal by the generator and do not end the preview.
    """
    command = _command(root.resolve(), "serve", "--no-strict", "--dev-addr", f"{host}:{port}")
    with contextlib.suppress(KeyboardInterrupt):
        return subprocess.run(command, cwd=root, env=_environment(root), check=False).returncode  # noqa: S603 - fixed command
    return 0


def commit_epoch(root: Path) -> str:
    """Return the time of the last commit in seconds, a fixed early time without one."""
    git = shutil.which("git")
    if git is None:
        return NO_COMMIT_EPOCH
    asked = subprocess.run(  # noqa: S603 - fixed command
        [git, "-C", str(root), "log", "-1", "--format=%ct"],
        capture_output=True,
        text=True,
        check=False,
    )
    return asked.stdout.strip() or NO_COMMIT_EPOCH


def _command(root: Path, *words: str) -> list[str]:
    return [sys.executable, "-m", "mkdocs", *words, "--config-file", str(root / "mkdocs.yml")]


def _environment(root: Path) -> dict[str, str]:
    """Return the surroundings of the generator: ours, plus the one date a build may know."""
    return {**os.environ, "SOURCE_DATE_EPOCH": commit_epoch(root), "NO_MKDOCS_2_WARNING": "1"}


def _generate(root: Path, fresh: Path) -> list[Problem]:
    """Run the generator; the knowledge is judged meanwhile, and its errors end the run."""
    with subprocess.Popen(  # noqa: S603 - fixed command
        _command(root, "build", "--strict", "--site-dir", str(fresh)),
        cwd=root,
        env=_environment(root),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        try:
            errors = _errors(root)
            log = "" if errors else running.communicate(timeout=_TIME_LIMIT)[1]
        finally:
            running.kill()
    if errors or running.returncode == 0:
        return errors
    last = log.strip().splitlines()[-1:]
    return _problems_from_log(log) or [_refused(" ".join(last) or "no reason was given")]


def _errors(root: Path) -> list[Problem]:
    """Return the errors in the knowledge, each at its own place."""
    _, told = load_catalogue(root)
    return [problem for problem in told if problem.severity is Severity.ERROR]


def _problems_from_log(log: str) -> list[Problem]:
    """Turn the generator's warnings into problems; lines without a level continue one."""
    blocks: list[list[str]] = []
    for line in log.splitlines():
        found = _LOG_LINE.match(line)
        if found:
            blocks.append([found[2]])
        elif re.match(r"^(INFO|DEBUG)\s+-", line):
            blocks.append([])
        elif blocks and blocks[-1] and line.strip():
            blocks[-1].append(line.strip())
    return [_refused("\n    ".join(_without_trace(block))) for block in blocks if block]


def _without_trace(block: list[str]) -> list[str]:
    """Keep of a crash report what happened, not through which files it came."""
    starts = [at for at, line in enumerate(block) if line.startswith("Traceback (most recent")]
    return [*block[: starts[0]], block[-1]] if starts else block


def _refused(what: str) -> Problem:
    return REFUSED.at(Span("mkdocs.yml"), what, "mend what the message names, then build again")
