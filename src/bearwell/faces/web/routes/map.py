"""The garden from above."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import YEARS_AHEAD, ground_plan
from bearwell.faces.twins import words_of
from bearwell.faces.twins_paper import map_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages.map import map_shown
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ


def map_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the page of the garden from above."""

    @app.api_route("/map.json", methods=READ)
    def map_json(years: int = YEARS_AHEAD) -> Response:
        opened = keeper.garden()
        return twin(map_twin(opened, ground_plan(opened, years)))

    @app.api_route("/map", methods=READ)
    def from_above(years: int = YEARS_AHEAD) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "map.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin=f"/map.json?years={years}", **map_shown(opened, ground_plan(opened, years), words),
        )  # fmt: skip
