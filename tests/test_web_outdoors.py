"""Without signal: what is kept, how old it says it is, and records that wait and are sent once."""

from __future__ import annotations

import asyncio
import json
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces import door
from bearwell.faces.web import create_app
from bearwell.faces.web.render import STATIC
from browsing import PATIENCE, context_of, expect, fits, fresh, leave, noted, until
from gardens import TODAY
from running import running
from stores import write
from web_store import HOME, JSON, client, folder

__all__ = ["folder", "client"]  # fixtures

PASSPHRASE = "terns nest on the ledge"
NOON = datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC)


# ---------------------------------------------------------------- the list


def test_every_page_and_file_of_the_list_is_there(client: TestClient) -> None:
    listed = client.get("/outdoors.json").json()
    paths = [one["path"] for one in listed["pages"]]

    assert paths[:2] == ["/", "/tonight"]
    assert len(paths) == len(set(paths))
    for below in ("", "/record", "/count", "/crop", "/pruning", "/water", "/feeding"):
        assert f"/tree/one{below}" in paths
    assert [path for path in paths if client.get(path).status_code != 200] == []
    assert [file for file in listed["files"] if client.get(file).status_code != 200] == []


def test_whatever_a_kept_page_loads_is_kept_too(client: TestClient) -> None:
    listed = client.get("/outdoors.json").json()
    pictures = {path for path in listed["files"] if path.endswith(".png")}

    for one in listed["pages"]:
        text = client.get(one["path"]).text
        loaded = re.findall(r'<(?:script|link rel="stylesheet")[^>]*(?:src|href)="([^"]+)"', text)
        assert loaded
        assert set(loaded) - pictures <= set(listed["files"]), one["path"]


def test_the_mark_changes_with_a_record_and_with_the_day(folder: Path) -> None:
    day = [TODAY]
    client = TestClient(create_app(folder, today=lambda: day[0]), base_url=HOME)

    def mark() -> str:
        return str(client.get("/outdoors.json").json()["mark"])

    first = mark()
    assert mark() == first
    client.post("/tree/one/record", data={"kind": "seen", "event": "leaf fall"})
    second = mark()
    day[0] = TODAY + timedelta(days=1)
    assert len({first, second, mark()}) == 3


def test_without_a_store_no_page_that_records_is_kept(tmp_path: Path) -> None:
    client = TestClient(create_app(write(tmp_path), today=lambda: TODAY), base_url=HOME)
    paths = [one["path"] for one in client.get("/outdoors.json").json()["pages"]]

    assert "/tree/one" in paths
    assert not [path for path in paths if path.endswith("/record")]


def test_behind_a_passphrase_the_list_is_shut_and_what_installs_names_no_garden(
    folder: Path,
) -> None:
    door.set_passphrase(folder, PASSPHRASE)
    client = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)

    assert client.get("/outdoors.json").status_code == 401
    manifest = client.get("/manifest.webmanifest")
    assert manifest.status_code == 200
    assert "test plot" not in manifest.text
    assert client.get("/keeper.js").status_code == 200


def test_the_manifest_is_installable(client: TestClient) -> None:
    """Name, start, display and icons of 192 and 512 pixels: common practice of browsers (W3C Web Application Manifest)."""
    answer = client.get("/manifest.webmanifest")
    manifest = json.loads(answer.text)

    assert answer.headers["content-type"].startswith("application/manifest+json")
    assert client.get(manifest["start_url"]).status_code == 200
    assert manifest["display"] == "standalone"
    from PIL import Image

    sizes = set()
    for icon in manifest["icons"]:
        name = icon["src"].rsplit("/", 1)[1].split("?")[0]
        assert client.get(icon["src"]).status_code == 200
        if icon["type"] == "image/png":
            with Image.open(STATIC / name) as image:
                assert f"{image.width}x{image.height}" == icon["sizes"]
                sizes.add(image.size)
    assert {(192, 192), (512, 512)} <= sizes


# ---------------------------------------------------------------- the day of a record that waited


