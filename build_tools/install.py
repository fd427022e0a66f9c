"""Set up what the project needs: a virtual environment, pinned packages, a browser for tests.

Used by the Makefile as `python3 build_tools/install.py .venv [--test] [--bench]`, before
anything is installed, so it uses the standard library alone. It changes the folder it is
given and, with --test and only when no Chromium is found, installs the system's Chromium
package.
"""

import argparse
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
CONSTRAINTS = Path(__file__).resolve().with_name("constraints.txt")
EXTRAS = ("commands", "test", "bench")
OLDEST = (3, 11)
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_PIP = ("-m", "pip", "--disable-pip-version-check", "--no-input")


class SetupError(Exception):
    """Say what is missing and what to install; the text is shown as it stands."""


def main(words: list[str] | None = None) -> int:
    """Set everything up and return the exit code: 0 done, 1 something is missing."""
    parser = argparse.ArgumentParser(
        prog="install.py", description="Make the virtual environment and install what is pinned."
    )
    parser.add_argument("folder", type=Path, help="folder of the virtual environment")
    parser.add_argument("--test", action="store_true", help="also what the tests need")
    parser.add_argument("--bench", action="store_true", help="also what the bench compares with")
    arguments = parser.parse_args(words)
    extras = ["commands", *(name for name in EXTRAS if getattr(arguments, name, False))]
    try:
        _check_python()
        python = _make_environment(arguments.folder)
        _install_packages(python, extras)
        if arguments.test:
            _ensure_browser()
    except OSError as error:
        sys.stderr.write(f"setup: {arguments.folder} cannot be written ({error.strerror})\n")
        return 1
    except SetupError as error:
        sys.stderr.write(f"setup: {error}\n")
        return 1
    _say("ready")
    return 0


def _say(text: str) -> None:
    sys.stdout.write(f"setup: {text}\n")
    sys.stdout.flush()


def _run(words: list[str], failure: str) -> None:
    """Run a command, letting it speak; raise SetupError with `failure` if it fails."""
    try:
        ended = subprocess.run(words, check=False, stdin=subprocess.DEVNULL)  # noqa: S603 - our own words
    except OSError as error:
        raise SetupError(f"{failure} ({error.strerror}: {words[0]})") from error
    if ended.returncode != 0:
        raise SetupError(failure)


def _check_python() -> None:
    if sys.version_info[:2] < OLDEST:
        found = ".".join(str(one) for one in sys.version_info[:3])
        wanted = ".".join(str(one) for one in OLDEST)
        raise SetupError(
            f"Python {wanted} or newer is needed, and this is {found}; "
            f"name a newer one: make PYTHON=python{wanted} ..."
        )
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        raise SetupError(
            "this Python cannot make virtual environments; on Debian and Ubuntu install the "
            "package python3-venv: apt-get install python3-venv"
        )


def _make_environment(folder: Path) -> str:
    """Make the environment, or keep the one that is there, and return its Python."""
    python = folder / "bin" / "python"
    if _works(python):
        _say(f"keeping the environment in {folder}")
        return str(python)
    refuse_foreign(folder)
    _say(f"making the environment in {folder}")
    # Marked first, so that a set-up that was interrupted knows its own folder again.
    folder.mkdir(parents=True, exist_ok=True)
    fresh = not any(folder.iterdir())
    (folder / "pyvenv.cfg").touch()
    _run(
        [sys.executable, "-m", "venv", *([] if fresh else ["--clear"]), str(folder)],
        f"the environment could not be made in {folder}; on Debian and Ubuntu install the "
        "package python3-venv: apt-get install python3-venv",
    )
    return str(python)


def refuse_foreign(folder: Path) -> None:
    """Refuse to empty what is a link, the project, home, or no environment."""
    if folder.is_symlink():
        raise SetupError(f"{folder} is a link, and links are not followed; name the folder")
    whole, kept = folder.resolve(), (PROJECT, Path.home().resolve())
    around = any(whole == one or whole in one.parents for one in kept)
    foreign = folder.exists() and not folder.is_dir()
    if folder.is_dir() and any(folder.iterdir()):
        config = folder / "pyvenv.cfg"
        foreign = config.is_symlink() or not config.is_file()
    if around or foreign:
        raise SetupError(f"{folder} holds something else; move it away or name another folder")


def _works(python: Path) -> bool:
    if not python.is_file():
        return False
    check = f"import sys; sys.exit(sys.version_info[:2] < {OLDEST})"
    for words in (["-c", check], ["-m", "pip", "--version"]):
        ended = subprocess.run([str(python), *words], check=False, capture_output=True)  # noqa: S603 - our own words
        if ended.returncode != 0:
            return False
    return True


def pinned_packages(extras: list[str]) -> list[str]:
    """Return the packages pyproject.toml names, those of the extras too, each with its version."""
    import tomllib  # noqa: PLC0415 - older Pythons are told off before this line

    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    packages: list[str] = list(project["dependencies"])
    for name in extras:
        packages += project["optional-dependencies"][name]
    return packages


def _install_packages(python: str, extras: list[str]) -> None:
    packages = pinned_packages(extras)
    purpose = " and the ".join(["the site", *extras])
    _say(f"installing {len(packages)} pinned packages for {purpose} (a minute or two, once)")
    _run(
        [python, *_PIP, "install", "--quiet", "--constraint", str(CONSTRAINTS), *packages],
        "the packages could not be installed; look at the lines above, and whether this "
        "machine reaches a Python package index",
    )


def find_browser() -> str | None:
    """Return the path of an installed Chromium or Chrome, None if there is none."""
    return next((path for name in BROWSERS if (path := shutil.which(name))), None)


def _ensure_browser() -> None:
    found = find_browser()
    if found:
        _say(f"tests will use {found}")
        return
    by_hand = (
        "no Chromium was found; install it and run this again: apt-get install chromium "
        "(or put chromium or google-chrome on PATH)"
    )
    apt = shutil.which("apt-get")
    if apt is None:
        raise SetupError(by_hand)
    before = _as_root()
    if before is None:
        raise SetupError(by_hand)
    _say("no Chromium found, installing the system's package")
    _run([*before, apt, "update", "-qq"], by_hand)
    _run([*before, apt, "install", "-y", "-qq", "--no-install-recommends", "chromium"], by_hand)
    if find_browser() is None:
        raise SetupError(by_hand)


def _as_root() -> list[str] | None:
    """Return what to put before a command to run it as root without a question, None if not."""
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if sudo is None:
        return None
    ended = subprocess.run([sudo, "-n", "true"], check=False, capture_output=True)  # noqa: S603 - our own words
    return [sudo, "-n"] if ended.returncode == 0 else None


if __name__ == "__main__":
    sys.exit(main())
