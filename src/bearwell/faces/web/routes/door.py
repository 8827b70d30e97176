"""Signing in and out."""

from __future__ import annotations

from typing import Annotated

from fastapi import Body, FastAPI, Request
from starlette.responses import RedirectResponse, Response

from bearwell.faces.language import _n, say
from bearwell.faces.web.door import Door, Shut, forget, inner, remember, session_of
from bearwell.faces.web.render import page
from bearwell.faces.web.routes.common import FORM, READ, sent_fields
from bearwell.faces.words import Words


def door_routes(app: FastAPI, door: Door) -> None:
    """Add the pages of the door."""

    def asking(request: Request, onward: str, status: int = 200, complaint: str = "") -> Response:
        plain = request.url.scheme == "http" and not _on_this_machine(request)
        return page("sign_in.html", Words(), here="", garden="", status=status, onward=onward, plain=plain,
                    complaint=complaint, locked=door.locked)  # fmt: skip

    @app.api_route("/sign-in", methods=READ)
    def sign_in(request: Request, next: str = "/") -> Response:  # noqa: A002
        if not door.locked or door.sessions.good(session_of(request.scope), door.lock().seal):
            return RedirectResponse(inner(next), 303)
        return asking(request, inner(next))

    @app.post("/sign-in")
    def signed_in(
        request: Request, body: Annotated[bytes, Body(media_type=FORM)] = b""
    ) -> Response:
        sent = sent_fields(body)
        onward = inner(sent.get("next", ["/"])[0])
        try:
            name = door.enter(
                sent.get("passphrase", [""])[0].rstrip("\r\n"),
                request.client.host if request.client else "",
            )
        except Shut as error:
            answer = asking(request, onward, error.status, _told(error))
            if error.wait:
                answer.headers["Retry-After"] = str(int(error.wait) + 1)
            return answer
        forward = RedirectResponse(onward, 303)
        remember(forward, request.scope, name)
        return forward

    @app.api_route("/sign-out", methods=READ)
    def leaving() -> Response:
        return page("sign_out.html", Words(), here="", garden="")

    @app.post("/sign-out")
    def signed_out(
        request: Request, body: Annotated[bytes, Body(media_type=FORM)] = b""
    ) -> Response:
        if sent_fields(body).get("everywhere"):
            door.sessions.end_all()
        else:
            door.sessions.end(session_of(request.scope))
        answer = RedirectResponse("/sign-in" if door.locked else "/", 303)
        forget(answer, request.scope)
        answer.headers["Clear-Site-Data"] = '"cache"'
        return answer


def _told(error: Shut) -> str:
    if not error.wait:
        return say(error.words)
    seconds = int(error.wait) + 1
    if seconds < 120:
        later = _n("Try again in {number} second.", "Try again in {number} seconds.", seconds)
    else:
        minutes = -(-seconds // 60)
        later = _n("Try again in {number} minute.", "Try again in {number} minutes.", minutes)
    return f"{say(error.words)} {later}"


def _on_this_machine(request: Request) -> bool:
    return request.url.hostname in ("127.0.0.1", "localhost", "::1")
