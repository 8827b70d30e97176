"""What a device keeps for when there is no signal: pages that matter outdoors, in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from bearwell.api import Tree
from bearwell.faces.language import ENGLISH
from bearwell.faces.web.render import static_url
from bearwell.faces.web.sayings import STATIC, sayings_url

FIRST = (
    ("/", "Two weeks"),
    ("/tonight", "Tonight"),
    ("/trees", "Trees"),
    ("/outdoors", "Without signal"),
    ("/?by=tree", "Two weeks, by tree"),
    ("/water", "Watering"),
    ("/sheet", "Feeding sheet"),
    ("/sheet/pruning", "Pruning sheet"),
    ("/sheet/week", "The week's sheet"),
    ("/map", "The garden from above"),
    ("/shelf", "The shelf"),
)
# Of every tree; what asks for a store is left out where there is none.
OF_TREE = (
    ("", ""), ("/record", "record"), ("/count", "count"), ("/pruning", "pruning"), ("/water", "water"),
    ("/feeding", "feeding"), ("/crop", "crop"),
)  # fmt: skip
FILES = (".css", ".js", ".svg")


@dataclass(frozen=True)
class Outdoors:
    """A page to keep, the tree it is about, and what it is called."""

    path: str
    title: str
    tree: str = ""


def to_keep(trees: Sequence[Tree], *, recording: bool) -> list[Outdoors]:
    """The pages to keep, the most needed first: every tree's own page comes before the pages below it."""
    pages = [Outdoors(path, title) for path, title in FIRST]
    for below, title in OF_TREE:
        if below == "/record" and not recording:
            continue
        for tree in trees:
            name = f"{tree.called}: {title}" if title else tree.called
            pages.append(Outdoors(f"/tree/{quote(tree.id)}{below}", name, tree.id))
    return pages


def files(language: str) -> list[str]:
    """The addresses of our own files that pages in this language need."""
    names = sorted(file.name for file in STATIC.iterdir() if file.suffix in FILES)
    ours = [static_url(name) for name in names if name != "keeper.js"]
    return ours if language == ENGLISH else [*ours, sayings_url(language)]


def outdoors_twin(pages: Sequence[Outdoors], mark: str, language: str) -> dict[str, Any]:
    """The list that the keeper of pages reads."""
    return {
        "mark": mark,
        "pages": [
            {"path": one.path, "title": one.title, "tree": one.tree or None} for one in pages
        ],
        "files": files(language),
    }
