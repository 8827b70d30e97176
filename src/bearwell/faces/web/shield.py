"""What stands before every request: who may ask, how, and what the answer may do in a browser."""

from __future__ import annotations

from collections.abc import Collection
from ipaddress import ip_address

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
LARGEST_BODY = 4_000_000

HEADERS = {
    "Content-Security-Policy": "default-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'; object-src 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


class Shield:
    """Refuses foreign host names, oversized bodies and, when read only, anything that sends; adds headers.

    The host check keeps a foreign page from reaching the garden through a name that it points here.
    ``by_address`` also lets any bare IP address through, which no such name can be.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Collection[str] = LOOPBACK,
        *,
        by_address: bool = False,
        read_only: bool = False,
    ) -> None:
        self.app = app
        self.hosts = {host.lower() for host in hosts}
        self.by_address, self.read_only = by_address, read_only

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check the request, pass it on, and add the headers to the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-cache")
            await send(message)

        asked = Headers(scope=scope)
        refusal = self._refusal(scope["method"], asked)
        await (refusal or self.app)(scope, receive, send_with_headers)

    def _refusal(self, method: str, asked: Headers) -> PlainTextResponse | None:
        if not self._known(asked.get("host", "")):
            return PlainTextResponse(
                "This name is not served here. Use the address that was printed.", 400
            )
        if method not in ("GET", "HEAD"):
            if self.read_only:
                return PlainTextResponse("Served read only.", 403)
            length = asked.get("content-length", "")
            if not length.isdigit():
                return PlainTextResponse("Say how long it is.", 411)
            if int(length) > LARGEST_BODY:
                return PlainTextResponse(f"Too long: {LARGEST_BODY // 1_000_000} MB at most.", 413)
        return None

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
