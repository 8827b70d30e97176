"""Feeding: a tree's year, the shelf and the sheet to carry."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import FeedingYear, LoadedGarden, shelf
from bearwell.faces.twins import words_of
from bearwell.faces.twins_feeding import sheet_twin, shelf_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import feeding as feeding_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, no_tree
from bearwell.quantities import Quantity


def feeding_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of feeding."""

    def fed(opened: LoadedGarden, tree: str) -> FeedingYear:
        if tree not in {one.id for one in opened.garden.trees}:
            raise no_tree(tree)
        return feeding_page.planned_year(opened, tree)

    @app.api_route("/tree/{tree}/feeding.json", methods=READ)
    def feeding_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(feeding_page.tree_twin(opened, fed(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}/feeding", methods=READ)
    def feeding(tree: str) -> Response:
        opened = keeper.garden()
        year, words = fed(opened, tree), words_of(opened)
        return page(
            "feeding.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            twin=f"/tree/{year.tree.id}/feeding.json", **feeding_page.tree_shown(opened, year, words),
        )  # fmt: skip

    @app.api_route("/shelf.json", methods=READ)
    def shelf_json() -> Response:
        opened = keeper.garden()
        return twin(shelf_twin(opened, shelf(opened), words_of(opened)))

    @app.api_route("/shelf", methods=READ)
    def whole_shelf() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "shelf.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/shelf.json", **feeding_page.shelf_shown(opened, shelf(opened), words),
        )  # fmt: skip

    @app.api_route("/sheet.json", methods=READ)
    def sheet_json(days: int = 21) -> Response:
        opened = keeper.garden()
        return twin(sheet_twin(opened, feeding_page.sheet_of(opened, days, words_of(opened))))

    @app.api_route("/sheet", methods=READ)
    def sheet(days: int = 21) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "sheet.html", words, here="week", garden=opened.garden.about.name, book=opened.book,
            twin=f"/sheet.json?days={days}", listed=feeding_page.sheet_of(opened, days, words),
            rules=opened.garden.feeding, Quantity=Quantity,
        )  # fmt: skip
