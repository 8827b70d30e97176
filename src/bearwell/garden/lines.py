"""Where a key of a TOML document stands: so that a complaint can name its line."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from bearwell.said import said

_HEADER: Final = re.compile(r"^\s*(\[\[|\[)\s*([^\[\]]+?)\s*(\]\]|\])\s*(#.*)?$")
_KEY: Final = re.compile(
    r"""^\s*([A-Za-z0-9_-]+|"[^"]*"|'[^']*')((?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*="""
)

Place = tuple[str | int, ...]
# Tables whose rows are called by words of the language; the others by their key.
_ROWS: Final = {"tree": said("tree"), "product": said("product"), "shelter": said("shelter")}


def called(table: str) -> str:
    """What a row of a table is called: a tree, a product; by its key where there is no word for it."""
    return _ROWS.get(table, table)


@lru_cache(maxsize=1000)
def titled(table: str, named: str | int) -> str:
    """What a row is called: by its id, tree 'clementine-low', or by its place from 0, tree 3."""
    row = called(table)
    if isinstance(named, str):
        return said("{row} '{named}'", row=row, named=named)
    return said("{row} {number}", row=row, number=named + 1)


def line_map(text: str) -> dict[Place, int]:
    """The line (1-based) of every table and key, by path; arrays of tables count from 0.

    Keys inside inline tables and multi-line arrays are not listed: :func:`line_of` falls back to the
    line of the key that holds them.
    """
    places: dict[Place, int] = {}
    counts: dict[str, int] = {}
    table: Place = ()
    depth, quoted = 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if depth == 0 and not quoted:
            header = _HEADER.match(line)
            if header:
                names = [part.strip().strip("\"'") for part in header[2].split(".")]
                if header[1] == "[[":
                    name = ".".join(names)
                    counts[name] = counts.get(name, -1) + 1
                    table = (*names, counts[name])
                else:
                    first = names[0]
                    table = (first, counts[first], *names[1:]) if first in counts else tuple(names)
                places.setdefault(table, number)
                continue
            key = _KEY.match(line)
            if key:
                names = [part.strip().strip("\"'") for part in (key[1] + key[2]).split(".")]
                places.setdefault((*table, *names), number)
        depth, quoted = _open_brackets(line, depth, quoted)
    return places


def _open_brackets(line: str, depth: int, quoted: str) -> tuple[int, str]:
    """How many brackets stay open after this line, and the multi-line quote it leaves open."""
    index = 0
    while index < len(line):
        if quoted:
            end = line.find(quoted, index)
            if end < 0:
                return depth, quoted
            index, quoted = end + 3, ""
            continue
        triple = line[index : index + 3]
        char = line[index]
        if triple in ('"""', "'''"):
            quoted, index = triple, index + 3
            continue
        if char in "\"'":
            end = index + 1
            while end < len(line) and line[end] != char:
                end += 2 if char == '"' and line[end] == "\\" else 1
            index = end + 1
            continue
        if char == "#":
            break
        depth += (char in "[{") - (char in "]}")
        index += 1
    return max(depth, 0), quoted


def line_of(places: dict[Place, int], path: Place) -> int | None:
    """The line of a path, or of the nearest thing that holds it."""
    while path:
        if path in places:
            return places[path]
        path = path[:-1]
    return None
