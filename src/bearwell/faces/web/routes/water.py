"""Water: a tree's account, and the sheet of the whole garden."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import LoadedGarden, TreeWatering, tree_watering
from bearwell.faces.twins import words_of
from bearwell.faces.watering import sheet_of, water_sheet_twin, water_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import water as water_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, no_tree


def water_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of water."""

    def watered(opened: LoadedGarden, tree: str) -> TreeWatering:
        if tree not in {one.id for one in opened.garden.trees}:
            raise no_tree(tree)
        return tree_watering(opened, tree)

    @app.api_route("/tree/{tree}/water.json", methods=READ)
    def water_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(water_twin(opened, watered(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}/water", methods=READ)
    def water(tree: str) -> Response:
        opened = keeper.garden()
        found, words = watered(opened, tree), words_of(opened)
        return page(
            "water.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            twin=f"/tree/{found.view.tree.id}/water.json", **water_page.tree_shown(opened, found, words),
        )  # fmt: skip

    @app.api_route("/water.json", methods=READ)
    def sheet_json() -> Response:
        opened = keeper.garden()
        return twin(water_sheet_twin(sheet_of(opened, words_of(opened))))

    @app.api_route("/water", methods=READ)
    def sheet() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "watersheet.html", words, here="week", garden=opened.garden.about.name, book=opened.book,
            twin="/water.json", **water_page.sheet_shown(opened, words),
        )  # fmt: skip
