"""How a request is turned away before it reaches a page: as a page, as JSON or as a plain line."""

from __future__ import annotations

from math import ceil

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, Response
from starlette.types import Scope

from bearwell.errors import Problem
from bearwell.faces.language import _
from bearwell.faces.problems import with_hint
from bearwell.faces.twins import problem_twin
from bearwell.faces.web.render import page, twin
from bearwell.faces.words import Words


def wants_json(scope: Scope) -> bool:
    """Whether the answer is read by a program: a twin was asked for, or JSON rather than a page."""
    accepted = Headers(scope=scope).get("accept", "")
    return str(scope["path"]).endswith(".json") or (
        "application/json" in accepted and "text/html" not in accepted
    )


def wants_page(scope: Scope) -> bool:
    """Whether the answer is read by a person in a browser."""
    return not wants_json(scope) and "text/html" in Headers(scope=scope).get("accept", "")


def refusal(scope: Scope, status: int, message: str, hint: str = "", wait: float = 0.0) -> Response:
    """The answer that turns a request away; ``wait`` seconds are told as Retry-After."""
    problem = Problem("request", message, hint)
    answer: Response
    if wants_json(scope):
        answer = twin({"problems": [problem_twin(problem)]}, status)
    elif wants_page(scope):
        answer = page("refused.html", Words(), here="", garden="", status=status,
                      heading=_("That cannot be served"), problems=[problem])  # fmt: skip
    else:
        answer = PlainTextResponse(f"{with_hint(message, hint)}.", status)
    if wait:
        answer.headers["Retry-After"] = str(ceil(wait))
    return answer
