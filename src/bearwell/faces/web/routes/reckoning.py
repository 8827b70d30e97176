"""The reckoners as pages."""

from __future__ import annotations

from typing import Annotated

from fastapi import Body, FastAPI, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response

from bearwell.api import Reckoner, knowledge, reckoners
from bearwell.faces.twins import reckoning_twin, words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import knowledge as knowledge_page
from bearwell.faces.web.pages import reckoning as reckoning_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import FORM, READ, named, open_or_none, sent_fields
from bearwell.faces.words import Words
from bearwell.said import said


def reckoner_routes(app: FastAPI, keeper: Keeper, *, read_only: bool) -> None:
    """Add the list of reckoners and a page for each."""

    def chosen(name: str) -> Reckoner:
        try:
            return reckoners()[name]
        except KeyError:
            raise HTTPException(404, said("There is no reckoner '{name}'", name=name)) from None

    def typed(request: Request) -> dict[str, list[str]]:
        return {key: request.query_params.getlist(key) for key in request.query_params}

    def shown(name: str, given: dict[str, list[str]]) -> Response:
        reckoner, opened = chosen(name), open_or_none(keeper)
        words = words_of(opened) if opened else Words()
        files = reckoning_page.files_of(opened)
        outcome = reckoning_page.answer(reckoner, given, files)
        return page(
            "reckoner.html", words, here="reckon", status=422 if outcome.failed else 200, outcome=outcome,
            **named(opened), reckoner=reckoner, title=reckoning_page.title, files=files, read_only=read_only,
            example=reckoning_page.example_of(reckoner), kinds=knowledge_page.kinds(knowledge()),
            lines=reckoning_page.result_lines(outcome.done, words) if outcome.done else [],
            tables=reckoning_page.result_tables(outcome.done, words) if outcome.done else [],
        )  # fmt: skip

    @app.api_route("/reckon/{name}.json", methods=READ)
    def reckoner_json(name: str, request: Request) -> Response:
        reckoner, opened = chosen(name), open_or_none(keeper)
        given = {key: texts for key, texts in typed(request).items() if any(texts)}
        done = reckoning_page.compute(reckoner, given, reckoning_page.files_of(opened))
        return twin(reckoning_twin(done, words_of(opened) if opened else Words()))

    @app.api_route("/reckon", methods=READ)
    def reckoner_list() -> Response:
        opened = open_or_none(keeper)
        return page("reckon.html", words_of(opened) if opened else Words(), here="reckon", **named(opened),
                    reckoners=list(reckoners().values()), title=reckoning_page.title)  # fmt: skip

    @app.api_route("/reckon/{name}", methods=READ)
    def reckoner_page(name: str, request: Request) -> Response:
        return shown(name, typed(request))

    @app.post("/reckon/{name}")
    def reckoner_sent(name: str, body: Annotated[bytes, Body(media_type=FORM)] = b"") -> Response:
        return shown(name, sent_fields(body))
