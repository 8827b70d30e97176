"""Files that are there whole or not at all, even when the power goes."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bearwell.errors import BearwellError
from bearwell.said import said

PRIVATE, SHARED = 0o600, 0o644  # for the user alone; readable by all


@contextmanager
def whole_file(place: Path, mode: int = PRIVATE) -> Iterator[Path]:
    """A file to write to that takes its place only when it is whole, even when the power goes.

    It is written beside its place, forced to the disk, and moved over it in one step. Raises
    BearwellError when it cannot be written; what stood there before stays.
    """
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name[:40]}.")
        os.close(handle)
        part = Path(name)
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.chmod(mode)
        part.replace(place)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise BearwellError(
            said("{place}: cannot be written: {reason}", place=place, reason=reason),
            "nothing was changed; may this user write there, is the disk full?",
        ) from None
    finally:
        if part is not None:
            part.unlink(missing_ok=True)
    sync_folder(place.parent)


def write_whole(place: Path, content: bytes, mode: int = PRIVATE) -> None:
    """Write a file so that it is there whole or not at all; raises BearwellError when it cannot be."""
    with whole_file(place, mode) as part:
        part.write_bytes(content)


def sync_folder(folder: Path) -> None:
    """Force the names of a folder to the disk, where the system can."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
