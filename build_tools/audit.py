"""Judge the packages the project stands on: pinned, consistent, without known weaknesses.

Used by the Makefile as `python build_tools/audit.py .venv .venv-audit`. The tool that asks for
known weaknesses lives in a folder of its own, so that its packages cannot mix with ours. A
package that nobody could be asked about is told as unknown, never as clean.
"""

import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
CONSTRAINTS = Path(__file__).resolve().with_name("constraints.txt")
ASKING_TOOL = "pip-audit==2.10.1"
CLEAN, PROBLEMS, UNFINISHED = 0, 1, 2
_PIN = re.compile(r"^([A-Za-z0-9_.-]+)==(\S+)$", re.MULTILINE)
_MANY = 5


def main(words: list[str] | None = None) -> int:
    """Run every part and return the worst: 0 clean, 1 problems, 2 something stayed unknown."""
    parser = argparse.ArgumentParser(prog="audit.py", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path, help="the project's virtual environment")
    parser.add_argument("own", type=Path, help="folder for the tool that asks")
    arguments = parser.parse_args(words)
    python = str(arguments.folder / "bin" / "python")
    pins, consistent = _pins(python), _consistent(python)
    asked, lines = _weaknesses(arguments.own)
    for name, (code, told) in {
        "pinned": pins,
        "consistent": consistent,
        "known weaknesses": (asked, lines),
    }.items():
        words_of = {CLEAN: "clean", PROBLEMS: "PROBLEMS", UNFINISHED: "NOT KNOWN"}
        _say(f"{name}: {words_of[code]}")
        for line in told:
            _say(f"  {line}")
    codes = {pins[0], consistent[0], asked}
    return PROBLEMS if PROBLEMS in codes else max(codes)


def compare_pins(installed: str, pinned: str) -> list[str]:
    """Return a line for each installed package that is not pinned at its own version.

    Both texts hold lines such as `name==1.2`; names are compared as the index does.
    """
    wanted = {_same(name): version for name, version in _PIN.findall(pinned)}
    lines = []
    for name, version in _PIN.findall(installed):
        known = wanted.get(_same(name))
        if known is None:
            lines.append(f"{name} {version} is installed and not in constraints.txt")
        elif known != version:
            lines.append(f"{name} {version} is installed, constraints.txt says {known}")
    return lines


def judge_report(report: dict[str, object]) -> tuple[int, list[str]]:
    """Turn the asking tool's report into a code and lines; skipped packages are unknown.

    The tool itself calls a run clean in which it could ask about nothing at all.
    """
    listed = report.get("dependencies")
    rows = [row for row in listed if isinstance(row, dict)] if isinstance(listed, list) else []
    weak = [
        f"{row['name']} {row['version']}: {', '.join(str(one['id']) for one in row['vulns'])}"
        for row in rows
        if row.get("vulns")
    ]
    skipped = [str(row["name"]) for row in rows if "skip_reason" in row]
    if weak:
        return PROBLEMS, weak
    if skipped or not rows:
        names = ", ".join(skipped[:_MANY]) + (", ..." if len(skipped) > _MANY else "")
        told = f"of {len(rows)} packages, {len(skipped)} could not be looked up: {names}"
        return UNFINISHED, [told, "nothing is known about these; ask again where the index answers"]
    return CLEAN, [f"{len(rows)} package{'' if len(rows) == 1 else 's'} looked up"]


def _pins(python: str) -> tuple[int, list[str]]:
    frozen = _run([python, "-m", "pip", "--disable-pip-version-check", "freeze"])
    if frozen.returncode != 0:
        return UNFINISHED, [f"no packages could be listed: {_last_line(frozen.stderr)}"]
    lines = compare_pins(frozen.stdout, CONSTRAINTS.read_text(encoding="utf-8"))
    return (PROBLEMS, lines) if lines else (CLEAN, [])


def _consistent(python: str) -> tuple[int, list[str]]:
    checked = _run([python, "-m", "pip", "--disable-pip-version-check", "check"])
    return (CLEAN if checked.returncode == 0 else PROBLEMS), checked.stdout.strip().splitlines()


def _weaknesses(own: Path) -> tuple[int, list[str]]:
    """Ask about every pinned package; say so when nobody could be asked."""
    tool = own / "bin" / "pip-audit"
    if not tool.is_file():
        made = _run([sys.executable, "-m", "venv", str(own)])
        python = str(own / "bin" / "python")
        got = (
            _run([python, "-m", "pip", "--quiet", "install", ASKING_TOOL])
            if not made.returncode
            else made
        )
        if got.returncode != 0:
            return UNFINISHED, [f"{ASKING_TOOL} could not be installed: {_last_line(got.stderr)}"]
    what = ("--requirement", str(CONSTRAINTS), "--no-deps", "--disable-pip")
    asked = _run([str(tool), *what, "--format", "json", "--progress-spinner", "off"])
    try:
        report = json.loads(asked.stdout)
    except json.JSONDecodeError:
        return UNFINISHED, [f"the list of weaknesses was not reached: {_last_line(asked.stderr)}"]
    return judge_report(report)


def _run(words: list[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, capture_output=True, text=True, check=False, cwd=PROJECT)  # noqa: S603 - our own words


def _same(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _last_line(text: str) -> str:
    return (text.strip().splitlines() or ["no reason was given"])[-1][:200]


def _say(text: str) -> None:
    sys.stdout.write(f"audit: {text}\n")


if __name__ == "__main__":
    sys.exit(main())
