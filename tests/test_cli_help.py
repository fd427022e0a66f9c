"""Every help text shows an example, and every example runs as it stands."""

import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import click
import pytest

from build_tools.cli.main import COMMANDS, group, main
from tests.shared_folder import project_copy

PROJECT = Path(__file__).parents[1]
# These take the whole project through a build, a server or every check.
WHOLE = ("build", "serve", "all", "effect", "robust", "value")


def pages():
    """Yield the words of every command, those inside `link` too."""
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        yield (name,)
        if isinstance(command, click.Group):
            yield from ((name, inner) for inner in command.commands)


def help_of(words, capsys):
    assert main([*words, "--help"]) == 0
    return capsys.readouterr().out


def examples_in(text):
    return re.findall(
        r"^    (\S.*python -m build_tools .*|python -m build_tools .*)$", text, re.MULTILINE
    )


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """Copy the project into a repository of its own, so that examples may write."""
    place = project_copy(tmp_path_factory.mktemp("copy") / "project")
    ignore = shutil.ignore_patterns("__pycache__", "node_modules")
    shutil.copytree(PROJECT / "tests", place / "tests", ignore=ignore)
    shutil.copy(PROJECT / "pyproject.toml", place)
    who = ("-c", "user.name=A Maintainer", "-c", "user.email=maintainer@example.org")
    for words in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "Begin"]):
        subprocess.run(["git", *who, *words], cwd=place, check=True, capture_output=True)
    return place


# Loaded by Python itself before a command: notes every path the process writes, moves or removes.
LISTEN = """
import os, sys
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = {"os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.symlink", "os.link", "os.truncate"}
notes = os.open(os.environ["NOTES"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
def heard(event, given):
    if event == "open":
        paths = given[:1] if given[2] & WRITES else ()
    else:
        paths = given[:2] if event in CHANGES | {"shutil.rmtree", "shutil.move"} else ()
    for path in paths:
        if isinstance(path, (str, bytes)):
            os.write(notes, os.fsencode(os.path.abspath(os.fsdecode(path))) + b"\\n")
sys.addaudithook(heard)
"""


def run_example(line, project):
    """Run an example; return how it ended and what it wrote, all of it inside the project's box."""
    shell = line.replace("python -m", f"{shlex.quote(sys.executable)} -m")
    box = project.parent
    notes = box / "notes"
    for name in ("home", "temporary", "listen"):
        (box / name).mkdir(exist_ok=True)
    (box / "listen" / "sitecustomize.py").write_text(LISTEN)
    notes.write_text("")
    own = {
        "HOME": str(box / "home"), "TMPDIR": str(box / "temporary"), "NOTES": str(notes),
        "PYTHONPATH": str(box / "listen"), "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    ended = subprocess.run(
        ["bash", "-o", "pipefail", "-c", shell],
        cwd=project, capture_output=True, text=True, timeout=580, check=False,
        env={**os.environ, **own},
    )  # fmt: skip
    written = {Path(one) for one in notes.read_text().splitlines()}
    assert [
        one for one in written if not one.is_relative_to(box) and one != Path("/dev/null")
    ] == []
    # What was needed for a while is gone, and nothing was left at home.
    assert [*(box / "temporary").iterdir(), *(box / "home").iterdir()] == []
    return ended, written


def test_help_at_the_top_names_every_command(capsys):
    text = help_of((), capsys)
    assert "Usage: python -m build_tools" in text
    assert all(re.search(rf"^  {name} ", text, re.MULTILINE) for name in COMMANDS)


@pytest.mark.parametrize("words", list(pages()), ids=" ".join)
def test_every_help_shows_an_example_of_itself(words, capsys):
    found = examples_in(help_of(words, capsys))
    assert found
    assert all(re.search(rf"build_tools {words[0]}( |$)", line) for line in found)


@pytest.mark.parametrize("words", [one for one in pages() if one[0] not in WHOLE], ids=" ".join)
def test_every_example_runs(words, capsys, project):
    for line in examples_in(help_of(words, capsys)):
        ended, written = run_example(line, project)
        assert (ended.returncode, line) == (0, line), ended.stderr
        # None of these was given anything to write; what was read of the knowledge is kept.
        inside = {one.relative_to(project).parts[0] for one in written if project in one.parents}
        assert inside <= {".cache"}
        assert ended.stdout.strip() or words[0] == "link"


# What `all` goes through, `make test` goes through before its tests.
AGAIN = pytest.param("all", marks=pytest.mark.long)


@pytest.mark.parametrize("name", ["build", AGAIN, "effect", "robust", "value"])
def test_every_long_example_runs(name, capsys, project):
    (line,) = examples_in(help_of((name,), capsys))
    ended, written = run_example(line, project)
    assert name != "build" or project / "site" in written
    # `all` judges the style of a copy without its tools' folder: it ends, and says what it found.
    assert ended.returncode == 0 or (name == "all" and "== 4/4" in ended.stdout), ended.stderr


def test_the_example_of_serve_answers(capsys, project):
    (line,) = examples_in(help_of(("serve",), capsys))
    words = [sys.executable, *shlex.split(line)[1:]]
    with subprocess.Popen(
        words, cwd=project, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    ) as running:  # fmt: skip
        try:
            told = next(one for one in running.stderr if "Serving on" in one)
            address = re.search(r"http://\S+", told)[0]
            with urllib.request.urlopen(address, timeout=30) as page:
                assert page.status == 200
        finally:
            os.killpg(running.pid, signal.SIGTERM)
