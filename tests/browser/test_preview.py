"""The preview: one file is changed, and the open page shows it, whole and without a word said.

A real `serve` of a copy of the project. The oracle for what it rebuilt from what it had kept is
a preview that begins with the changed file.
"""

import contextlib
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.phone import open_phone, outside
from tests.shared_folder import project_copy

CHECK = "twist-battery-clamps"
OLD, NEW = "A clamp that turns by hand", "A clamp that turns under two fingers"


@contextlib.contextmanager
def preview(project, place, port):
    """Serve a project at a port; give the folder that is served and what the command says."""
    place.mkdir()
    with subprocess.Popen(
        [sys.executable, "-m", "build_tools", "serve", "--port", str(port)],
        cwd=project, env={**os.environ, "TMPDIR": str(place)}, stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE, text=True, start_new_session=True,
    ) as running:  # fmt: skip
        try:
            said_until(running.stderr, "Serving on")
            (site,) = place.glob("mkdocs_*")
            yield site, running.stderr
        finally:
            os.killpg(running.pid, signal.SIGTERM)


def said_until(lines, words):
    """Return what a command says up to the line with these words."""
    said = []
    for line in lines:
        said.append(line)
        if words in line:
            return said
    raise AssertionError("".join(said))


def files_of(site):
    return {
        str(one.relative_to(site)): one.read_bytes() for one in site.rglob("*") if one.is_file()
    }


def free_port():
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return asked.getsockname()[1]


def test_the_open_page_shows_what_was_changed(new_context, tmp_path):
    project = project_copy(tmp_path / "project")
    entry = Path(project) / "symptoms" / "checks" / f"{CHECK}.yml"
    passing = Path(project) / "symptoms" / "sources" / "passing.yml"
    source = next(passing.parent.glob("*.yml"))
    passing.write_text(
        source.read_text("utf-8").replace(f"id: {source.stem}", "id: passing"), "utf-8"
    )
    port = free_port()
    address = f"http://127.0.0.1:{port}/"
    with preview(project, tmp_path / "first", port) as (site, said):
        page, heard, asked = open_phone(new_context)
        page.goto(f"{address}checks/{CHECK}/")
        expect(page.locator("#main")).to_contain_text(OLD)
        assert (site / "sources" / "passing" / "index.html").exists()
        passing.unlink()
        said_until(said, "Reloading browsers")
        assert not (site / "sources" / "passing" / "index.html").exists()
        text = entry.read_text("utf-8")
        assert OLD in text
        # Put in its place whole, as editors do: half a file would be a change of its own.
        (tmp_path / "new.yml").write_text(text.replace(OLD, NEW), "utf-8")
        (tmp_path / "new.yml").replace(entry)
        expect(page.locator("#main")).to_contain_text(NEW)
        assert not [line for line in said_until(said, "Reloading browsers") if "WARNING" in line]
        rebuilt = files_of(site)
        page.close()
    assert set(heard) == {"log: Enabled live reload"}
    assert outside(asked, address) == []
    with preview(project, tmp_path / "anew", port) as (site, _):
        made_at_once = files_of(site)
    assert sorted(rebuilt) == sorted(made_at_once)
    assert [name for name, one in rebuilt.items() if made_at_once[name] != one] == []
