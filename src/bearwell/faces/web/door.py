"""The door: pages of a garden with a passphrase open to who has signed in, its calendar to who has a key."""

from __future__ import annotations

import sys
from pathlib import Path
from threading import BoundedSemaphore
from urllib.parse import parse_qs, quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bearwell.errors import BadInput
from bearwell.faces.door import FILE, Lock, read_lock
from bearwell.faces.web.limits import Allowance, Tries
from bearwell.faces.web.refuse import refusal, wants_page
from bearwell.faces.web.render import at_door
from bearwell.faces.web.sessions import LIFETIME, Sessions

COOKIE = "bearwell-session"
SAFE_COOKIE = "__Host-bearwell-session"  # over TLS: no other host and no plain page can set it
# Open to all: the page that asks, its looks, and what a browser fetches without its cookies.
OPEN = ("/sign-in", "/static/", "/sayings/", "/manifest.webmanifest", "/keeper.js")
FEED = "/calendar.ics"
ASSETS = ("/static/", "/sayings/")  # the same for all, kept by browsers
AT_THE_SAME_TIME = 2  # passphrases checked at once: each check takes 64 MiB
TRIES_AT_ONCE, TRIES_A_SECOND = 30, 0.5  # of all addresses together


class Shut(Exception):
    """Why nobody was let in: the words, and how long to wait."""

    def __init__(self, words: str, status: int, wait: float = 0.0) -> None:
        super().__init__(words)
        self.words, self.status, self.wait = words, status, wait


class Door:
    """The lock of one garden as its file stands now, with its sessions.

    ``needed`` keeps everything shut where no passphrase is set, as on a network it must be.
    """

    def __init__(
        self,
        folder: Path,
        *,
        needed: bool = False,
        kept: bool = True,
        tries: Tries | None = None,
        sessions: Sessions | None = None,
    ) -> None:
        self.folder, self.needed = folder, needed
        self.sessions = sessions or Sessions(folder, kept=kept)
        self.tries = tries or Tries()
        self._together = Allowance(TRIES_AT_ONCE, TRIES_A_SECOND)
        self._checking = BoundedSemaphore(AT_THE_SAME_TIME)
        self._stamp: tuple[int, int, int] | None = None
        self._lock = Lock()

    def lock(self) -> Lock:
        """The lock as its file stands now; raises BadInput where the file cannot be trusted."""
        try:
            found = (self.folder / FILE).stat()
            stamp = (found.st_mtime_ns, found.st_size, found.st_ino)
        except OSError:
            stamp = None
        if stamp != self._stamp:
            self._lock = Lock() if stamp is None else read_lock(self.folder)
            self._stamp = stamp
        return self._lock

    @property
    def locked(self) -> bool:
        """Whether anyone has to sign in."""
        return self.needed or bool(self.lock().passphrase)

    def enter(self, text: str, address: str) -> str:
        """A new session for who knows the passphrase; raises Shut for who does not, or tries too often."""
        lock = self.lock()
        if not lock.passphrase:
            raise Shut("No passphrase is set. Set one with: bearwell passphrase", 403)
        wait = self.tries.wait(address) or self._together.wait("")
        if wait:
            raise Shut("Too many tries.", 429, wait)
        if not self._checking.acquire(timeout=5):
            raise Shut("Too many tries at once.", 429, 5)
        try:
            fits = lock.fits(text)
        finally:
            self._checking.release()
        if not fits:
            raise Shut("That is not the passphrase.", 403)
        self.tries.worked(address)
        return self.sessions.begin(lock.seal)


class Doorkeeper:
    """Lets through who has signed in; asks the others to, or refuses what a program sent."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app, self.door = app, door
        self._told = ""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or turn it away."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        try:
            lock = self.door.lock()
        except BadInput as error:
            self._tell_keeper(str(error))
            answer = refusal(scope, 503, "The passphrase of this garden cannot be read",
                             "the machine that serves it prints why")  # fmt: skip
            await answer(scope, receive, send)
            return
        if not (self.door.needed or lock.passphrase):
            await self.app(scope, receive, send)
            return
        known = self.door.sessions.good(session_of(scope), lock.seal) and bool(lock.passphrase)
        path = str(scope["path"])
        token = at_door.set("signed in" if known else "shut")
        try:
            if known or path.startswith(OPEN) or self._calendar(scope, lock):
                await self.app(scope, receive, _unkept(send, path))
            else:
                await _ask(scope)(scope, receive, _unkept(send, path))
        finally:
            at_door.reset(token)

    def _tell_keeper(self, words: str) -> None:
        """Where files are and what is wrong with them is for who runs the server, once, not for who asks."""
        if words != self._told:
            print(f"bearwell: {words}", file=sys.stderr, flush=True)
            self._told = words

    def _calendar(self, scope: Scope, lock: Lock) -> bool:
        if scope["path"] != FEED or scope["method"] not in ("GET", "HEAD"):
            return False
        try:
            asked = parse_qs(scope["query_string"].decode("latin-1"), max_num_fields=20)
        except ValueError:
            return False
        keys = asked.get("key", [])
        return len(keys) == 1 and lock.opens_calendar(keys[0])


def _ask(scope: Scope) -> Response:
    if scope["method"] in ("GET", "HEAD") and wants_page(scope):
        query = scope["query_string"].decode("latin-1")
        wanted = quote(str(scope["path"]), safe="/") + (f"?{query}" if query else "")
        return RedirectResponse(f"/sign-in?next={quote(wanted, safe='')}", 303)
    answer = refusal(scope, 401, "Sign in first", "the page /sign-in asks for the passphrase")
    answer.headers["WWW-Authenticate"] = 'Cookie realm="bearwell"'
    return answer


def _unkept(send: Send, path: str) -> Send:
    """Pages behind a passphrase stay in no cache, so that they are gone after signing out."""

    async def send_unkept(message: Message) -> None:
        if message["type"] == "http.response.start" and not path.startswith(ASSETS):
            MutableHeaders(scope=message)["Cache-Control"] = "private, no-store"
        await send(message)

    return send_unkept


def cookie_name(scope: Scope) -> str:
    """The name of the cookie: over TLS one that only this host over TLS can set."""
    return SAFE_COOKIE if scope.get("scheme") == "https" else COOKIE


def session_of(scope: Scope) -> str:
    """The id of the session that a request carries, or nothing."""
    return cookie_parser(Headers(scope=scope).get("cookie", "")).get(cookie_name(scope), "")


def remember(answer: Response, scope: Scope, name: str) -> None:
    """Give a browser its session.

    Lax, not Strict: a tag on a tree or an entry of a calendar opens a page here from outside, and a Strict
    cookie would ask for the passphrase each time. Nothing is changed by opening a page.
    """
    answer.set_cookie(cookie_name(scope), name, max_age=LIFETIME, path="/", httponly=True, samesite="lax",
                      secure=scope.get("scheme") == "https")  # fmt: skip


def forget(answer: Response, scope: Scope) -> None:
    """Take its session from a browser."""
    answer.delete_cookie(cookie_name(scope), path="/", httponly=True, samesite="lax",
                         secure=scope.get("scheme") == "https")  # fmt: skip


def inner(address: str) -> str:
    """A path of ours to go on to after signing in; the first page where it leads elsewhere."""
    plain = address.isprintable() and "\\" not in address
    return address if plain and address.startswith("/") and not address.startswith("//") else "/"
