"""What a full disk, a folder that takes nothing, two builds at once and a set-up cut short leave.

The conditions are the kernel's own: a limit on the size of files, a folder without the right to
write, processes that run at the same time and are killed. The builds are real ones, of a project
of one page.
"""

import ctypes
import os
import resource
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from build_tools import install
from build_tools.site.out_folder import MANIFEST, foreign
from build_tools.site.security import policy_tag

PROJECT = Path(__file__).parents[1]
BASE = PROJECT / "tests" / "fixtures" / "base"
SMALL = 20
# From the kernel's header linux/capability.h: writing and reading whatever the rights say.
DROP_FROM_BOUNDS, RIGHTS_OF_ROOT = 24, (1, 2)


def disk_full():
    """Let no file of this process and its children grow past a few words."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (SMALL, SMALL))


def like_anybody():
    """Let the rights of folders hold for root too; anybody else cannot drop what they lack."""
    for one in RIGHTS_OF_ROOT:
        ctypes.CDLL(None).prctl(DROP_FROM_BOUNDS, one, 0, 0, 0)


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Make a project of one page, and build its site."""
    place = tmp_path_factory.mktemp("built") / "project"
    for name in ("content", "theme"):
        (place / name).mkdir(parents=True)
    shutil.copytree(BASE, place / "symptoms")
    (place / "mkdocs.yml").write_text(
        "site_name: Tiny\ndocs_dir: content\nplugins: []\ntheme: {name: null, custom_dir: theme}\n"
    )
    (place / "content" / "index.md").write_text("# Short\n")
    page = "<body>{{ page.content }}</body></html>\n"
    (place / "theme" / "main.html").write_text(f"<html><head>{policy_tag()}</head>{page}")
    assert finished(build(place)) == (0, "")
    return place


@pytest.fixture
def project(built, tmp_path):
    """Give a copy of the project, beside the site that was built from it."""
    shutil.copytree(built.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / "project"


def build(project, **conditions):
    words = ["build", "--root", str(project), "--out", str(project.parent / "out" / "site")]
    return started(words, **conditions)


def started(words, **conditions):
    return subprocess.Popen(
        [sys.executable, "-m", "build_tools", *words],
        cwd=PROJECT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **conditions,
    )  # fmt: skip


def finished(running):
    """Wait for a command and return its code and, where it failed, what it said."""
    out, err = running.communicate(timeout=120)
    return running.returncode, (out + err if running.returncode else "")


def tree(folder):
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def refused(running):
    """Wait for a command and see that it failed in words of its own."""
    code, told = finished(running)
    assert code in {1, 2}
    assert "tool itself" not in told
    assert "Traceback" not in told
    return told


def test_a_full_disk_leaves_the_former_site_and_nothing_else(project):
    before = tree(project.parent / "out")
    (project / "content" / "index.md").write_text("# Longer than it was\n")
    assert "File too large" in refused(build(project, preexec_fn=disk_full))
    assert tree(project.parent / "out") == before


def test_a_folder_that_takes_nothing_is_told(project):
    folder = project.parent / "out"
    before = tree(folder)
    folder.chmod(0o555)
    told = refused(build(project, preexec_fn=like_anybody))
    folder.chmod(0o755)
    assert "cannot be written (Permission denied)" in told
    assert tree(folder) == before


def test_two_builds_at_once_both_end_and_leave_one_whole_site(project):
    (project / "content" / "index.md").write_text("# Changed\n")
    both = [build(project) for _ in range(2)]
    assert [finished(one) for one in both] == [(0, "")] * 2
    assert [one.name for one in (project.parent / "out").iterdir()] == ["site"]
    site = project.parent / "out" / "site"
    assert foreign(site) is None
    assert "Changed" in (site / "index.html").read_text()
    assert (site / MANIFEST).is_file()


WRITING = {
    ("fix",): "causes/starter-stuck.yml",
    ("link", "words", "--write"): "vocabulary/link_words.yml",
    ("new", "cause", "brand-new"): "causes/brand-new.yml",
}


@pytest.mark.parametrize("words", WRITING, ids=lambda words: words[0])
@pytest.mark.parametrize("condition", [disk_full, like_anybody])
def test_a_text_that_cannot_be_written_leaves_the_former_one(tmp_path, words, condition):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(BASE, knowledge)
    path = knowledge / WRITING[words]
    if path.exists():
        path.write_text(path.read_text() + "\n\n")
    before = tree(knowledge)
    path.parent.chmod(0o555 if condition is like_anybody else 0o755)
    told = refused(started([*words, "--root", str(tmp_path)], preexec_fn=condition))
    path.parent.chmod(0o755)
    assert "cannot be written" in told
    assert tree(knowledge) == before


def test_a_set_up_cut_short_is_finished_by_the_next(tmp_path):
    """Stopped by force as soon as its folder shows: the next run makes it anew, and it works."""
    folder = tmp_path / "env"
    words = [sys.executable, str(PROJECT / "build_tools" / "install.py"), str(folder)]
    cut = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, start_new_session=True)
    assert "making the environment" in cut.stdout.readline()
    while not (folder / "bin").is_dir():
        assert cut.poll() is None
    os.killpg(cut.pid, signal.SIGKILL)
    cut.communicate()
    assert not install._works(folder / "bin" / "python")
    assert install._works(Path(install._make_environment(folder)))
