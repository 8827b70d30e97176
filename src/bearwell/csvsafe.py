"""Texts as cells of a CSV file that a spreadsheet takes for text, never for a formula."""

from __future__ import annotations

import re
from typing import Final

# What makes a spreadsheet read a cell as a formula, or leads up to it; also in the wide forms some take.
_BEGINS: Final = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_RISKY: Final = re.compile(f"'*[{_BEGINS}]")
_NUMBER: Final = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")


def guarded(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet might run it; a plain number stays one.

    :func:`unguarded` gives back exactly what was guarded.
    """
    if _RISKY.match(text) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def unguarded(cell: str) -> str:
    """The text that :func:`guarded` made a cell of."""
    return cell[1:] if cell.startswith("'") and _RISKY.match(cell) else cell
