"""No command removes or writes what it was not given: held against bytes read before and after.

Every folder here is made for the test; the shipped project is only ever read.
"""

import fcntl
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools import clean, install
from build_tools.cli.main import main
from build_tools.site.out_folder import (
    MANIFEST,
    OutRefusedError,
    foreign,
    usable_out,
    workplace,
    write_manifest,
)

PROJECT = Path(__file__).parents[1]
BASE = PROJECT / "tests" / "fixtures" / "base"
NAMES = st.text("abcXYZ.-_ é", min_size=1, max_size=8).filter(
    lambda name: name.strip(". ") and name != MANIFEST
)
TREES = st.dictionaries(
    st.lists(NAMES, min_size=1, max_size=3).map("/".join),
    st.binary(max_size=20),
    min_size=1,
    max_size=6,
)


def everything(folder):
    """Return every path below a folder with what stands there: bytes, link, or folder."""
    found = {}
    for path in sorted(Path(folder).rglob("*")):
        name = str(path.relative_to(folder))
        if path.is_symlink():
            found[name] = ("link", str(path.readlink()))
        else:
            found[name] = ("file", path.read_bytes()) if path.is_file() else ("folder", b"")
    return found


def write_tree(folder, tree):
    for name, content in tree.items():
        path = folder / name
        if any((folder / part).is_file() for part in Path(name).parents) or path.is_dir():
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return [path for path in folder.rglob("*") if path.is_file()]


@pytest.fixture
def box(tmp_path, monkeypatch):
    """Give a folder with a home, a letter and a copy of the tiny knowledge in it."""
    for name in ("home", "elsewhere", "given"):
        (tmp_path / name).mkdir()
    (tmp_path / "elsewhere" / "letter.txt").write_text("dear")
    shutil.copytree(BASE, tmp_path / "given" / "symptoms")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path / "elsewhere")
    return tmp_path


# Building ----------------------------------------------------------------------------------


@pytest.mark.parametrize("out", ["elsewhere", ".", "..", "home", "letter.txt", "linked", "/"])
def test_build_refuses_what_is_not_its_own(box, capsys, out):
    (box / "elsewhere" / "linked").symlink_to(box / "home")
    before = everything(box)
    given_out = box / out if out in {"elsewhere", "home"} else out
    assert main(["build", "--out", str(given_out)]) == 2
    assert everything(box) == before
    assert "tool itself" not in capsys.readouterr().err


@pytest.mark.parametrize("out", ["", ".git", "symptoms/new", "content/site", "..", "../.."])
def test_build_refuses_the_project_and_its_sources(tmp_path, out):
    project = tmp_path / "around" / "project"
    (project / ".git").mkdir(parents=True)
    (project / ".git" / "HEAD").write_text("ref: refs/heads/main\n")
    with pytest.raises(OutRefusedError):
        usable_out(project / out, project)


def test_build_takes_a_new_or_an_empty_folder(tmp_path):
    project = tmp_path / "project"
    (project / "empty").mkdir(parents=True)
    for name in ("empty", "site", "a/b/site"):
        assert usable_out(project / name, project) == project / name


@given(tree=TREES)
@settings(max_examples=60, deadline=None)
def test_a_folder_with_anything_in_it_is_foreign_until_it_is_a_build(tmp_path_factory, tree):
    folder = tmp_path_factory.mktemp("tree")
    files = write_tree(folder, tree)
    assert foreign(folder)
    write_manifest(folder)
    assert foreign(folder) is None
    for path in files:
        content = path.read_bytes()
        path.write_bytes(content + b"!")
        assert "changed" in foreign(folder)
        path.unlink()
        # Nothing is lost where a file has gone already.
        assert foreign(folder) is None
        path.symlink_to("/etc")
        assert foreign(folder)
        path.unlink()
        path.write_bytes(content)
    (folder / "z").mkdir(exist_ok=True)
    if (folder / "z").is_dir():
        (folder / "z" / "own notes").write_text("mine")
        assert "own notes" in foreign(folder)


def test_a_manifest_carried_elsewhere_opens_nothing(tmp_path):
    built, own = tmp_path / "built", tmp_path / "own"
    built.mkdir()
    (built / "index.html").write_text("page")
    write_manifest(built)
    own.mkdir()
    (own / "letter.txt").write_text("dear")
    shutil.copy(built / MANIFEST, own)
    assert "letter.txt" in foreign(own)
    (tmp_path / "list").write_text((own / MANIFEST).read_text())
    (own / "letter.txt").unlink()
    (own / MANIFEST).unlink()
    (own / MANIFEST).symlink_to(tmp_path / "list")
    assert foreign(own)


def test_work_folders_of_killed_builds_are_swept_and_no_others(tmp_path):
    out = tmp_path / "site"
    dead, alive, other = (tmp_path / f".site-build-{name}" for name in ("dead", "alive", "other"))
    for place in (dead, alive, other):
        (place / "site").mkdir(parents=True)
    (dead / "in-use").touch()
    (dead / "former").mkdir()
    (dead / "former" / "index.html").write_text("the former site")
    with (alive / "in-use").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with workplace(out) as own:
            assert own.is_dir()
            assert not dead.exists()
            # It was killed between its two renames: the site it had moved aside is back.
            assert (out / "index.html").read_text() == "the former site"
        assert alive.is_dir()
        assert other.is_dir()
        assert not own.exists()


