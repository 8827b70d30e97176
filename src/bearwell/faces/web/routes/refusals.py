"""What is answered when a request cannot be served: the same words as a page or as JSON."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from bearwell.api import gravest_first
from bearwell.errors import BadInput, Problem
from bearwell.faces.language import N_, _
from bearwell.faces.twins import problem_twin
from bearwell.faces.web.keeper import Keeper, Spoiled
from bearwell.faces.web.refuse import wants_json
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import named, open_or_none
from bearwell.faces.words import Words
from bearwell.said import Said, said

# What is said of a value in an address that is not of its kind.
_OTHER_KIND = N_("input should be a valid integer, unable to parse string as an integer")


def _wrong(words: str) -> Said:
    return said(words[:1].lower() + words[1:])


def refusals(app: FastAPI, keeper: Keeper) -> None:
    """Add what is answered when a request cannot be served."""

    def told(request: Request, status: int, heading: str, problems: Sequence[Problem]) -> Response:
        if wants_json(request.scope):
            return twin({"problems": [problem_twin(problem) for problem in problems]}, status)
        opened = open_or_none(keeper)
        return page("refused.html", Words(), here="", **named(opened), heading=heading, problems=problems,
                    status=status)  # fmt: skip

    @app.exception_handler(Spoiled)
    def spoiled(request: Request, error: Spoiled) -> Response:
        if request.url.path.endswith(".json"):
            return twin({"problems": [problem_twin(problem) for problem in error.problems]}, 422)
        if keeper.empty:
            return RedirectResponse("/begin", 303)
        return page("spoiled.html", Words(), here="", garden="", status=200,
                    problems=gravest_first(error.problems))  # fmt: skip

    @app.exception_handler(BadInput)
    def bad(request: Request, error: BadInput) -> Response:
        return told(
            request,
            422,
            _("That cannot be served"),
            [Problem("request", error.message, error.hint)],
        )

    @app.exception_handler(RequestValidationError)
    def invalid(request: Request, error: RequestValidationError) -> Response:
        problems = [
            Problem(
                "request", said("{field}: {wrong}", field=one["loc"][-1], wrong=_wrong(one["msg"]))
            )
            for one in error.errors()
        ]
        return told(request, 422, _("That cannot be served"), problems)

    @app.exception_handler(HTTPException)
    def refused(request: Request, error: HTTPException) -> Response:
        missing = error.status_code == 404
        heading = _("There is no such page") if missing else _("That cannot be served")
        detail = "" if error.detail in ("Not Found", "Method Not Allowed") else error.detail
        problems = [Problem("request", detail)] if detail else []
        return told(request, error.status_code, heading, problems)
