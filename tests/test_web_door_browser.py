"""The door in a real browser: signing in on a phone, going back after signing out, and forms of other sites."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.responses import HTMLResponse
from starlette.routing import Route

from bearwell.faces import door
from browsing import back, context_of, expect, fits, leave
from running import running
from web_garden import TODAY, write_garden

pytestmark = pytest.mark.browser

PASSPHRASE = "terns nest on the ledge"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a running application behind a passphrase."""
    from bearwell.faces.web import create_app

    path = write_garden(tmp_path_factory.mktemp("garden"))
    door.set_passphrase(path.parent, PASSPHRASE)
    app = create_app(path, today=lambda: TODAY)
    with running(app) as (place, _):
        yield place


@pytest.fixture
def phone(browser: Any) -> Iterator[Any]:
    """A page on a phone, which keeps pages in the background as phones do."""
    context = context_of(browser, service_workers="allow")
    yield context.new_page()
    leave(context)


def sign_in(page: Any, address: str) -> None:
    page.goto(f"{address}/trees")
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{address}/trees")


def test_signing_in_and_out_on_a_phone(phone: Any, address: str) -> None:
    complaints: list[str] = []
    phone.on(
        "console", lambda said: complaints.append(said.text) if "ecurity" in said.text else None
    )
    sign_in(phone, address)
    assert phone.evaluate("document.cookie") == "", "no script sees the session"
    phone.get_by_role("link", name="Sign out").click()
    phone.wait_for_url(f"{address}/sign-out*")
    fits(phone, targets="button, .foot-links a")
    phone.get_by_role("button", name="Sign out here").click()
    phone.wait_for_url(f"{address}/sign-in*")
    for _ in range(2):
        back(phone)
        expect(phone.locator("h1")).to_contain_text("Sign in")
        expect(phone.locator("h1")).not_to_contain_text("Trees")
    assert complaints == []


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost"], ids=["same site", "other site"])
def test_a_form_of_another_page_is_refused_and_leaves_the_session(
    phone: Any, address: str, name: str
) -> None:
    sign_in(phone, address)
    form = (
        f'<form method="post" action="{address}/sign-out"><button name="everywhere" value="yes">prize</button></form>'
        f'<a href="{address}/trees">link</a><iframe src="{address}/trees"></iframe>'
    )
    other_site = Starlette(routes=[Route("/", lambda _: HTMLResponse(form))])
    with running(other_site) as (home, _):
        port = home.rpartition(":")[2]
        phone.goto(f"http://{name}:{port}/")
        with phone.expect_navigation() as went:
            phone.get_by_role("button", name="prize").click()
        assert went.value.status == 403
        phone.goto(f"http://{name}:{port}/")
        framed = phone.frames[1]
        assert "Trees" not in (framed.content() if "chrome-error" not in framed.url else "")
        with phone.expect_navigation() as went:
            phone.get_by_role("link", name="link").click()
        assert went.value.status == 200
        assert phone.url == f"{address}/trees", (
            "a link from elsewhere opens the page, still signed in"
        )
