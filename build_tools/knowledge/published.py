"""Room 5: hand out the schemas, for editors and for those who use our data.

They are the very files the knowledge is judged by; nothing is made here.
"""

from __future__ import annotations

from build_tools.knowledge.folders import SCHEMAS


def published_schemas() -> list[tuple[str, str]]:
    """Return (file name, text) of every schema, by name.

    They refer to each other by file name, so they belong in one folder of the site.
    """
    return [
        (path.name, path.read_text(encoding="utf-8")) for path in sorted(SCHEMAS.glob("*.json"))
    ]
