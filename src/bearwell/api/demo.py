"""The demo garden through the public door."""

from __future__ import annotations

from datetime import date
from pathlib import Path


def write_demo(folder: Path, today: date) -> Path:
    """Write the invented garden "Tern Steps" into a folder and return its file.

    Raises BadInput rather than overwrite a garden that was edited.
    """
    from bearwell.demo import write_demo as write

    return write(folder, today)
