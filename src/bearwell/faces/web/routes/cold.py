"""Cold: tonight, and the winters."""

from __future__ import annotations

from fastapi import FastAPI, Request
from starlette.responses import Response

from bearwell.faces.twins import words_of
from bearwell.faces.twins_cold import tonight_twin, winter_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import tonight as tonight_page
from bearwell.faces.web.pages import winter as winter_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ


def cold_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of cold."""

    @app.api_route("/tonight.json", methods=READ)
    def tonight_json(request: Request) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        said = tonight_page.typed(opened, request.query_params)
        if said.complaint is not None:
            return twin({"error": said.complaint.message, "hint": said.complaint.hint}, 422)
        return twin(tonight_twin(opened, tonight_page.shown(opened, said, words)["ahead"], words))

    @app.api_route("/tonight", methods=READ)
    def tonight(request: Request) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        said = tonight_page.typed(opened, request.query_params)
        query = f"?{request.url.query}" if request.url.query and said.reading else ""
        return page(
            "tonight.html", words, here="tonight", garden=opened.garden.about.name, book=opened.book,
            twin=f"/tonight.json{query}", status=422 if said.complaint else 200,
            **tonight_page.shown(opened, said, words),
        )  # fmt: skip

    @app.api_route("/winter.json", methods=READ)
    def winter_json() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return twin(winter_twin(opened, winter_page.shown(opened, words)["seen"], words))

    @app.api_route("/winter", methods=READ)
    def winter() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "winter.html", words, here="tonight", garden=opened.garden.about.name, book=opened.book,
            twin="/winter.json", **winter_page.shown(opened, words),
        )  # fmt: skip
