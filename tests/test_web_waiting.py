"""What waits on a device: photos too, for one garden only, sent once; what cannot be kept or sent is told."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web import create_app
from browsing import context_of, expect, fits, fresh, leave, noted
from gardens import TODAY, write_garden
from running import running
from stores import kept, opened, two_trees, write
from test_web_outdoors import NOON, address, context, none_left, visit, waiting
from test_web_photos import photo
from web_store import HOME, JSON, client, folder

__all__ = ["context", "folder", "client", "address"]  # fixtures


def seen(**more: str) -> dict[str, str]:
    """A record that any garden with this tree would take."""
    return {"kind": "seen", "event": "leaf fall", "id": str(uuid4())} | more


def garden_of(folder: Path) -> str:
    with api.open_store(folder) as store:
        return store.garden_id()


def photos_in(folder: Path) -> list[api.Photo]:
    with api.open_store(folder) as store:
        return api.photos(store)


# ---------------------------------------------------------------- which garden


def test_a_garden_keeps_its_id_through_records_undo_and_a_backup(
    folder: Path, tmp_path: Path
) -> None:
    mine = garden_of(folder)
    assert mine
    with api.open_store(folder) as store:
        other = str(uuid4())
        client = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
        client.post("/tree/one/record", data=seen(id=other))
        client.post("/undo", data={"record": other})
        file = tmp_path / "backup.zip"
        api.back_up(store, file)
    api.restore(file, str(tmp_path / "again"))
    assert garden_of(folder) == garden_of(tmp_path / "again") == mine


def test_two_gardens_have_two_ids_and_an_empty_store_none(folder: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "same file")
    with api.open_store(str(tmp_path / "other"), create=True) as store:
        assert store.garden_id() == ""
    kept(str(tmp_path / "other"), file).close()
    assert garden_of(tmp_path / "other") not in ("", garden_of(folder))


def test_pages_say_which_garden_they_are_of(client: TestClient, folder: Path) -> None:
    mark = f'data-garden="{garden_of(folder)}"'
    for place in ("/", "/tree/one/record", "/outdoors", "/history", "/sources"):
        assert mark in client.get(place).text, place


def test_a_garden_file_has_no_id_and_takes_nothing(tmp_path: Path) -> None:
    client = TestClient(create_app(write_garden(tmp_path, two_trees()), today=lambda: TODAY), base_url=HOME)  # fmt: skip
    assert 'data-garden=""' in client.get("/").text


@pytest.mark.parametrize("where", ["/tree/one/record", "/do", "/undo", "/tree/one/photos"])
def test_what_was_meant_for_another_garden_goes_into_none(
    where: str, client: TestClient, folder: Path
) -> None:
    with api.open_store(folder) as store:
        before = store.mark()
    sent = seen(garden=str(uuid4()), what="done", advice="one/x", record="x")
    files = {"photo": ("leaf.jpg", photo(), "image/jpeg")} if where.endswith("photos") else None
    answer = client.post(where, data=sent, headers=JSON, files=files)
    assert answer.status_code == 412
    assert answer.json()["garden"] == garden_of(folder)
    assert answer.json()["called"] == "test plot"
    page = client.post(where, data=sent, files=files)
    assert page.status_code == 412
    assert "another garden" in page.text
    with api.open_store(folder) as store:
        assert store.mark() == before


def test_with_its_own_garden_named_a_record_is_taken(client: TestClient, folder: Path) -> None:
    answer = client.post("/tree/one/record", data=seen(garden=garden_of(folder)), headers=JSON)
    assert answer.status_code == 200


# ---------------------------------------------------------------- what the server cannot keep


def test_a_record_that_cannot_be_kept_now_is_never_told_as_kept(
    client: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full, and a garden that cannot be read: what was sent is to be sent again."""
    client.get("/")

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("bearwell.wholefile.os.fsync", full)
        files = {"photo": ("leaf.jpg", photo(), "image/jpeg")}
        answer = client.post(
            "/tree/one/photos", data={"id": str(uuid4())}, headers=JSON, files=files
        )
        page = client.post(
            "/tree/one/photos", data={"kind": "photo", "note": "curled"}, files=files
        )
    assert answer.status_code == page.status_code == 503
    assert "is the disk full" in str(answer.json())
    assert "is the disk full" in page.text
    assert 'value="curled"' in page.text
    assert photos_in(folder) == []

    with api.open_store(folder) as store, store.database.writing() as connection:
        connection.exec_driver_sql(
            "UPDATE bearwell_entry SET payload = '{\"latitude\":\"north\"}' WHERE subject = 'site'"
        )
        connection.exec_driver_sql("UPDATE bearwell_entry SET id = 'x' WHERE seq = 1")
    spoiled = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
    answer = spoiled.post("/tree/one/record", data=seen(), headers=JSON)
    assert answer.status_code == 503
    assert "latitude" in str(answer.json())


