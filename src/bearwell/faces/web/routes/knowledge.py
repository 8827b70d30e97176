"""What is known: kinds of tree, sources, how sure it is."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response

from bearwell.api import knowledge
from bearwell.errors import BadInput
from bearwell.faces.twins import words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import knowledge as knowledge_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ, named, not_found, open_or_none
from bearwell.faces.words import Words


def knowledge_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of what is known."""

    @app.api_route("/kind/{key}.json", methods=READ)
    def kind_json(key: str) -> Response:
        opened = open_or_none(keeper)
        book = opened.book if opened else knowledge()
        words = words_of(opened) if opened else Words()
        try:
            return twin(knowledge_page.kind_twin(book.kind(key), book, words))
        except BadInput as error:
            raise not_found(error) from None

    @app.api_route("/kind", methods=READ)
    def kind_list() -> Response:
        opened = open_or_none(keeper)
        book = opened.book if opened else knowledge()
        return page(
            "kinds.html",
            Words(),
            here="sources",
            **named(opened),
            kinds=knowledge_page.kinds(book),
        )

    @app.api_route("/kind/{key}", methods=READ)
    def kind(key: str) -> Response:
        opened = open_or_none(keeper)
        book = opened.book if opened else knowledge()
        words = words_of(opened) if opened else Words()
        try:
            species = book.kind(key)
        except BadInput as error:
            raise not_found(error) from None
        found = knowledge_page.chapters(species, book, words)
        return page("kind.html", words, here="sources", **named(opened), species=species, chapters=found,
                    twin=f"/kind/{species.key}.json")  # fmt: skip

    @app.api_route("/sources", methods=READ)
    def sources() -> Response:
        opened = open_or_none(keeper)
        book = opened.book if opened else knowledge()
        listed = sorted(book.sources.values(), key=lambda one: (one.cite().lower(), one.key))
        return page("sources.html", Words(), here="sources", **named(opened), sources=listed)

    @app.api_route("/why", methods=READ)
    def why() -> Response:
        return page("why.html", Words(), here="why", **named(open_or_none(keeper)))
