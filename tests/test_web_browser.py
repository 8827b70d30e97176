"""The pages in a real browser: a phone's width, the keyboard, without scripts, on paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bearwell.api import reckoners
from browsing import context_of, expect, fits, page_of, unfold
from running import running
from web_garden import TODAY, write_garden

pytestmark = pytest.mark.browser

PAGES = (
    "/", "/?by=tree", "/?days=60", "/trees", "/tree/clementine-low", "/tree/peach.wall", "/tree/calamondin-pot",
    "/garden", "/reckon", "/kind", "/kind/clementine", "/sources", "/why", "/nowhere",
    "/reckon/canopy?height=3&spread=x", "/reckon/canopy?height=3&spread=3&remove=20",
    *(f"/reckon/{name}" for name in reckoners()),
)  # fmt: skip


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a running application."""
    from bearwell.faces.web import create_app

    path = write_garden(tmp_path_factory.mktemp("garden"))
    app = create_app(path, today=lambda: TODAY)
    with running(app) as (place, _):
        yield place


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
@pytest.mark.parametrize("width", [320, 390])
def test_no_page_scrolls_sideways_on_a_phone(
    browser, address: str, width: int, scripts: bool
) -> None:  # type: ignore[no-untyped-def]
    context = context_of(browser, width, java_script_enabled=scripts)
    page = context.new_page()
    complaints: list[str] = []
    page.on(
        "console", lambda said: complaints.append(said.text) if "ecurity" in said.text else None
    )
    foreign: list[str] = []
    page.on(
        "request",
        lambda asked: foreign.append(asked.url) if not asked.url.startswith(address) else None,
    )
    for place in PAGES:
        page.goto(address + place)
        fits(page, width, where=place)
        if scripts:
            unfold(page)
            fits(page, width, where=f"{place}, all opened,")
    assert complaints == []
    assert foreign == []
    context.close()


def test_reasons_open_by_keyboard(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    context = context_of(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "/")
    why = page.locator(".card details.why").first
    chain = why.locator("ol.chain")
    assert not chain.is_visible()
    page.keyboard.press("Tab")
    assert page.locator(".skip:focus").count() == 1
    page.keyboard.press("Enter")
    for _ in range(60):
        page.keyboard.press("Tab")
        if why.locator("summary:focus").count():
            break
    assert why.locator("summary:focus").count() == 1
    page.keyboard.press("Enter")
    expect(chain).to_be_visible()
    assert chain.locator("li").count() >= 1
    context.close()


@pytest.mark.parametrize("place", ["/", "/tree/clementine-low", "/trees", "/reckon/canopy"])
def test_what_is_touched_is_large_enough(browser, address: str, place: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser)
    page.goto(address + place)
    fits(page, targets="summary, nav a, button, input, .foot-links a")
    page.close()


def test_the_drawing_of_a_year_fits_and_says_the_same_as_its_table(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    for width, shown in ((390, "narrow"), (1280, "wide")):
        page = page_of(browser, width, 900)
        page.goto(address + "/tree/clementine-low")
        assert page.locator(".year-drawing:visible").count() == 1
        drawing = page.locator(f".year-drawing.{shown}")
        box = drawing.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
        names = {
            text.split(": ")[0]
            for text in drawing.locator("g g title, polygon title").all_text_contents()
        }
        page.get_by_text("The same as a table").first.click()
        rows = {
            text.strip() for text in page.locator("#year ~ details tbody th").all_text_contents()
        }
        assert {"Bloom", "Picking"} <= names
        for name in names:
            assert any(row.startswith(name) for row in rows), name
        page.close()


def test_dark_and_light_are_different_and_both_readable(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    grounds = {}
    for scheme in ("light", "dark"):
        page = page_of(browser, color_scheme=scheme)
        page.goto(address + "/")
        grounds[scheme] = page.evaluate("getComputedStyle(document.body).backgroundColor")
        page.close()
    assert grounds["light"] != grounds["dark"]


def test_the_week_prints_with_boxes_to_tick_and_every_step(
    browser, address: str, tmp_path: Path
) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1280, 720)
    page.goto(address + "/")
    page.emulate_media(media="print")
    jobs = page.locator(".card, .part details.job").count()
    assert jobs > 3
    assert page.locator(".tick:visible").count() == jobs
    assert not page.locator(".top nav").is_visible()
    assert page.locator(".printed-care").is_visible()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("details[data-print]:not([open])").count() == 0
    assert page.locator(".steps:visible").count() == page.locator(".steps").count()
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator("details[data-print][open]").count() == 0
    sheet = tmp_path / "week.pdf"
    page.pdf(path=str(sheet), format="A4")
    assert sheet.read_bytes().startswith(b"%PDF-")
    assert sheet.stat().st_size > 5_000
    page.close()
