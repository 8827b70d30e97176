"""What stands before every request: who may ask, how, and what the answer may do in a browser."""

from __future__ import annotations

import asyncio
from collections.abc import Collection
from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bearwell.faces.language import _
from bearwell.faces.web.limits import Allowance
from bearwell.faces.web.refuse import refusal
from bearwell.said import said

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
SAFE = ("GET", "HEAD")
LARGEST_BODY = 4_000_000
LARGEST_UPLOAD = 25_000_000  # a picture with what a form wraps round it
SLOWEST_BODY = 30.0  # s in which all of a body has to arrive
SLOWEST_UPLOAD = 100_000.0  # bytes of a picture for which it is given a second more
WRITES_AT_ONCE, WRITES_A_SECOND = 300, 5.0
# Sent when signing in or out: the only requests that send something and are answered read only, since they
# change what the server remembers and nothing on disk.
DOOR = ("/sign-in", "/sign-out")
ASKS_WHERE = (
    "/begin"  # the one page that may ask a device for its position, when its button is touched
)

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}


class _TooSlow(Exception):
    """A body that does not arrive in time."""


class _TooLong(Exception):
    """A body longer than it said, or than is taken."""


class Shield:
    """Refuses foreign names and origins, bodies too long or too slow, too many writes; adds headers.

    The host check keeps a foreign page from reaching the garden through a name that it points here.
    ``by_address`` also lets any bare IP address through, which no such name can be. ``uploads`` are the
    endings of paths that take a whole picture. A request that sends something must come from our own pages,
    by what the browser itself says of it (Sec-Fetch-Site, or Origin where that is not sent).
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Collection[str] = LOOPBACK,
        *,
        by_address: bool = False,
        read_only: bool = False,
        uploads: Collection[str] = (),
        writes: Allowance | None = None,
        slowest: float = SLOWEST_BODY,
    ) -> None:
        self.app = app
        self.hosts = {host.lower() for host in hosts}
        self.by_address, self.read_only = by_address, read_only
        self.uploads, self.slowest = tuple(uploads), slowest
        self.writes = writes or Allowance(WRITES_AT_ONCE, WRITES_A_SECOND)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check the request, pass it on, and add the headers to the answer."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1000})
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                if scope["path"] == ASKS_WHERE:
                    headers["Permissions-Policy"] = "geolocation=(self)"
                headers.setdefault("Cache-Control", "private, no-cache")
            await send(message)

        asked = Headers(scope=scope)
        answer: ASGIApp = self._refusal(scope, asked) or self.app
        if answer is self.app and scope["method"] not in SAFE:
            try:
                receive = await self._whole_body(scope, asked, receive)
            except _TooSlow:
                answer = refusal(scope, 408, "What was sent took too long to arrive", "try again")
            except _TooLong:
                answer = self._too_long(scope)
        await answer(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope, asked: Headers) -> Response | None:
        if not self._known(asked.get("host", "")):
            return PlainTextResponse(
                _("This name is not served here. Use the address that was printed."), 400
            )
        if scope["method"] in SAFE:
            return None
        if self.read_only and scope["path"] not in DOOR:
            return refusal(scope, 403, "Served read only", "nothing can be sent here")
        if not own_origin(asked):
            return refusal(
                scope, 403, "This was sent from a page of another place",
                "open the page here and send it from there",
            )  # fmt: skip
        client = scope.get("client")
        wait = self.writes.wait(client[0] if client else "")
        if wait:
            return refusal(
                scope, 429, "Too much was sent at once", "wait a little, then go on", wait
            )
        if "transfer-encoding" in asked:
            return refusal(scope, 411, "It was not said how long this is", "send a Content-Length")
        length = asked.get("content-length", "0")
        if not (length.isascii() and length.isdigit()):
            return refusal(scope, 400, "Its Content-Length is not a number")
        if int(length[:20]) > self._most(scope):
            return self._too_long(scope)
        return None

    def _uploads(self, scope: Scope) -> bool:
        return str(scope["path"]).endswith(self.uploads)

    def _most(self, scope: Scope) -> int:
        return LARGEST_UPLOAD if self._uploads(scope) else LARGEST_BODY

    def _too_long(self, scope: Scope) -> Response:
        most = f"{self._most(scope) // 1_000_000} MB"
        return refusal(scope, 413, "That is too much at once", said("{size} at most", size=most))

    async def _whole_body(self, scope: Scope, asked: Headers, receive: Receive) -> Receive:
        """All of the body before a page sees any of it, so that a slow sender holds up nothing else."""
        most = min(int(asked.get("content-length", "0")), self._most(scope))
        given = self.slowest + (most / SLOWEST_UPLOAD if self._uploads(scope) else 0.0)
        parts: list[bytes] = []
        size, more = 0, True
        try:
            async with asyncio.timeout(given):
                while more:
                    message = await receive()
                    if message["type"] != "http.request":
                        return _once(message, receive)
                    parts.append(message.get("body", b""))
                    size += len(parts[-1])
                    more = message.get("more_body", False)
                    if size > most:
                        raise _TooLong
        except TimeoutError:
            raise _TooSlow from None
        return _once({"type": "http.request", "body": b"".join(parts), "more_body": False}, receive)

    def _known(self, host: str) -> bool:
        name = host.lower()
        name = name[: name.rfind("]") + 1] if name.startswith("[") else name.rsplit(":", 1)[0]
        if name in self.hosts:
            return True
        if not self.by_address:
            return False
        try:
            ip_address(name.strip("[]"))
        except ValueError:
            return False
        return True


def own_origin(asked: Headers) -> bool:
    """Whether a request that sends something comes from a page of ours, or from no page at all.

    Browsers tell where a request comes from in headers that a page cannot set: Sec-Fetch-Site over TLS and on
    this machine, Origin everywhere. What sends neither is no browser, and carries nobody's sign-in by itself.
    """
    site = asked.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = asked.get("origin")
    if origin is None:
        return True
    try:
        return urlsplit(origin).netloc.lower() == asked.get("host", "").lower() != ""
    except ValueError:
        return False


def _once(message: Message, receive: Receive) -> Receive:
    """Give this message first, then what comes."""
    waiting = [message]

    async def next_message() -> Message:
        return waiting.pop() if waiting else await receive()

    return next_message
