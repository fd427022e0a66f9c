"""Folders made once a run and read by many tests, whichever worker they run in."""

import fcntl
import hashlib
import json
import os
import shutil
from pathlib import Path

import pytest

from build_tools.site.build_site import build

ROOT = Path(__file__).resolve().parents[1]
# What a build reads of a project, beside the date of its last commit.
PARTS = ("build_tools", "content", "site_overrides", "symptoms")
KEPT = tuple(ROOT / ".cache" / name for name in ("advice", "files", "lint"))
# A name reserved by RFC 2606: the site knows an address, as on a real host, and nobody has it.
KNOWN_ADDRESS = "https://example.org/some/place/"


def run_folder(tmp_path_factory):
    """Return the folder of this run, the same one for all its workers."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def made_once(tmp_path_factory, name, make):
    """Return the folder of this name and what `make(folder)` told of it, made by the first to ask.

    What is told must be plain data. Those who ask meanwhile wait for the first; if it fails,
    the next one tries again.
    """
    place = run_folder(tmp_path_factory) / f"shared-{name}"
    place.mkdir(exist_ok=True)
    told = place / "told.json"
    with (place / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not told.exists():
            made = json.dumps(make(place))
            told.write_text(made, "utf-8")
    return place, json.loads(told.read_text("utf-8"))


def project_copy(place):
    """Copy what a build reads of the project to a new folder, and return the folder."""
    for part in PARTS:
        shutil.copytree(ROOT / part, place / part, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "mkdocs.yml", place)
    # Advice kept by former commands, as a maintainer's folder has it: planning anew takes long.
    for folder in filter(Path.is_dir, KEPT):
        shutil.copytree(folder, place / folder.relative_to(ROOT))
    return place


def digest_of(root):
    """Return a name for everything a build of this project reads."""
    seen = hashlib.sha256()
    files = [path for part in PARTS for path in (root / part).rglob("*") if path.is_file()]
    for path in sorted([*files, root / "mkdocs.yml"]):
        if "__pycache__" in path.parts:
            continue
        seen.update(f"{path.relative_to(root)} {path.stat().st_size}\n".encode())
        seen.update(path.read_bytes())
    return seen.hexdigest()[:16]


def whole_site(tmp_path_factory):
    """Return the folder of the whole site, built as for a host whose address is known.

    Tests only read it.
    """

    def make(place):
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("SITE_URL", KNOWN_ADDRESS)
            assert build(ROOT, place / "site") == []

    return made_once(tmp_path_factory, f"site-{digest_of(ROOT)}", make)[0] / "site"
