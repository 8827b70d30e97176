"""What several routes share."""

from __future__ import annotations

from typing import TypedDict

from starlette.exceptions import HTTPException

from bearwell.api import Knowledge, LoadedGarden, TreeYear, knowledge, tree_year
from bearwell.errors import BadInput
from bearwell.faces.web.keeper import Keeper, Spoiled

READ = ["GET", "HEAD"]
FORM = "application/x-www-form-urlencoded"


def open_or_none(keeper: Keeper) -> LoadedGarden | None:
    """The garden, or nothing while it cannot be read: some pages need none."""
    try:
        return keeper.garden()
    except Spoiled:
        return None


class Named(TypedDict):
    """The name of the garden and what is known, with its own kinds."""

    garden: str
    book: Knowledge


def named(opened: LoadedGarden | None) -> Named:
    """The name and the knowledge of the garden, or of none."""
    if opened is None:
        return {"garden": "", "book": knowledge()}
    return {"garden": opened.garden.about.name, "book": opened.book}


def year_of_tree(opened: LoadedGarden, tree: str) -> TreeYear:
    """The year of a tree; not found where the garden has none of this name."""
    try:
        return tree_year(opened, tree)
    except BadInput as error:
        raise HTTPException(404, str(error)) from None