@pytest.mark.parametrize(
    ("days", "expected"),
    [(0, 0), (2, 2), (60, 60), (61, 0), (400, 0), (-1, 0), (-400, 0)],
)
def test_a_record_that_waited_is_of_the_day_it_was_made_unless_its_clock_is_wrong(
    days: int, expected: int, client: TestClient, folder: Path
) -> None:
    made = NOON - timedelta(days=days)
    client.post(
        "/tree/one/record",
        data={"kind": "work", "job": "prune", "made": made.isoformat(), "day": ""},
    )

    with api.open_store(folder) as store:
        done = api.open_garden(store, TODAY).garden.tree("one").done
    assert TODAY - timedelta(days=expected) in {one.date for one in done if one.job == "prune"}


def test_a_time_that_is_none_is_not_believed(client: TestClient) -> None:
    for made in ("yesterday", "9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00+14:00"):
        sent = {"kind": "seen", "event": "leaf fall", "made": made, "id": str(uuid4())}
        answer = client.post("/tree/one/record", data=sent, headers=JSON)
        assert answer.status_code == 200, made


# ---------------------------------------------------------------- in a browser


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """The address of a running application."""
    with running(create_app(folder, today=lambda: TODAY)) as (home, _):
        yield home


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    """A phone of its own that keeps pages in the background, with nothing kept on it yet."""
    made = context_of(browser, service_workers="allow")
    made.clock.set_fixed_time(NOON)
    yield made
    leave(made)


@pytest.fixture
def address(folder: Path) -> Iterator[str]:
    with serving(folder) as found:
        yield found


OUTDOORS = ("/", "/trees", "/outdoors", "/tree/one/record")  # what most tests need without signal
KEPT = """async (wanted) => {
  const listed = await (await fetch('/outdoors.json')).json();
  const shelf = await caches.open('bearwell-kept');
  const paths = wanted.length ? wanted : listed.pages.map((one) => one.path);
  const found = await Promise.all(paths.map((path) => shelf.match(path)));
  return found.every((one) => one && one.headers.get('x-kept-as') === listed.mark);
}"""


def are_kept(page: Any, *places: str) -> None:
    """Wait until these pages are kept as they stand now; without a name, every page of the list."""
    until(lambda: page.evaluate(KEPT, places), f"kept: {places or 'every page'}")


def first_visit(context: Any, address: str, place: str = "/") -> Any:
    """A page that has just been opened for the first time, with what the browser complained of."""
    page = context.new_page()
    page.complaints = []
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on(
        "console",
        lambda said: page.complaints.append(said.text) if "ecurity Policy" in said.text else None,
    )
    page.goto(address + place)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    return page


def visit(context: Any, address: str) -> Any:
    """The first page, once what a test needs without signal is kept: what was opened first is kept first."""
    page = first_visit(context, address, "/tree/one/record")
    are_kept(page, *OUTDOORS)
    fresh(page, address + "/")
    return page


def names(page: Any) -> list[str]:
    """What is kept on the device."""
    return list(
        page.evaluate(
            "async () => (await caches.has('bearwell-kept'))"
            " ? (await (await caches.open('bearwell-kept')).keys()).map((one) => one.url) : []"
        )
    )


COUNTED = """async () => {
  const opened = (asked) => new Promise((done) => {
    asked.onupgradeneeded = () => asked.transaction.abort(); // there is none: make none
    asked.onsuccess = () => done(asked.result);
    asked.onerror = (event) => { event.preventDefault(); done(null); };
  });
  const base = await opened(indexedDB.open('bearwell-waiting'));
  if (!base) return 0;
  const found = await opened(base.transaction('records').objectStore('records').count());
  base.close();
  return found;
}"""


def waiting(page: Any) -> int:
    """How many records wait on the device, counted without the script that keeps them."""
    return int(page.evaluate(COUNTED))


def none_left(page: Any) -> None:
    """Wait until nothing waits on the device any more."""
    onlooker = page.context.new_page()  # a page that sends nothing, and is not shown anew
    onlooker.goto("/".join(page.url.split("/")[:3]) + "/static/mark.svg")
    until(lambda: waiting(onlooker) == 0, "all that waited was sent")
    onlooker.close()


