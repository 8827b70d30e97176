"""A tree's crop, and counting it."""

from __future__ import annotations

from fastapi import FastAPI, Request
from starlette.responses import Response

from bearwell.api import CropYear, LoadedGarden, Tree, crop_year
from bearwell.errors import BadInput
from bearwell.faces.twins import words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import count as count_page
from bearwell.faces.web.pages import crop as crop_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, named, no_tree, not_found


def crop_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of the crop."""

    def tree_of(opened: LoadedGarden, tree: str) -> Tree:
        found = next((one for one in opened.garden.trees if one.id == tree), None)
        if found is None:
            raise no_tree(tree)
        return found

    def crop_of(opened: LoadedGarden, tree: str) -> CropYear:
        found = tree_of(opened, tree)
        try:
            return crop_year(opened, found.id)
        except BadInput as error:
            raise not_found(error) from None

    def typed(request: Request) -> dict[str, list[str]]:
        return {key: request.query_params.getlist(key) for key in request.query_params}

    @app.api_route("/tree/{tree}/crop.json", methods=READ)
    def crop_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(crop_page.crop_twin(crop_of(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}/crop", methods=READ)
    def crop(tree: str) -> Response:
        opened = keeper.garden()
        found, words = crop_of(opened, tree), words_of(opened)
        return page(
            "crop.html", words, here="trees", **named(opened), twin=f"/tree/{found.tree.id}/crop.json",
            kind=found.plan.view.species, **crop_page.shown(found, words),
        )  # fmt: skip

    @app.api_route("/tree/{tree}/count.json", methods=READ)
    def count_json(request: Request, tree: str) -> Response:
        opened = keeper.garden()
        words, own = words_of(opened), tree_of(opened, tree)
        kept = count_page.sheet(typed(request), opened, own, words)
        told = count_page.count_twin(kept, opened, own, words)
        return twin(told, 422 if kept.complaint else 200)

    @app.api_route("/tree/{tree}/count", methods=READ)
    def count(request: Request, tree: str) -> Response:
        opened = keeper.garden()
        words, own = words_of(opened), tree_of(opened, tree)
        kept = count_page.sheet(typed(request), opened, own, words)
        query = f"?{request.url.query}" if request.url.query else ""
        return page(
            "count.html", words, here="trees", status=422 if kept.complaint else 200, **named(opened),
            twin=f"/tree/{own.id}/count.json{query}", **count_page.shown(kept, opened, own, words),
        )  # fmt: skip
