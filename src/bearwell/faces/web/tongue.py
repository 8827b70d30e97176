"""Which language a request is answered in."""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl, quote, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bearwell.faces.language import ENGLISH, known, preferred, spoken
from bearwell.faces.web.render import asked

ASKED = "language"  # the name of the query field and of the cookie
KEPT_FOR = 365 * 24 * 3600  # s


class Tongue:
    """Chooses the language of an answer.

    A page speaks the language named in its address (``?language=pt``), which the browser then keeps; else the
    one it kept; else the one its owner's browser likes best; else English. What programs read (JSON, the
    calendar, files) is in English unless its address, or what the browser kept, names a language.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer in the language chosen."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        query = parse_qsl(scope["query_string"].decode("latin-1"), keep_blank_values=True)
        named = known(next((value for key, value in query if key == ASKED), None))
        headers = Headers(scope=scope)
        read_by_person = "text/html" in headers.get("accept", "")
        language = named or _kept(headers)
        if language is None and read_by_person:
            language = preferred(headers.get("accept-language", ""))
        rest = [(key, value) for key, value in query if key != ASKED]
        if len(rest) < len(query):  # the rest of the house never sees it
            scope = {**scope, "query_string": urlencode(rest).encode("ascii")}
        before = spoken.set(language or ENGLISH), asked.set(_address(scope, rest))

        async def send_with_language(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                if answer.get("content-type", "").startswith("text/html"):
                    answer["Content-Language"] = language or ENGLISH
                    answer.add_vary_header("Accept-Language")
                    answer.add_vary_header("Cookie")
                    if named and read_by_person:
                        answer.append(
                            "Set-Cookie", _cookie(named, secure=scope["scheme"] == "https")
                        )
            await send(message)

        try:
            await self.app(scope, receive, send_with_language)
        finally:
            spoken.reset(before[0])
            asked.reset(before[1])


def of_pages(headers: Headers) -> str:
    """The language in which the sender of these headers reads pages."""
    return _kept(headers) or preferred(headers.get("accept-language", "")) or ENGLISH


def _address(scope: Scope, query: list[tuple[str, str]]) -> str:
    """Where the same is shown in another language; the first page where a form was sent."""
    if scope["method"] not in ("GET", "HEAD"):
        return "/"
    path = quote(scope["path"])
    return f"{path}?{urlencode(query)}" if query else path


def _kept(headers: Headers) -> str | None:
    cookies: SimpleCookie = SimpleCookie()
    try:
        cookies.load(headers.get("cookie", ""))
    except CookieError:
        return None
    return known(cookies[ASKED].value) if ASKED in cookies else None


def _cookie(language: str, *, secure: bool) -> str:
    mark = "; Secure" if secure else ""
    return f"{ASKED}={language}; Max-Age={KEPT_FOR}; Path=/; HttpOnly; SameSite=Lax{mark}"
