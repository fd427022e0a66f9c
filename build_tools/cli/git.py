"""Command line: ask git for the knowledge as it was, and for what has changed since.

The only place that runs git. It reads and never writes: a former state is unpacked into a
temporary folder, the working tree stays as it is.
"""

import io
import shutil
import subprocess
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from build_tools.cli.words import CommandError
from build_tools.knowledge.folders import knowledge_folder, shown_name


@contextmanager
def tree_at(root: Path, revision: str | None) -> Iterator[Path | None]:
    """Unpack the knowledge of a revision for as long as it is needed; None without one.

    Raises:
        CommandError: if there is no git, no repository, or no such revision.
    """
    if revision is None:
        yield None
        return
    knowledge = knowledge_folder(root).resolve()
    top = Path(_git(knowledge, "rev-parse", "--show-toplevel").decode().strip())
    inside = knowledge.relative_to(top).as_posix()
    _git(top, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    packed = _git(top, "archive", "--format=tar", revision, inside)
    with tempfile.TemporaryDirectory(prefix="before-parts-") as folder:
        with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
            archive.extractall(folder, filter="data")
        yield Path(folder) / inside


def changed_files(root: Path, revision: str) -> frozenset[str]:
    """Return the knowledge files changed since a revision, new ones too, as messages show them.

    Raises:
        CommandError: if there is no git, no repository, or no such revision.
    """
    knowledge = knowledge_folder(root).resolve()
    _git(
        knowledge, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}"
    )
    known = _git(knowledge, "diff", "--name-only", "--relative", "-z", revision, "--", ".")
    fresh = _git(knowledge, "ls-files", "--others", "--exclude-standard", "-z", "--", ".")
    names = [name for name in (known + fresh).decode().split("\0") if name]
    return frozenset(shown_name(knowledge / name, knowledge) for name in names)


def _git(folder: Path, *words: str) -> bytes:
    git = shutil.which("git")
    if git is None:
        raise CommandError("git is not installed, and a revision can only be read with it")
    ended = subprocess.run([git, "-C", str(folder), *words], capture_output=True, check=False)  # noqa: S603 - our own words
    if ended.returncode == 0:
        return ended.stdout
    if words[:2] == ("rev-parse", "--verify"):
        name = words[-1].removesuffix("^{commit}")
        raise CommandError(f'git knows no revision "{name}"; `git log --oneline` lists them')
    told = ended.stderr.decode(errors="replace").strip().splitlines()
    raise CommandError(f"git cannot do that: {told[-1] if told else 'no reason given'}")
