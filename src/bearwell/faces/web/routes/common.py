"""What several routes share."""

from __future__ import annotations

from typing import TypedDict
from urllib.parse import parse_qs

from starlette.exceptions import HTTPException

from bearwell.api import Knowledge, LoadedGarden, TreeYear, knowledge, tree_year
from bearwell.errors import BadInput
from bearwell.faces.problems import with_hint
from bearwell.faces.web.keeper import Keeper, Spoiled
from bearwell.said import said

READ = ["GET", "HEAD"]
FORM = "application/x-www-form-urlencoded"


def open_or_none(keeper: Keeper) -> LoadedGarden | None:
    """The garden, or nothing while it cannot be read: some pages need none."""
    try:
        return keeper.garden()
    except Spoiled:
        return None


def sent_fields(body: bytes, most: int = 100) -> dict[str, list[str]]:
    """The fields of a form that was sent; raises BadInput for more of them than any form of ours has."""
    try:
        return parse_qs(body.decode("utf-8", "replace"), max_num_fields=most)
    except ValueError:
        raise BadInput(
            said("more than {number} fields were sent", number=most), "send the form of the page"
        ) from None


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
        raise not_found(error) from None


def not_found(error: BadInput) -> HTTPException:
    """The answer that there is no such page, with the words of a refusal from below."""
    return HTTPException(404, with_hint(error.message, error.hint))


def no_tree(tree: str) -> HTTPException:
    """The answer that the garden has no tree of this id."""
    return HTTPException(404, said("There is no tree '{name}'", name=tree))
