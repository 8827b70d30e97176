"""The first minutes: a garden begun on a phone, trees from a plain list, or a look at the invented garden."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated

from fastapi import Body, FastAPI, Request
from starlette.responses import RedirectResponse, Response

from bearwell.api import knowledge
from bearwell.errors import BadFile, BadInput, Problem
from bearwell.faces.twins import words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import begin as begin_page
from bearwell.faces.web.pages.typed import Form
from bearwell.faces.web.render import page
from bearwell.faces.web.routes.common import FORM, READ, sent_fields
from bearwell.faces.web.routes.record import acting
from bearwell.faces.words import Words

if TYPE_CHECKING:
    from bearwell.api import Recorded, Store

Sent = Annotated[bytes, Body(media_type=FORM)]
Write = Callable[["Store", Form, datetime, date], "Recorded"]


def begin_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of the first minutes."""

    def start(form: Form | None = None, problems: list[Problem] | None = None) -> Response:
        if not keeper.empty:
            return RedirectResponse("/", 303)
        return page(
            "begin.html", Words(), here="", garden="", complaints=problems or [], status=422 if problems else 200,
            **begin_page.shown(knowledge(), form), **acting(keeper),
        )  # fmt: skip

    def trees(
        request: Request, form: Form | None = None, problems: list[Problem] | None = None
    ) -> Response:
        if keeper.empty:
            return RedirectResponse("/begin", 303)
        opened = keeper.garden()
        if not keeper.may_record:
            return page("unrecorded.html", words_of(opened), here="trees", garden=opened.garden.about.name,
                        book=opened.book)  # fmt: skip
        return page(
            "begin_trees.html", words_of(opened), here="trees", garden=opened.garden.about.name, book=opened.book,
            opened=opened, complaints=problems or [], status=422 if problems else 200,
            **begin_page.shown(opened.book, form), **acting(keeper, request, opened),
        )  # fmt: skip

    def written(
        body: bytes,
        write: Write,
        again: Callable[[Form, list[Problem]], Response],
    ) -> Response:
        form = sent_fields(body)
        if keeper.store is None or not keeper.may_record:
            raise BadInput("nothing can be recorded here", "bearwell serve --data FOLDER")
        try:
            done = write(keeper.store, form, keeper.now(), keeper.today())
        except BadFile as error:
            return again(form, list(error.problems))
        except BadInput as error:
            return again(form, [Problem("request", error.message, error.hint)])
        return RedirectResponse(f"/begin/trees?told={done.id}#told", 303)

    @app.api_route("/begin", methods=READ)
    def begin() -> Response:
        return start()

    @app.post("/begin")
    def begun(body: Sent = b"") -> Response:
        return written(body, begin_page.begin, start)

    @app.api_route("/begin/trees", methods=READ)
    def plant(request: Request) -> Response:
        return trees(request)

    @app.post("/begin/trees")
    def planted(request: Request, body: Sent = b"") -> Response:
        return written(body, begin_page.plant, lambda form, why: trees(request, form, why))

    _demo_routes(app, keeper)


def _demo_routes(app: FastAPI, keeper: Keeper) -> None:
    """The invented garden, one touch away and back."""

    @app.post("/begin/demo")
    def demo() -> Response:
        keeper.look_at_demo()
        return RedirectResponse("/", 303)

    @app.post("/begin/own")
    def own() -> Response:
        keeper.leave_demo()
        return RedirectResponse("/begin", 303)
