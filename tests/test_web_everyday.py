"""A grower's day in a browser: done and the plan moves, undo, two tabs, odd names, the calendar, an old program."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import icalendar
import pytest
from click.testing import CliRunner

from bearwell import api
from bearwell.faces.cli import cli
from bearwell.faces.web import create_app
from browsing import context_of, expect, fits, fresh, leave, noted
from gardens import TODAY, tree
from running import running
from stores import kept, opened, write
from test_web_outdoors import NOON, address, visit, waiting
from web_store import folder

__all__ = ["folder", "address"]  # fixtures

HOSTILE = "<img src=x onerror=alert(1)>\\\"'&"


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    """A phone that keeps no pages in the background meanwhile."""
    made = context_of(browser)
    made.clock.set_fixed_time(NOON)
    yield made
    leave(made)


def actions(folder: Path) -> int:
    with api.open_store(folder) as store:
        return len({one.entry.action for one in api.history(store)})


def first_job(page: Any) -> tuple[str, Any]:
    """The first job of the list that a touch marks as done: its id, and the button."""
    form = page.locator('form.record:has(input[name="what"][value="done"])').first
    return form.locator('input[name="advice"]').first.get_attribute("value"), form.locator("button")


def open_jobs(page: Any) -> set[str]:
    return {
        one.get_attribute("value")
        for one in page.locator('form.record:has(input[name="what"][value="done"]) input[name="advice"]').all()
    }  # fmt: skip


@pytest.mark.browser
def test_done_moves_the_plan_and_undo_moves_it_back(
    context: Any, address: str, folder: Path
) -> None:
    page = context.new_page()
    page.goto(address + "/?days=60")
    before = open_jobs(page)
    advice, button = first_job(page)
    button.click()
    noted(page)
    after = open_jobs(page)
    assert advice in before
    assert advice not in after
    assert page.url.endswith("#told")
    with api.open_store(folder) as store:
        done = opened(store).garden.tree(advice.split("/")[0]).done
        assert TODAY in {one.date for one in done}
    page.locator("#told").get_by_role("button", name="Undo").click()
    page.get_by_text("Undone").first.wait_for()
    page.goto(address + "/?days=60")
    assert open_jobs(page) == before


@pytest.mark.browser
def test_two_tabs_with_the_same_job_record_it_once_and_the_second_is_told(
    context: Any, address: str, folder: Path
) -> None:
    first, second = context.new_page(), context.new_page()
    for page in (first, second):
        page.goto(address + "/")
    before = actions(folder)
    (advice, button), (same, late) = first_job(first), first_job(second)
    assert advice == same
    button.click()
    noted(first)
    late.click()
    said = second.locator(".complaint", has_text="no longer in the plan")
    expect(said).to_contain_text("record the work itself")
    assert actions(folder) == before + 1
    assert waiting(second) == 0, "it was told, and the form is still there"
    assert late.is_visible()


@pytest.mark.browser
def test_two_tabs_that_measure_the_same_tree_keep_both_and_the_latest_day_holds(
    context: Any, address: str, folder: Path
) -> None:
    pages = [context.new_page(), context.new_page()]
    for page in pages:
        page.goto(address + "/tree/one/record?kind=measured")
    for page, height, day in zip(pages, ("2.6", "2.3"), ("2026-11-24", "2026-11-20"), strict=True):
        form = page.locator('form.record:has(input[value="measured"])')
        form.locator('input[name="height"]').fill(height)
        form.locator('input[name="day"]').fill(day)
        form.locator('button[type="submit"]').click()
        noted(page)
    with api.open_store(folder) as store:
        told = [one.entry.payload for one in api.history(store, "one")][:2]
        assert [one["height"] for one in told] == ["2.3 m", "2.6 m"]
        assert opened(store).garden.tree("one").height == pytest.approx(2.6)


@pytest.mark.browser
def test_names_with_markup_are_only_names_also_while_they_wait(
    browser: Any, tmp_path: Path
) -> None:
    """In the garden, a tree, a note and a file's name; nothing of them runs, nothing of them is an element."""
    trees = tree("clementine", more=f'name = "{HOSTILE}"\n')
    file = write(tmp_path / "file", trees)
    file.write_text(
        file.read_text("utf-8").replace("test plot", "<script>alert(2)</script>"), "utf-8"
    )
    kept(str(tmp_path / "data"), file).close()
    own = context_of(browser, service_workers="allow")
    own.clock.set_fixed_time(NOON)
    ran: list[str] = []
    own.on("dialog", lambda shown: (ran.append(shown.message), shown.dismiss()))
    with running(create_app(tmp_path / "data", today=lambda: TODAY)) as (address, _):
        page = visit(own, address)
        for place in (
            "/",
            "/tree/one",
            "/tree/one/record",
            "/history",
            "/garden",
            "/map",
            "/sheet/week",
        ):
            page.goto(address + place)
            assert page.locator("img[src='x']").count() == 0, place
            assert page.locator("script:not([src])").count() == 0, place
        own.set_offline(True)
        page.goto(address + "/tree/one/record")
        page.get_by_text("What I did", exact=True).click()
        form = page.locator('form.record:has(input[value="work"])')
        form.get_by_label("Note").fill("<b onclick=alert(3)>bold</b>")
        form.locator('button[type="submit"]').click()
        page.get_by_text("1 record waits").wait_for()
        page.get_by_text("A photo", exact=True).click()
        photos = page.locator('form.record:has(input[type="file"])')
        photos.locator('input[type="file"]').set_input_files(
            {
                "name": "<i>leaf.jpg",
                "mimeType": "image/jpeg",
                "buffer": b"\xff\xd8\xff\xe0 no picture",
            }
        )
        photos.locator('button[type="submit"]').click()
        page.get_by_text("2 records wait").wait_for()
        page.goto(address + "/outdoors")
        for text in ("<img src=x onerror=alert(1)>", "<b onclick=alert(3)>bold</b>", "<i>leaf.jpg"):
            expect(page.locator("#waits")).to_contain_text(text)
        assert page.locator("#waits b, #waits i, #waits img").count() == 0
        fits(page)
        own.set_offline(False)
        page.get_by_text("could not be recorded").wait_for()
        fresh(page, address + "/history")
        expect(page.locator("main")).to_contain_text("<b onclick=alert(3)>bold</b>")
    assert ran == []
    assert page.complaints == []
    leave(own)