@pytest.mark.browser
def test_after_one_visit_the_pages_open_without_signal_and_say_how_old_they_are(
    context: Any, address: str
) -> None:
    page = first_visit(context, address)
    are_kept(page)
    assert page.locator(".kept").count() == 0
    now = datetime.now(UTC)
    page.clock.set_fixed_time(now)  # however long the rest takes
    context.set_offline(True)

    for place, heading in (
        ("/", "The coming two weeks"), ("/?told=x#told", "The coming two weeks"), ("/tonight", "Tonight"),
        ("/trees", "Trees"), ("/tree/one/record", "Record"), ("/sheet", None), ("/tree/one/crop", None),
    ):  # fmt: skip
        page.goto(address + place)
        if heading:
            expect(page.locator("h1")).to_contain_text(heading)
        expect(page.locator(".kept")).to_contain_text("kept just now")
        expect(page.locator("body")).to_have_css("background-color", "rgb(248, 244, 234)")
        fits(page, where=place)
    page.clock.set_fixed_time(now + timedelta(hours=3))
    page.goto(address + "/trees")
    expect(page.locator(".kept")).to_contain_text("kept 3 hours ago")
    page.goto(address + "/history")
    expect(page.locator(".kept")).to_contain_text("not kept here")
    page.goto(address + "/outdoors")
    page.get_by_text("pages are kept on this device").wait_for()
    context.set_offline(False)
    fresh(page, address + "/")
    assert page.locator(".kept").count() == 0
    assert page.complaints == []


class Held:
    """An application that keeps whoever asks for one page waiting until that is let go."""

    def __init__(self, app: Any, path: str) -> None:
        self.app, self.path = app, path
        self.asked, self.free = threading.Event(), threading.Event()

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope.get("path") == self.path:
            self.asked.set()
            await asyncio.to_thread(self.free.wait, PATIENCE)
        await self.app(scope, receive, send)


@pytest.mark.browser
def test_what_is_recorded_while_pages_are_being_kept_is_in_them_too(
    context: Any, client: TestClient, folder: Path
) -> None:
    held = Held(create_app(folder, today=lambda: TODAY), "/tree/two/crop")
    with running(held) as (home, _):
        page = first_visit(context, home)
        assert held.asked.wait(PATIENCE), "the pages are being kept"
        client.post("/tree/one/record", data={"kind": "seen", "event": "leaf fall"})
        page.goto(home + "/trees")  # asks for what has changed
        page.evaluate(
            "navigator.serviceWorker.ready.then((one) => one.active.postMessage({ keep: '/' }))"
        )
        held.free.set()
        are_kept(page)


@pytest.mark.browser
def test_records_made_without_signal_are_sent_once_and_move_the_plan(
    context: Any, address: str, folder: Path
) -> None:
    page = visit(context, address)
    advice = page.locator('form.record input[name="advice"]').first.get_attribute("value")
    with api.open_store(folder) as store:
        before = len({one.entry.action for one in api.history(store)})
    context.set_offline(True)

    page.goto(address + "/tree/one/record")
    for mass, waits in (
        ("3 kg", "1 record waits"),
        ("2 kg", "2 records wait"),
    ):  # one kept page twice
        page.get_by_text("What I picked", exact=True).click()
        page.locator('form.record:has(input[value="picked"]) input[name="mass"]').fill(mass)
        page.locator('form.record:has(input[value="picked"]) button[type="submit"]').click()
        page.get_by_text(waits).wait_for()
    page.goto(address + "/")
    job = page.locator(f'form.record:has(input[name="advice"][value="{advice}"])').first
    job.locator("button", has_text=re.compile("Done|All picked|Measured")).click()
    page.get_by_text("3 records wait on this device for signal").wait_for()
    assert waiting(page) == 3
    expect(page.locator(".to-send")).to_contain_text("What I picked: one, 2 kg")
    page.reload()
    page.get_by_text("3 records wait").wait_for()

    other = context.new_page()  # a second page sends the same ones at the same time
    other.goto(address + "/trees")
    context.set_offline(False)
    none_left(page)
    with api.open_store(folder) as store:
        told = {one.entry.action: one for one in api.history(store)}
        tree = api.open_garden(store, TODAY).garden.tree("one")
    assert len(told) == before + 3
    assert sum(one.mass for one in tree.harvests if one.year == TODAY.year) == 5000
    fresh(page, address + "/?days=120")
    assert page.locator(f'input[name="advice"][value="{advice}"]').count() == 0
    assert page.complaints == []


