"""What every writer of docs/reference/ uses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HEAD = "<!-- Written by `make docs` from the code. Do not edit. -->\n\n"


class Undocumented(Exception):
    """Something of the code that the words do not tell, or the other way round."""


def both_ways(what: str, keys: Iterable[str], told: Iterable[str]) -> None:
    """Refuse a key without words and words without a key."""
    missing, idle = sorted(set(keys) - set(told)), sorted(set(told) - set(keys))
    if missing or idle:
        raise Undocumented(f"{what}: keys without words: {missing}; words without a key: {idle}")


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table."""
    lines = [" | ".join(headings), " | ".join("---" for _ in headings)]
    lines += [
        " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in row) for row in rows
    ]
    return "".join(f"| {line} |\n" for line in lines) + "\n"
