"""Room 5: read the reports that are kept beside the knowledge.

A report is measured by a command and kept, because it takes minutes. A page that asks for one
that is missing goes without.
"""

import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from build_tools.knowledge.folders import PROJECT

FOLDER = PROJECT / "symptoms" / "_reports"


def read_report(name: str) -> Mapping[str, Any] | None:
    """Return a kept report, None when there is none or it cannot be read."""
    path = FOLDER / f"{name}.json"
    try:
        return _read(path, path.stat().st_mtime_ns)
    except (OSError, ValueError):
        return None


@lru_cache(maxsize=4)
def _read(path: Path, _changed: int) -> Mapping[str, Any]:
    """Read once for each state of the file; a build asks for every page."""
    report: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return report