@pytest.mark.browser
def test_a_job_closed_elsewhere_meanwhile_is_shown_and_stays_until_thrown_away(
    context: Any, address: str, client: TestClient
) -> None:
    page = visit(context, address)
    form = page.locator('form.record:has(input[name="what"][value="done"])').first
    advice = form.locator('input[name="advice"]').first.get_attribute("value")
    context.set_offline(True)
    page.reload()
    form.locator("button").first.click()
    page.get_by_text("1 record waits").wait_for()
    sent = {"what": "done", "advice": advice, "id": str(uuid4())}
    assert client.post("/do", data=sent, headers=JSON).status_code == 200
    context.set_offline(False)

    page.get_by_text("no longer in the plan").wait_for()
    assert waiting(page) == 1
    page.goto(address + "/trees")
    expect(page.locator(".to-send")).to_contain_text("could not be recorded")
    expect(page.get_by_role("link", name="Record the work itself")).to_have_count(1)
    page.get_by_role("button", name="Throw it away", exact=True).click()
    assert waiting(page) == 1, "one touch throws nothing away"
    page.get_by_role("button", name="Yes, throw it away").click()
    page.locator(".to-send").wait_for(state="detached")
    assert waiting(page) == 0


@pytest.mark.browser
def test_with_signal_a_record_is_told_at_once_and_a_refusal_keeps_what_was_typed(
    context: Any, address: str
) -> None:
    page = context.new_page()
    page.goto(address + "/tree/one/record?kind=picked")
    form = page.locator('form.record:has(input[value="picked"])')
    form.locator('input[name="mass"]').fill("3 elephants")
    form.locator("button").click()
    expect(form.locator(".complaint")).to_contain_text("elephants")
    assert form.locator('input[name="mass"]').input_value() == "3 elephants"
    form.locator('input[name="mass"]').fill("3 kg")
    form.locator("button").click()
    expect(noted(page)).to_contain_text("Picked 3 kg")
    assert waiting(page) == 0
    page.locator("#told button").click()
    page.get_by_text("Undone").first.wait_for()


@pytest.mark.browser
def test_what_is_kept_goes_with_signing_out_and_with_another_passphrase(
    context: Any, folder: Path
) -> None:
    door.set_passphrase(folder, PASSPHRASE)
    with serving(folder) as address:

        def sign_in(passphrase: str) -> None:
            page.goto(address + "/")
            page.get_by_label("Passphrase").fill(passphrase)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(address + "/")
            are_kept(page, "/", "/trees")

        page = context.new_page()
        page.goto(address + "/sign-in")
        keepers = page.evaluate(
            "async () => (await navigator.serviceWorker.getRegistrations()).length"
        )
        assert (keepers, names(page)) == (0, []), "nothing is kept for who is not signed in"
        sign_in(PASSPHRASE)
        page.goto(address + "/sign-out")
        page.get_by_role("button", name="Sign out here").click()
        page.wait_for_url(address + "/sign-in")
        assert names(page) == []
        context.set_offline(True)
        with pytest.raises(Exception, match="ERR_"):
            page.goto(address + "/")
        context.set_offline(False)

        sign_in(PASSPHRASE)
        door.set_passphrase(folder, "another one for the terrace")
        fresh(page, address + "/trees")
        page.get_by_label("Passphrase").wait_for()
        until(lambda: names(page) == [], "nothing kept any more")
