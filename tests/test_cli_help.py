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

PROJECT = Path(__file__).parents[1]
PARTS = ("build_tools", "content", "site_overrides", "symptoms", "tests")
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
    place = tmp_path_factory.mktemp("copy") / "project"
    ignore = shutil.ignore_patterns("__pycache__", "node_modules", ".cache")
    for part in PARTS:
        shutil.copytree(PROJECT / part, place / part, ignore=ignore)
    for name in ("mkdocs.yml", "pyproject.toml"):
        shutil.copy(PROJECT / name, place)
    who = ("-c", "user.name=A Maintainer", "-c", "user.email=maintainer@example.org")
    for words in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "Begin"]):
        subprocess.run(["git", *who, *words], cwd=place, check=True, capture_output=True)
    return place


def run_example(line, project):
    shell = line.replace("python -m", f"{shlex.quote(sys.executable)} -m")
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", shell],
        cwd=project, capture_output=True, text=True, timeout=580, check=False,
    )  # fmt: skip


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
        ended = run_example(line, project)
        assert (ended.returncode, line) == (0, line), ended.stderr
        assert ended.stdout.strip() or words[0] == "link"


@pytest.mark.parametrize("name", [one for one in WHOLE if one != "serve"])
def test_every_long_example_runs(name, capsys, project):
    (line,) = examples_in(help_of((name,), capsys))
    ended = run_example(line, project)
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