def test_a_killed_builder_lets_its_work_folder_go(tmp_path):
    """Its lock goes with the process, whatever ended it."""
    code = (
        "import os, pathlib, signal, sys\n"
        "from build_tools.site.out_folder import workplace\n"
        "with workplace(pathlib.Path(sys.argv[1])): os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    words = [sys.executable, "-c", code, str(tmp_path / "site")]
    subprocess.run(words, cwd=PROJECT, check=False, timeout=60)
    assert len(list(tmp_path.iterdir())) == 1
    with workplace(tmp_path / "site") as own:
        assert list(tmp_path.iterdir()) == [own]


def test_a_folder_that_cannot_be_written_is_told(capsys):
    # The kernel's own tree takes no folder from anybody.
    assert main(["build", "--out", "/proc/no-such-place/site"]) == 2
    assert "cannot be written" in capsys.readouterr().err


# Writing -----------------------------------------------------------------------------------

WRITING = {
    ("new", "cause", "brand-new"): "causes/brand-new.yml",
    ("fix",): "causes/starter-stuck.yml",
    ("link", "words", "--write"): "vocabulary/link_words.yml",
    ("robust", "--draws", "1", "--sigma", "1", "--write"): "_reports/robust.json",
    ("value", "--worlds", "1", "--write"): "_reports/value.json",
}


@pytest.mark.parametrize("command", WRITING, ids=lambda words: words[0])
@pytest.mark.parametrize("linked", ["file", "folder", "knowledge"])
def test_no_command_writes_through_a_link(box, capsys, command, linked):
    knowledge = box / "given" / "symptoms"
    path = knowledge / WRITING[command]
    untidy = knowledge / "causes" / "starter-stuck.yml"
    untidy.write_text(untidy.read_text() + "\n\n")
    (knowledge / "_reports").mkdir(exist_ok=True)
    if not path.exists() and command[0] != "new":
        path.write_text("kind: link_words\nitems:\n  - {number: 0, word: value}\n")
    place = {"file": path, "folder": path.parent, "knowledge": knowledge}[linked]
    target = box / "elsewhere" / "target"
    if place.exists():
        shutil.move(place, target)
    place.symlink_to(target)
    before = everything(box)
    assert main([*command, "--root", str(box / "given")]) == 2
    assert everything(box) == before
    told = capsys.readouterr().err
    assert "tool itself" not in told
    assert "link" in told or "exists already" in told


COMMANDS = [
    *WRITING,
    ("new", "symptom", "brand-new", "--with-case"),
    ("new", "cause", "../../elsewhere/x"),
    ("lint",),
    ("list", "causes"),
    ("find", "clicks"),
    ("try", "clicks-and-full"),
    ("triage", "letter.txt"),
    ("reading", "no-such-gauge", "value=12"),
    ("robust", "--draws", "1"),
]


@given(words=st.sampled_from(COMMANDS), links=st.sets(st.sampled_from(sorted(WRITING.values()))))
@settings(max_examples=30, deadline=None)
def test_no_command_writes_outside_what_it_was_given(tmp_path_factory, words, links):
    box = tmp_path_factory.mktemp("box")
    (box / "elsewhere").mkdir()
    (box / "elsewhere" / "letter.txt").write_text("dear")
    shutil.copytree(BASE, box / "given" / "symptoms")
    for name in links:
        path = box / "given" / "symptoms" / name
        path.parent.mkdir(exist_ok=True)
        target = box / "elsewhere" / path.name
        target.write_text(path.read_text() + "\n\n" if path.is_file() else "kind: link_words\n")
        path.unlink(missing_ok=True)
        path.symlink_to(target)
    before, here = everything(box / "elsewhere"), Path.cwd()
    os.chdir(box / "elsewhere")
    try:
        code = main([*words, "--root", str(box / "given")])
    finally:
        os.chdir(here)
    assert code in {0, 1, 2}
    assert everything(box / "elsewhere") == before
    assert sorted(path.name for path in box.iterdir()) == ["elsewhere", "given"]


# Cleaning and setting up -------------------------------------------------------------------


def test_clean_removes_what_was_made_and_leaves_the_rest(tmp_path, capsys):
    for name in (".venv", "site", ".mypy_cache", ".ruff_cache", "symptoms", "mine"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a").write_text("a")
    (tmp_path / ".venv" / "pyvenv.cfg").touch()
    (tmp_path / ".mypy_cache" / "CACHEDIR.TAG").touch()
    write_manifest(tmp_path / "site")
    (tmp_path / ".hypothesis").symlink_to(tmp_path / "mine")
    assert clean.main([".venv"], tmp_path) == 0
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {".ruff_cache", "symptoms", "mine", ".hypothesis"}
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "letter.txt").write_text("dear")
    before = everything(tmp_path)
    for word in ("mine", ".", "..", ".hypothesis"):
        assert clean.main([word], tmp_path) == 1
    assert everything(tmp_path) == before
    assert "no build of ours" in capsys.readouterr().err


def test_setup_empties_no_link_and_nothing_foreign(tmp_path, monkeypatch):
    own = tmp_path / "own"
    own.mkdir()
    (own / "pyvenv.cfg").touch()
    (own / "letter.txt").write_text("dear")
    (tmp_path / "linked").symlink_to(own)
    (tmp_path / "file").write_text("dear")
    monkeypatch.setenv("HOME", str(own))
    before = everything(tmp_path)
    for name in ("linked", "file", "own", "."):
        assert install.main([str(tmp_path / name)]) == 1
    assert everything(tmp_path) == before


def test_an_interrupted_setup_knows_its_folder_again(tmp_path):
    """What is there when it is stopped at once: the mark alone."""
    folder = tmp_path / "env"
    folder.mkdir()
    (folder / "pyvenv.cfg").touch()
    (folder / "bin").mkdir()
    install.refuse_foreign(folder)
    assert not install._works(folder / "bin" / "python")
