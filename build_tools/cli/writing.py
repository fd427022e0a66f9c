"""Command line: write a text where a command was told to, and nowhere else.

A link inside the folder that was named could lead anywhere, so none is followed. A file is
written beside its place and moved there whole: a full disk leaves the former text.
"""

import os
import tempfile
from pathlib import Path

from build_tools.cli.words import CommandError

_READABLE = 0o644


def write_inside(folder: Path, path: Path, text: str) -> None:
    """Write a text file below a folder, making the folders on the way.

    Raises:
        CommandError: if the path leaves the folder, a link stands on the way, or the disk
            does not take it; the file is as it was then.
    """
    inside = path.relative_to(folder)
    steps = [folder / part for part in [*reversed(inside.parents), inside]][1:]
    linked = next((one for one in steps if one.is_symlink()), None)
    if linked is not None or ".." in inside.parts:
        raise CommandError(f"{linked or path} is a link, and links are not followed when writing")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        mode = path.stat().st_mode & 0o777 if path.exists() else _READABLE
        handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            Path(name).chmod(mode)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise CommandError(f"{path} cannot be written ({error.strerror})") from None
