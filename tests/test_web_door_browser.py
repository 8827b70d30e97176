"""The door in a real browser: signing in on a phone, going back after signing out, and forms of other sites."""

from __future__ import annotations

import http.server
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from bearwell.faces import door
from running import running
from web_garden import TODAY, write_garden

pytestmark = pytest.mark.browser

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
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
def phone(chromium: str) -> Iterator[object]:
    """A page of a headless Chromium the size of a phone."""
    with playwright.sync_playwright() as engine:
        found = engine.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
        )
        yield found.new_page(viewport={"width": 390, "height": 800})
        found.close()


def sign_in(page, address: str) -> None:  # type: ignore[no-untyped-def]
    page.goto(f"{address}/trees")
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()
    assert page.url == f"{address}/trees"


def test_signing_in_and_out_on_a_phone(phone, address: str) -> None:  # type: ignore[no-untyped-def]
    complaints: list[str] = []
    phone.on(
        "console", lambda said: complaints.append(said.text) if "ecurity" in said.text else None
    )
    sign_in(phone, address)
    assert phone.evaluate("document.cookie") == "", "no script sees the session"
    phone.get_by_role("link", name="Sign out").click()
    phone.get_by_role("button", name="Sign out here").wait_for()
    widest = phone.evaluate("document.documentElement.scrollWidth")
    assert widest <= 390
    small = phone.evaluate(
        "[...document.querySelectorAll('button, .foot-links a')].filter(one => one.getBoundingClientRect().height < 43.5).length"
    )
    assert small == 0
    phone.get_by_role("button", name="Sign out here").click()
    assert phone.url.startswith(f"{address}/sign-in")
    for _ in range(2):
        phone.go_back()
        assert "Sign in" in phone.locator("h1").text_content()
        assert "Trees" not in phone.locator("h1").text_content()
    assert complaints == []


@contextmanager
def other_site(text: str) -> Iterator[int]:
    """A page of someone else, on a port of its own."""

    class Answer(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(text.encode())

        def log_message(self, *_: object) -> None:
            pass

    server = http.server.HTTPServer(("127.0.0.1", 0), Answer)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.server_address[1]
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost"], ids=["same site", "other site"])
def test_a_form_of_another_page_is_refused_and_leaves_the_session(  # type: ignore[no-untyped-def]
    phone, address: str, name: str
) -> None:
    sign_in(phone, address)
    form = (
        f'<form method="post" action="{address}/sign-out"><button name="everywhere" value="yes">prize</button></form>'
        f'<a href="{address}/trees">link</a><iframe src="{address}/trees"></iframe>'
    )
    with other_site(form) as port:
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
