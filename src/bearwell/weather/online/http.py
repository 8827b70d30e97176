"""One request to a service: bounded tries, waits that grow, and answers that are looked at twice."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING

from bearwell import __version__
from bearwell.errors import BadFile, BearwellError
from bearwell.said import said
from bearwell.weather.rules import rule

if TYPE_CHECKING:
    import httpx2

AGENT = f"bearwell/{__version__} (weather of one garden, on its grower's request)"
_TRY_AGAIN = (429, 500, 502, 503, 504)
_REFUSED = 400
_SECONDS = 60


class NoAnswer(BearwellError):
    """A service could not be reached, or what it sent cannot be used.

    ``refused`` tells that it understood and would not: asking for less may help.
    """

    def __init__(self, message: str, hint: str = "", *, refused: bool = False) -> None:
        super().__init__(message, hint)
        self.refused = refused


def asking() -> httpx2.Client:
    """What requests are made with: one for all of a fetch, to be closed after it."""
    import httpx2

    spans = httpx2.Timeout(rule("online.read"), connect=rule("online.connect"))
    return httpx2.Client(timeout=spans, headers={"User-Agent": AGENT, "Accept": "application/json"})


def get(
    client: httpx2.Client,
    address: str,
    query: Mapping[str, str],
    *,
    now: datetime,
    sleep: Callable[[float], None],
    check: Callable[[str], None],
) -> str:
    """The text a service answers with.

    Tries again on time-outs, broken connections, cut-off answers and the statuses that mean "later",
    after waits that double; honours Retry-After up to ``online.longest_wait``. ``check`` raises
    BadFile for a text that cannot be used. Raises NoAnswer with the last reason.
    """
    import httpx2

    wait, tries = rule("online.first_wait"), int(rule("online.tries"))
    reason = ""
    for turn in range(tries):
        pause = wait * 2.0**turn
        try:
            status, kind, later, text = _once(client, address, query)
        except httpx2.TimeoutException:
            reason = "it did not answer in time"
        except httpx2.TransportError as error:
            reason = said(
                "the connection failed: {reason}", reason=str(error) or type(error).__name__
            )
        except httpx2.DecodingError:
            reason = "its answer came in damaged"
        else:
            if status in _TRY_AGAIN:
                reason = _busy(status)
                pause = _asked_wait(later, now, pause)
            else:
                reason = _unfit(status, kind, text)
                if reason:
                    raise NoAnswer(reason, "nothing was kept of it", refused=status == _REFUSED)
                try:
                    check(text)
                except BadFile as error:
                    reason = error.problems[-1].message
                    if "cut off" not in reason and "half an answer" not in reason:
                        raise NoAnswer(reason, error.problems[-1].hint) from None
                else:
                    return text
        if turn + 1 < tries:
            sleep(pause)
    raise NoAnswer(
        said("{reason}, {tries} times", reason=said(reason), tries=tries),
        "try again later; what was kept before still serves",
    )


def _once(
    client: httpx2.Client, address: str, query: Mapping[str, str]
) -> tuple[int, str, str, str]:
    """One try: status, content type, Retry-After and text; an answer beyond measure is refused."""
    largest = int(rule("online.largest") * 1e6)
    with client.stream("GET", address, params=dict(query)) as answer:
        parts, size = [], 0
        for part in answer.iter_bytes():
            parts.append(part)
            size += len(part)
            if size > largest:
                raise NoAnswer(
                    said("its answer is larger than {most} MB", most=largest // 1_000_000)
                )
        headers = answer.headers
        text = b"".join(parts).decode("utf-8", errors="replace")
        return (
            answer.status_code,
            headers.get("content-type", ""),
            headers.get("retry-after", ""),
            text,
        )


def _busy(status: int) -> str:
    return (
        "it asks to come less often (429)"
        if status == 429
        else said("it has trouble of its own ({status})", status=status)
    )


def _unfit(status: int, kind: str, text: str) -> str:
    """Why an answer cannot be used; "" where it can."""
    start = text.lstrip()[:1]
    if status >= 400:
        return said(
            "it refused the request ({status}): {reason}", status=status, reason=_told(text)
        )
    if status >= 300:
        return said("it sent us elsewhere ({status}), which is not followed", status=status)
    if start == "<":
        return "it answered with a web page in place of data"
    if "json" not in kind.lower():
        return said(
            "it answered with '{kind}' in place of JSON", kind=kind or said("nothing named")
        )
    return ""


def _told(text: str) -> str:
    try:
        told = json.loads(text)
        reason = (
            told.get("reason") or told.get("detail") or told.get("messages") or told.get("errors")
        )
    except (ValueError, AttributeError):
        reason = None
    return str(reason)[:200] if reason else said("no reason given")


def _asked_wait(later: str, now: datetime, usual: float) -> float:
    """The wait a service asks for; raises NoAnswer where it is longer than a grower waits."""
    if not later.strip():
        return usual
    try:
        seconds = float(later)
    except ValueError:
        try:
            seconds = (parsedate_to_datetime(later) - now).total_seconds()
        except (ValueError, TypeError):
            return usual
    if seconds > rule("online.longest_wait"):
        raise NoAnswer(
            said(
                "it asks to wait {minutes:.0f} minutes before the next request",
                minutes=seconds / _SECONDS,
            ),
            "try again later",
        )
    return max(seconds, usual)
