"""Pruning: a tree's cuts, and the sheet to carry."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import LoadedGarden, PruningYear, pruning_year
from bearwell.faces.twins import words_of
from bearwell.faces.twins_pruning import prune_sheet_twin, pruning_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import pruning as pruning_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, no_tree
from bearwell.quantities import Quantity


def pruning_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of pruning."""

    def cut(opened: LoadedGarden, tree: str) -> PruningYear:
        if tree not in {one.id for one in opened.garden.trees}:
            raise no_tree(tree)
        return pruning_year(opened, tree)

    @app.api_route("/tree/{tree}/pruning.json", methods=READ)
    def pruning_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(pruning_twin(cut(opened, tree), opened.today, words_of(opened)))

    @app.api_route("/tree/{tree}/pruning", methods=READ)
    def pruning(tree: str) -> Response:
        opened = keeper.garden()
        year, words = cut(opened, tree), words_of(opened)
        return page(
            "pruning.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            twin=f"/tree/{year.tree.id}/pruning.json", **pruning_page.tree_shown(opened, year, words),
        )  # fmt: skip

    @app.api_route("/sheet/pruning.json", methods=READ)
    def sheet_json(days: int = 42) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        listed = pruning_page.sheet_of(opened, days, words)
        return twin(prune_sheet_twin(opened, days, [row.line for row in listed.rows], words))

    @app.api_route("/sheet/pruning", methods=READ)
    def sheet(days: int = 42) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "prunesheet.html", words, here="week", garden=opened.garden.about.name, book=opened.book,
            twin=f"/sheet/pruning.json?days={days}", listed=pruning_page.sheet_of(opened, days, words),
            Quantity=Quantity,
        )  # fmt: skip
