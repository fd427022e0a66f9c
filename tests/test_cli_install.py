"""Setup says what is missing, touches nothing that is not its own, and keeps to the pins.

Pins are held against what the standard library says is installed here.
"""

import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from build_tools import install

PROJECT = Path(__file__).parents[1]
SCRIPT = PROJECT / "build_tools" / "install.py"


def run(*words, path=None):
    return subprocess.run(
        [sys.executable, str(SCRIPT), *map(str, words)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={"PATH": path} if path else None,
    )


def constraints():
    text = (PROJECT / "build_tools" / "constraints.txt").read_text(encoding="utf-8")
    return dict(re.findall(r"^([A-Za-z0-9_.-]+)==(\S+)$", text, flags=re.MULTILINE))


def test_script_uses_the_standard_library_alone():
    bare = [sys.executable, "-S", "-I", str(SCRIPT), "--help"]
    ended = subprocess.run(bare, capture_output=True, text=True, timeout=60, check=False)
    assert ended.returncode == 0
    assert "--test" in ended.stdout


def test_pins_are_exact_and_agree_with_the_constraints_and_what_is_installed():
    known = {name.lower().replace("_", "-"): version for name, version in constraints().items()}
    pins = install.pinned_packages(list(install.EXTRAS))
    here = install.pinned_packages(["test"])
    assert len(pins) > len(here) > len(install.pinned_packages([]))
    for pin in pins:
        name, version = pin.split("==")
        assert known[name.lower().replace("_", "-")] == version
        # What only the bench compares with need not be there.
        assert pin not in here or metadata.version(name) == version


def test_constraints_name_no_place():
    text = (PROJECT / "build_tools" / "constraints.txt").read_text(encoding="utf-8")
    assert not re.search(r"://|@|/", text)


def test_folder_with_something_else_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("dear")
    ended = run(tmp_path)
    assert ended.returncode == 1
    assert "holds something else" in ended.stderr
    assert (tmp_path / "letter.txt").read_text() == "dear"


def test_old_python_is_told_which_one_is_needed(monkeypatch):
    monkeypatch.setattr(install.sys, "version_info", (3, 9, 2, "final", 0))
    with pytest.raises(
        install.SetupError, match=r"Python 3\.11 or newer is needed, and this is 3\.9\.2"
    ):
        install._check_python()


def test_missing_venv_names_the_package(monkeypatch):
    monkeypatch.setattr(install.importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(install.SetupError, match="python3-venv"):
        install._check_python()


def test_browser_on_path_is_found_and_none_is_told(monkeypatch, tmp_path):
    fake = tmp_path / "google-chrome"
    fake.write_text("#!/bin/sh\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert install.find_browser() == str(fake)
    fake.unlink()
    assert install.find_browser() is None
    with pytest.raises(install.SetupError, match="apt-get install chromium"):
        install._ensure_browser()


def test_browser_is_installed_with_apt_when_root(monkeypatch, tmp_path):
    """A stand-in apt-get writes down what it was asked and puts a browser on PATH."""
    asked, apt, browser = tmp_path / "asked", tmp_path / "apt-get", tmp_path / "chromium"
    apt.write_text(
        f'#!/bin/sh\necho "$@" >> {asked}\n'
        f'if [ "$1" = install ]; then echo "#!/bin/sh" > {browser}; /bin/chmod 755 {browser}; fi\n'
    )
    apt.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(install.os, "geteuid", lambda: 0)
    install._ensure_browser()
    lines = asked.read_text().splitlines()
    assert lines[0].startswith("update")
    assert lines[1].split()[0] == "install"
    assert lines[1].split()[-1] == "chromium"
