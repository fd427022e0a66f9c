"""Room 1: keep what was read, so that a command need not read all the YAML again.

A kept reading is named by the digest of every byte it came from: the knowledge, its schemas
and the code that reads them. Any change gives another name, so nothing kept is ever stale.
"""

import contextlib
import gc
import hashlib
import os
import pickle
import sys
import tempfile
import zlib
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

_CODE = Path(__file__).resolve().parent
_MOST_KEPT = 4
_HEAD = 8


def digest(*folders: Path) -> str:
    """Name the state of everything below some folders and of the code of this room.

    Raises:
        OSError: if a file cannot be read.
    """
    signs = hashlib.sha256(sys.version.encode())
    for top in (_CODE, *folders):
        # Not with pathlib: it takes several times as long, and every command waits for this.
        for folder, inner, files in os.walk(top):
            inner[:] = sorted(one for one in inner if one != "__pycache__")
            for name in sorted(files):
                with open(f"{folder}/{name}", "rb") as file:  # noqa: PTH123 - as above
                    raw = file.read()
                signs.update(
                    f"{folder[len(str(top)) :]}/{name}\0{len(raw)}\0".encode(
                        "utf-8", "surrogateescape"
                    )
                )
                signs.update(raw)
    return signs.hexdigest()


class Later(Mapping[Any, Any]):
    """A mapping that is unpacked when somebody first looks into it."""

    def __init__(self, packed: bytes) -> None:
        self.packed = packed

    @cached_property
    def _whole(self) -> Mapping[Any, Any]:
        whole: Mapping[Any, Any] = _unpack(self.packed)
        return whole

    def __getitem__(self, key: object) -> Any:  # noqa: ANN401 - as in the mapping that was kept
        return self._whole[key]

    def __iter__(self) -> Iterator[Any]:
        return iter(self._whole)

    def __len__(self) -> int:
        return len(self._whole)


def fetch(folder: Path, name: str) -> tuple[Any, Later] | None:
    """Return what was kept under a name: a value, and a mapping to be unpacked later.

    A file that is missing, cut short or damaged counts as nothing kept.
    """
    try:
        raw = (folder / name).read_bytes()
        sum_of, size = (int.from_bytes(raw[at : at + 4], "big") for at in (0, 4))
        if zlib.crc32(raw[_HEAD:]) != sum_of:
            return None
        return _unpack(raw[_HEAD : _HEAD + size]), Later(raw[_HEAD + size :])
    except Exception:  # noqa: BLE001 - whatever is wrong with it, the files can be read again
        return None


def keep(folder: Path, name: str, value: object, later: Mapping[Any, Any]) -> None:
    """Keep a value and a mapping under a name; where nothing can be written, nothing is kept.

    Written beside and renamed, so that another process sees all of it or none.
    """
    first = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
    body = first + pickle.dumps(dict(later), pickle.HIGHEST_PROTOCOL)
    head = zlib.crc32(body).to_bytes(4, "big")
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder, prefix=".new-", delete=False) as file:
            file.write(head + len(first).to_bytes(4, "big") + body)
        Path(file.name).replace(folder / name)
        kept = sorted(folder.glob("[!.]*"), key=lambda path: path.stat().st_mtime_ns)
        for path in kept[:-_MOST_KEPT]:
            path.unlink(missing_ok=True)


def _unpack(packed: bytes) -> Any:  # noqa: ANN401 - whatever was kept
    """Unpickle our own file; the collector only slows the making of many small values."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        return pickle.loads(packed)  # noqa: S301 - written by `keep`, beside the code itself
    finally:
        if was_on:
            gc.enable()
