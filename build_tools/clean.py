"""Remove what the Makefile made here: environments, the built site and caches.

Used as `python3 -m build_tools.clean .venv`, with the standard library alone. A folder goes
only when it shows that a tool made it: an environment by its pyvenv.cfg, a site by its manifest,
a cache by its name and mark. Links are left, and so is everything else.
"""

import shutil
import sys
from pathlib import Path

from build_tools.install import PROJECT, SetupError, refuse_foreign
from build_tools.site.out_folder import foreign

# What each tool puts into its own cache (the tag is an open convention of cache folders).
CACHES = {
    ".mypy_cache": "CACHEDIR.TAG",
    ".ruff_cache": "CACHEDIR.TAG",
    ".pytest_cache": "CACHEDIR.TAG",
    ".hypothesis": "",
}


def main(words: list[str], project: Path = PROJECT) -> int:
    """Remove what can be told as made here; return 1 if something had to be left."""
    left = []
    for name in (*words, ".venv-audit"):
        folder = project / name
        try:
            refuse_foreign(folder)
        except SetupError as refused:
            left.append(str(refused))
            continue
        _remove(folder)
    site = project / "site"
    stray = foreign(site) if site.exists() or site.is_symlink() else None
    if stray:
        left.append(f"{site} {stray}")
    else:
        _remove(site)
    for name, mark in CACHES.items():
        cache = project / name
        if not cache.is_symlink() and (cache / mark).exists():
            _remove(cache)
    for line in left:
        sys.stderr.write(f"clean: left alone: {line}\n")
    return 1 if left else 0


def _remove(folder: Path) -> None:
    if folder.is_dir():
        shutil.rmtree(folder)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
