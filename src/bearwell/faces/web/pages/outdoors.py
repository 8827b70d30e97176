"""What a device keeps for when there is no signal: pages that matter outdoors, in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from bearwell.api import Tree
from bearwell.faces.language import ENGLISH, N_, _
from bearwell.faces.web.render import static_url
from bearwell.faces.web.sayings import STATIC, sayings_url

FIRST = (
    ("/", N_("Two weeks")),
    ("/tonight", N_("Tonight")),
    ("/trees", N_("Trees")),
    ("/outdoors", N_("Without signal")),
    ("/?by=tree", N_("Two weeks, by tree")),
    ("/water", N_("Watering")),
    ("/sheet", N_("Feeding sheet")),
    ("/sheet/pruning", N_("Pruning sheet")),
    ("/sheet/week", N_("The week's sheet")),
    ("/map", N_("The garden from above")),
    ("/shelf", N_("The shelf")),
)
# Of every tree; what asks for a store is left out where there is none.
OF_TREE = (
    ("", "{tree}"), ("/record", N_("{tree}: record")), ("/count", N_("{tree}: count")),
    ("/pruning", N_("{tree}: pruning")), ("/water", N_("{tree}: water")), ("/feeding", N_("{tree}: feeding")),
    ("/crop", N_("{tree}: crop")),
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
    pages = [Outdoors(path, _(title)) for path, title in FIRST]
    for below, title in OF_TREE:
        if below == "/record" and not recording:
            continue
        for tree in trees:
            name = _(title, tree=tree.called)
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
