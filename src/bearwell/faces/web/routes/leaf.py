"""The key to sick leaves."""

from __future__ import annotations

from fastapi import FastAPI, Request
from starlette.responses import Response

from bearwell.api import knowledge
from bearwell.faces.twins import words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import knowledge as knowledge_page
from bearwell.faces.web.pages import leaf as leaf_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, named, open_or_none
from bearwell.faces.words import Words


def leaf_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the key."""

    def typed(request: Request) -> dict[str, list[str]]:
        return {key: request.query_params.getlist(key) for key in request.query_params}

    @app.api_route("/leaf.json", methods=READ)
    def leaf_json(request: Request) -> Response:
        opened = open_or_none(keeper)
        book = opened.book if opened else knowledge()
        outcome = leaf_page.compute(typed(request), opened, book)
        return twin(leaf_page.leaf_twin(outcome, words_of(opened) if opened else Words()))

    @app.api_route("/leaf", methods=READ)
    def leaf(request: Request) -> Response:
        opened = open_or_none(keeper)
        about, words = named(opened), words_of(opened) if opened else Words()
        outcome = leaf_page.answer(typed(request), opened, about["book"])
        query = f"?{request.url.query}" if request.url.query else ""
        return page(
            "leaf.html", words, here="reckon", status=422 if outcome.complaint else 200, **about,
            twin=f"/leaf.json{query}", outcome=outcome, kinds=knowledge_page.kinds(about["book"]),
            trees=opened.garden.trees if opened else (), sort_words=leaf_page.SORT_WORDS,
            likelihood_words=leaf_page.LIKELIHOOD_WORDS,
        )  # fmt: skip