@pytest.mark.browser
def test_the_calendar_is_subscribed_to_from_its_page(context: Any, address: str) -> None:
    """What a calendar program does with the address: fetch it, keep its mark, ask again with it."""
    page = context.new_page()
    page.goto(address + "/paper")
    href = page.locator('a[href*="/calendar.ics"]').first.get_attribute("href")
    place = re.sub(r"^webcal:", "http:", href if ":" in href else address + href)
    first = context.request.get(place)
    assert first.status == 200
    assert first.headers["content-type"].startswith("text/calendar")
    events = icalendar.Calendar.from_ical(first.body()).walk("VEVENT")
    assert len(events) > 3
    again = context.request.get(place, headers={"If-None-Match": first.headers["etag"]})
    assert again.status == 304


def test_a_store_of_a_newer_program_is_not_served_and_not_touched(folder: Path) -> None:
    with api.open_store(folder) as store, store.database.writing() as connection:
        connection.exec_driver_sql("UPDATE bearwell_version SET version_num = '0007'")
    before = (folder / "bearwell.sqlite").read_bytes()
    done = CliRunner().invoke(cli, ["serve", "--data", str(folder), "--port", "8391"])
    assert done.exit_code == 1, done.output
    assert "was written by a newer bearwell" in done.output
    assert "Traceback" not in done.output
    assert (folder / "bearwell.sqlite").read_bytes() == before
