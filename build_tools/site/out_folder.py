"""Room 5: decide whether a folder may be replaced by a build, and replace it whole.

A build takes the place of what stood there, so what stood there must be nothing or a former
build: every build leaves a list of its files with their digests, and a folder in which anything
else lies, or in which a file was changed, is somebody's work. The standard library alone is
used, so that cleaning up needs nothing installed.
"""

import contextlib
import fcntl
import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

MANIFEST = "build-manifest.txt"
_FIRST_LINE = "before-parts build: files of this folder, SHA-256 first"
_LOCK = "in-use"
# A build inside these would be read, checked or kept by the next one.
_SOURCES = ("build_tools", "content", "site_overrides", "symptoms", "tests", ".git", ".venv")


class OutRefusedError(ValueError):
    """Say why a folder is not written or removed; the text is shown as it stands."""


def usable_out(out: Path, project: Path) -> Path:
    """Return the whole path of a folder that a build may make or replace.

    Raises:
        OutRefusedError: if it is a link, a file, a mount point, the project, home or a folder
            around them, lies among the project's sources, or holds anything but a former build.
    """
    if out.is_symlink():
        raise OutRefusedError(f"{out} is a link, and links are not followed; name the folder")
    whole, project = out.resolve(), project.resolve()
    for place, name in ((project, "the project"), (Path.home().resolve(), "your home folder")):
        if whole == place or whole in place.parents:
            raise OutRefusedError(f"{out} holds {name}; name a new folder, such as site")
    if whole.is_relative_to(project) and whole.relative_to(project).parts[0] in _SOURCES:
        raise OutRefusedError(f"{out} lies among the project's own files; name a new folder")
    if os.path.ismount(whole):
        raise OutRefusedError(f"{out} is a mount point; name a folder inside it")
    if whole.exists():
        stray = foreign(whole)
        if stray:
            raise OutRefusedError(
                f"{out} {stray}, so it is left alone; name a new folder, or move this one away"
            )
    return whole


def foreign(folder: Path) -> str | None:
    """Say what about a folder is not empty and not a former build; None when nothing is."""
    if folder.is_symlink() or not folder.is_dir():
        return "is no folder"
    if not any(folder.iterdir()):
        return None
    listed = _listed(folder / MANIFEST)
    if listed is None:
        return "is not empty and holds no build of ours"
    for path in _inside(folder):
        name = path.relative_to(folder).as_posix()
        if name == MANIFEST:
            continue
        if path.is_symlink() or not path.is_file() or name not in listed:
            return f'holds "{name}", which no build of ours put there'
        if _digest(path) != listed[name]:
            return f'holds "{name}", which was changed since it was built'
    return None


def write_manifest(folder: Path) -> None:
    """Mark a finished build as ours: list its files with their digests."""
    names = {path.relative_to(folder).as_posix(): path for path in _inside(folder)}
    names.pop(MANIFEST, None)
    lines = [f"{_digest(path)} {name}" for name, path in sorted(names.items())]
    (folder / MANIFEST).write_text("\n".join([_FIRST_LINE, *lines, ""]), "utf-8")


@contextlib.contextmanager
def workplace(out: Path) -> Iterator[Path]:
    """Give a folder beside `out` to build in, and remove it; sweep those of killed builds.

    A folder is in use as long as its builder lives, which its lock tells.
    """
    out.parent.mkdir(parents=True, exist_ok=True)
    _sweep(out)
    place = Path(tempfile.mkdtemp(prefix=_prefix(out), dir=out.parent))
    try:
        with (place / _LOCK).open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


@contextlib.contextmanager
def turn(out: Path) -> Iterator[None]:
    """Wait until no other build is putting its site into the folder around `out`."""
    around = os.open(out.parent, os.O_RDONLY)
    try:
        fcntl.flock(around, fcntl.LOCK_EX)
        yield
    finally:
        os.close(around)


def swap(fresh: Path, out: Path, former: Path) -> None:
    """Put the new site in place by renaming; put the old one back if that fails."""
    had_one = out.exists()
    if had_one:
        out.rename(former)
    try:
        fresh.rename(out)
    except OSError:
        if had_one:
            former.rename(out)
        raise


def _prefix(out: Path) -> str:
    return f".{out.name}-build-"


def _sweep(out: Path) -> None:
    """Remove what killed builds left; a site one of them had moved aside comes back first."""
    for place in sorted(out.parent.glob(f"{_prefix(out)}*")):
        lock = place / _LOCK
        if place.is_symlink() or lock.is_symlink() or not lock.is_file():
            continue
        with lock.open("r+") as held:
            try:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                continue
            former = place / "former"
            if former.is_dir() and not out.exists():
                former.rename(out)
            shutil.rmtree(place, ignore_errors=True)


def _listed(manifest: Path) -> dict[str, str] | None:
    """Read the list a build left: name to digest; None if it is none of ours."""
    if manifest.is_symlink() or not manifest.is_file():
        return None
    first, *lines = manifest.read_text("utf-8", errors="replace").splitlines() or [""]
    if first != _FIRST_LINE:
        return None
    return {name: digest for digest, _, name in (line.partition(" ") for line in lines)}


def _inside(folder: Path) -> Iterator[Path]:
    """Yield everything below a folder that is no plain folder; links are named, not followed."""
    for place, folders, files in os.walk(folder):
        for name in (*files, *(one for one in folders if (Path(place) / one).is_symlink())):
            yield Path(place) / name


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
