"""Where a store lies: a folder with a database and kept files, or the address of a database."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path
from typing import Final

DATABASE: Final = "bearwell.sqlite"
KEPT_FILES: Final = "files"
BACKUPS: Final = "backups"
_URL: Final = re.compile(r"^[A-Za-z][\w+.-]+://")


def is_url(where: str | Path) -> bool:
    """Whether a place is the address of a database and not a folder."""
    return bool(_URL.match(str(where)))


def is_store(where: str | Path) -> bool:
    """Whether a store can be looked for at a place: an address, or a folder with a database in it."""
    return is_url(where) or (Path(where) / DATABASE).is_file()


def user_folder() -> Path:
    """The folder in which this user's programs keep their data: where the store lies by default."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return (Path(base) if base else Path.home() / "AppData" / "Local") / "bearwell"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "bearwell"
    base = os.environ.get("XDG_DATA_HOME")
    return (Path(base) if base else Path.home() / ".local" / "share") / "bearwell"