# ---------------------------------------------------------------- photos that wait, in a browser


def choose(page: Any, name: str, content: bytes | Path, note: str = "") -> None:
    """Choose a photo on the page of a tree and touch the button; a large one by the file it lies in."""
    form = page.locator('form.record:has(input[type="file"])')
    if not form.is_visible():
        page.get_by_text("A photo", exact=True).click()
    small = isinstance(content, bytes)
    form.locator('input[type="file"]').set_input_files(
        {"name": name, "mimeType": "image/jpeg", "buffer": content} if small else content
    )
    form.get_by_label("Note").fill(note)
    form.locator('button[type="submit"]').click()


@pytest.mark.browser
def test_a_photo_taken_without_signal_waits_with_its_day_and_is_sent_once(
    context: Any, address: str, folder: Path
) -> None:
    page = visit(context, address)
    context.set_offline(True)
    page.goto(address + "/tree/one/record")
    content = photo(1600, 1200)
    choose(page, "leaf.jpg", content, "curled leaves")
    page.get_by_text("1 record waits on this device for signal").wait_for()
    assert photos_in(folder) == []
    page.goto(address + "/outdoors")
    line = page.locator("#waits li")
    expect(line).to_contain_text("A photo: one, curled leaves, leaf.jpg")
    expect(line).to_contain_text(f"{len(content) / 1e3:.0f} kB")
    expect(line).to_contain_text(f"{TODAY.day} November")
    expect(line.locator("img")).to_have_js_property("naturalWidth", 160)
    expect(line.locator("img")).to_have_js_property("naturalHeight", 120)
    fits(page)

    page.clock.set_fixed_time(NOON + timedelta(days=2))
    other = context.new_page()  # a second page sends the same ones at the same time
    other.goto(address + "/trees")
    context.set_offline(False)
    none_left(page)
    page.get_by_text("Nothing waits on this device").wait_for()
    (found,) = photos_in(folder)
    assert (found.day, found.note, found.named, found.name) == (
        TODAY, "curled leaves", "one", "leaf.jpg",
    )  # fmt: skip
    assert page.complaints == []


@pytest.mark.browser
@pytest.mark.parametrize("online", [True, False], ids=["signal", "no signal"])
def test_what_is_no_photo_is_told_before_it_waits(
    online: bool, context: Any, address: str, tmp_path: Path
) -> None:
    huge = tmp_path / "huge.jpg"
    huge.write_bytes(b"\xff\xd8\xff" + bytes(30_000_000))
    page = visit(context, address)
    context.set_offline(not online)
    page.goto(address + "/tree/one/record")
    for name, content, told in (
        ("none.jpg", b"", "the photo is empty"),
        ("huge.jpg", huge, "the photo has 30 MB (24 MB at most)"),
        ("notes.jpg", b"<svg onload=alert(1)>", "this is not a picture"),
        ("phone.heic", b"\0\0\0\x18ftypheic" + bytes(40), "let the phone save or send it as JPEG"),
    ):
        choose(page, name, content, "my note")
        page.locator(".complaint", has_text=told).wait_for()
        assert waiting(page) == 0
        form = page.locator('form.record:has(input[type="file"])')
        assert form.get_by_label("Note").input_value() == "my note"
        assert form.locator('input[type="file"]').evaluate("one => one.files[0].name") == name


