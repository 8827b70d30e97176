"""The weather record."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import weather_record
from bearwell.faces.twins import words_of
from bearwell.faces.twins_weather import weather_twin
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import weather as weather_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ


def weather_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the page of the record."""

    @app.api_route("/weather.json", methods=READ)
    def weather_json() -> Response:
        opened = keeper.garden()
        return twin(weather_twin(opened, weather_record(opened), words_of(opened)))

    @app.api_route("/weather", methods=READ)
    def weather() -> Response:
        opened = keeper.garden()
        record, words = weather_record(opened), words_of(opened)
        return page(
            "weather.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/weather.json", **weather_page.weather_shown(opened, record, words),
        )  # fmt: skip
