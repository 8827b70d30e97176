"""The garden from above, and where its trees stand, kept."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import FastAPI, Request
from starlette.responses import Response

from bearwell.api import YEARS_AHEAD, ground_plan
from bearwell.errors import Problem
from bearwell.faces.twins import words_of
from bearwell.faces.twins_paper import map_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages.map import MOST_FIELDS, keep_places, map_shown, typed_places
from bearwell.faces.web.pages.typed import Form
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ
from bearwell.faces.web.routes.record import Sent, acting, answered, form_of


def map_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the page of the garden from above, and keeping the places of trees."""

    @app.api_route("/map.json", methods=READ)
    def map_json(years: int = YEARS_AHEAD) -> Response:
        opened = keeper.garden()
        return twin(map_twin(opened, ground_plan(opened, years)))

    @app.api_route("/map", methods=READ)
    def from_above(request: Request, years: int = YEARS_AHEAD) -> Response:
        return _page(keeper, request, years)

    @app.post("/map/places")
    def keep(request: Request, body: Sent = b"") -> Response:
        form = form_of(body, MOST_FIELDS)

        def again(problems: list[Problem], status: int) -> Response:
            return _page(keeper, request, YEARS_AHEAD, problems, form, status)

        return answered(request, keeper, form, keep_places, again)


def _page(
    keeper: Keeper,
    request: Request,
    years: int,
    complaints: Sequence[Problem] = (),
    form: Form | None = None,
    status: int = 200,
) -> Response:
    opened = keeper.garden()
    words = words_of(opened)
    return page(
        "map.html", words, here="garden", garden=opened.garden.about.name, book=opened.book, status=status,
        twin=f"/map.json?years={years}", **map_shown(opened, ground_plan(opened, years), words),
        complaints=complaints, typed=typed_places(form or {}), back=f"/map?years={years}",
        trees={one.id: one for one in opened.garden.trees}, stored=keeper.store is not None,
        **acting(keeper, request, opened),
    )  # fmt: skip