@pytest.mark.browser
def test_a_photo_refused_later_stays_until_it_is_thrown_away(
    context: Any, address: str, folder: Path
) -> None:
    page = visit(context, address)
    context.set_offline(True)
    page.goto(address + "/tree/one/record")
    choose(page, "spoiled.jpg", b"\xff\xd8\xff\xe0" + b"x" * 4000)
    page.get_by_text("1 record waits").wait_for()
    context.set_offline(False)
    page.get_by_text("could not be recorded").wait_for()
    page.goto(address + "/outdoors")
    line = page.locator("#waits li", has_text="spoiled.jpg")
    expect(line).to_contain_text("picture")
    assert photos_in(folder) == []
    line.get_by_role("button", name="Throw it away", exact=True).click()
    line.get_by_role("button", name="Keep it").click()
    line.get_by_role("button", name="Throw it away", exact=True).click()
    line.get_by_role("button", name="Yes, throw it away").click()
    page.get_by_text("Nothing waits on this device").wait_for()
    assert waiting(page) == 0


@pytest.mark.browser
def test_a_full_device_says_so_and_keeps_the_form(context: Any, address: str, folder: Path) -> None:
    page = visit(context, address)
    page.goto(address + "/tree/one/record")
    devtools = context.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": address, "quotaSize": 1})
    context.set_offline(True)
    choose(page, "leaf.jpg", photo(), "curled leaves")
    page.locator(".complaint", has_text="this device is full").wait_for()
    form = page.locator('form.record:has(input[type="file"])')
    assert form.get_by_label("Note").input_value() == "curled leaves"
    assert form.locator('input[type="file"]').evaluate("one => one.files.length") == 1
    assert waiting(page) == 0
    context.set_offline(False)  # with signal it is sent all the same
    form.locator('button[type="submit"]').click()
    noted(page)
    assert len(photos_in(folder)) == 1


# ---------------------------------------------------------------- other answers, in a browser


class Switch:
    """Another application behind the same address from one moment to the next."""

    def __init__(self, app: Any) -> None:
        self.app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        await self.app(scope, receive, send)


@pytest.mark.browser
def test_another_garden_at_the_same_address_gets_nothing_of_the_first(
    context: Any, folder: Path, tmp_path: Path
) -> None:
    file = tmp_path / "file" / "garden.toml"
    file.write_text(file.read_text("utf-8").replace("test plot", "Lower Ledge"), "utf-8")
    other = tmp_path / "other"
    kept(str(other), file).close()
    switch = Switch(create_app(folder, today=lambda: TODAY))
    with api.open_store(other) as store:
        before = store.mark()
    with running(switch) as (address, _):
        page = visit(context, address)
        stale = context.new_page()
        stale.goto(address + "/tree/one/record?kind=seen")  # stays open while the garden is changed
        context.set_offline(True)
        page.goto(address + "/tree/one/record?kind=seen")
        page.locator('form.record:has(input[value="seen"]) button[type="submit"]').click()
        page.get_by_text("1 record waits").wait_for()
        switch.app = create_app(other, today=lambda: TODAY)
        context.set_offline(False)
        page.get_by_text(
            "for the garden test plot, which this address does not serve now"
        ).wait_for()
        stale.locator('form.record:has(input[value="seen"]) button[type="submit"]').click()
        page.get_by_text("2 records wait on this device for the garden test plot").wait_for()
        fresh(page, address + "/outdoors")
        expect(page.locator(".top .name")).to_contain_text("Lower Ledge")
        page.get_by_text("2 records wait on this device for the garden test plot").wait_for()
        expect(page.locator("#waits li").first).to_contain_text("test plot")

        switch.app = create_app(folder, today=lambda: TODAY)  # the first garden is back
        fresh(page, address + "/trees")
        none_left(page)
    with api.open_store(other) as store:
        assert store.mark() == before
    with api.open_store(folder) as store:
        seen_ = [one for one in opened(store).garden.tree("one").observed if one.date == TODAY]
        assert len(seen_) == 2


