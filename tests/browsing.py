"""Pages in a browser for the tests: made, gone to, left and waited for so that no test depends on speed."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest

PATIENCE = 60  # seconds after which something hangs; nothing is meant to take so long
PHONE = 390  # pixels across
FINGER = 43.5  # pixels: 44 of them are drawn, less what rounding takes
ABORTED = ("interrupted", "ERR_ABORTED")  # what a browser says of a way that another one cut off


def settings(width: int = PHONE, height: int = 800, **more: Any) -> dict[str, Any]:
    """How a page is looked at: scrolled at once, and nothing is kept in the background meanwhile."""
    return {
        "viewport": {"width": width, "height": height}, "reduced_motion": "reduce", "service_workers": "block",
    } | more  # fmt: skip


def page_of(browser: Any, width: int = PHONE, height: int = 800, **more: Any) -> Any:
    """A page with a device of its own, which goes when the page is closed."""
    page = browser.new_page(**settings(width, height, **more))
    page.set_default_timeout(PATIENCE * 1000)
    return page


def context_of(browser: Any, width: int = PHONE, height: int = 800, **more: Any) -> Any:
    """A device of its own, for several pages."""
    context = browser.new_context(**settings(width, height, **more))
    context.set_default_timeout(PATIENCE * 1000)
    return context


def expect(what: Any) -> Any:
    """What is claimed of a page or a part of it, and waited for."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    sync_api.expect.set_options(timeout=PATIENCE * 1000)
    return sync_api.expect(what)


def until(true: Callable[[], Any], what: str) -> None:
    """Ask again and again until it is true.

    A page's own `wait_for_function` cannot be used: our pages allow no code from a text, so it fails where it
    has to ask twice.
    """
    limit = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < limit, f"never: {what}"
        time.sleep(0.05)


def complaints_of(page: Any) -> list[str]:
    """A list that fills with what goes wrong on a page: errors of scripts, and what the browser says of them."""
    found: list[str] = []

    def said(message: Any) -> None:
        if "blocked by Playwright" not in message.text:  # no worker in the background, as asked for
            found.append(message.text)

    page.on("console", said)
    page.on("pageerror", lambda error: found.append(str(error)))
    return found


# ---------------------------------------------------------------- ways


def go(page: Any, address: str) -> Any:
    """Go to an address, again where the page was just being shown anew by itself; gives the answer."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    for _ in range(5):
        try:
            return page.goto(address)
        except sync_api.Error as error:
            if not any(word in str(error) for word in ABORTED):
                raise
    return page.goto(address)


def fresh(page: Any, address: str) -> None:
    """Go there until the garden answers: a page kept on the device is shown where that takes long."""
    until(lambda: "x-kept-at" not in go(page, address).headers, f"{address} from the garden")


def back(page: Any) -> None:
    """Go back, and wait for the page that comes."""
    with page.expect_navigation():
        page.evaluate("history.back()")


def noted(page: Any) -> Any:
    """Wait for the page that tells what was recorded, all of it; gives the words."""
    words = page.locator("#told")
    words.wait_for()
    page.wait_for_load_state()
    return words


def leave(context: Any) -> None:
    """Close a device. A page just being shown anew could hold that up for ever: each goes to an empty one first."""
    for page in context.pages:
        go(page, "about:blank")
    context.close()


# ---------------------------------------------------------------- looks


def drawn(page: Any) -> None:
    """Wait until what was touched shows: two frames."""
    page.evaluate(
        "async () => { for (let n = 0; n < 2; n += 1) await new Promise(requestAnimationFrame); }"
    )


def unfold(page: Any) -> None:
    """Open everything on the page that can be opened."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")


def fits(page: Any, width: int = PHONE, *, targets: str = "", where: str = "") -> None:
    """Nothing reaches beyond the screen, and fingers find every target that this selects."""
    widest = page.evaluate("document.documentElement.scrollWidth")
    assert widest <= width, f"{where} is {widest} px wide"
    small = page.evaluate(
        """([targets, least]) => [...document.querySelectorAll(targets || ':not(*)')]
            .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < least)
            .map(one => one.outerHTML.slice(0, 120))""",
        [targets, FINGER],
    )
    assert small == [], where