@pytest.mark.browser
def test_records_of_the_old_place_come_over_and_are_sent_when_told_where(
    context: Any, address: str, folder: Path
) -> None:
    """Records once waited in localStorage, without the garden they were for."""
    page = context.new_page()
    page.goto(address + "/static/mark.svg")
    one = seen()
    body = "&".join(f"{key}={value.replace(' ', '+')}" for key, value in one.items())
    made = (NOON - timedelta(hours=3)).isoformat()
    page.evaluate(
        """([id, body, made]) => {
            const old = { id, url: '/tree/one/record', body, label: 'What I saw: one', why: '', made };
            localStorage.setItem('bearwell-waiting:' + id, JSON.stringify(old));
            localStorage.setItem('bearwell-waiting:broken', '{');
        }""",
        [one["id"], body, made],
    )
    page.goto(address + "/outdoors")
    page.get_by_text("made before gardens were told apart").wait_for()
    assert waiting(page) == 1
    assert page.evaluate("Object.keys(localStorage)") == ["bearwell-waiting:broken"], (
        "nothing is lost"
    )
    page.reload()
    page.get_by_text("made before gardens were told apart").wait_for()
    page.get_by_role("button", name="Send it to test plot").click()
    none_left(page)
    with api.open_store(folder) as store:
        assert store.knows(one["id"])


@pytest.mark.browser
@pytest.mark.parametrize(
    ("status", "body", "told"),
    [
        (
            503,
            '{"problems": [{"message": "the disk is full"}]}',
            "the disk is full. It is tried again",
        ),
        (
            200,
            "<html>Please pay for this network</html>",
            "1 record waits on this device for signal",
        ),
        (500, "Internal Server Error", "could not take it (500)"),
    ],
    ids=["disk full", "gate of a network", "fault"],
)
def test_what_was_not_kept_by_the_garden_waits_and_is_tried_again(
    status: int, body: str, told: str, browser: Any, address: str, folder: Path
) -> None:
    context = context_of(
        browser
    )  # nothing in the background: every request passes the answers below
    page = context.new_page()
    page.goto(address + "/tree/one/record?kind=seen")
    context.route("**/tree/one/record", lambda route: (
        route.fulfill(status=status, body=body) if route.request.method == "POST" else route.fallback()
    ))  # fmt: skip
    page.locator('form.record:has(input[value="seen"]) button[type="submit"]').click()
    page.get_by_text(told).first.wait_for()
    assert waiting(page) == 1
    context.unroute("**/tree/one/record")
    page.reload()
    none_left(page)
    with api.open_store(folder) as store:
        assert [one.event for one in opened(store).garden.tree("one").observed if one.date == TODAY]
    leave(context)


@pytest.mark.browser
@pytest.mark.parametrize("days", [-500, -3, 3, 500])
def test_a_device_clock_that_jumps_changes_neither_the_order_nor_loses_a_record(
    days: int, context: Any, address: str, folder: Path
) -> None:
    page = visit(context, address)
    context.set_offline(True)
    page.goto(address + "/tree/one/record")

    def measure(height: str, waits: str) -> None:
        page.get_by_text("What I measured", exact=True).click()
        form = page.locator('form.record:has(input[value="measured"])')
        form.locator('input[name="height"]').fill(height)
        form.locator('input[name="day"]').evaluate("one => { one.value = '' }")
        form.locator('button[type="submit"]').click()
        page.get_by_text(waits).wait_for()

    measure("2.2 m", "1 record waits")
    page.clock.set_fixed_time(NOON + timedelta(days=days))
    measure("2.4 m", "2 records wait")
    context.set_offline(False)
    none_left(page)
    with api.open_store(folder) as store:
        told = [one.entry for one in api.history(store, "one") if "height" in one.entry.payload][:2]
        height = opened(store).garden.tree("one").height
    assert [entry.payload["height"] for entry in told] == ["2.4 m", "2.2 m"]
    believed = TODAY + timedelta(days=days) if -60 <= days <= 0 else TODAY
    assert told[0].day == believed
    assert height == pytest.approx(2.2 if days == -3 else 2.4), "the latest by its own day holds"
