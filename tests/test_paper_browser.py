"""The map moved by hand and by keys, and the pages for paper at a phone's width, in a real browser."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from bearwell import api
from bearwell.faces.printing import served
from browsing import complaints_of, context_of, expect, fits, page_of, unfold
from gardens import TODAY

pytestmark = pytest.mark.browser

PAGES = (
    "/paper", "/sheet/week", "/sheet/week?days=30", "/poster", "/poster?paper=a4", "/tags", "/tags?size=large&skip=2",
    "/map", "/map?years=10",
)  # fmt: skip


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The demo garden, served; one of its trees has lost its place."""
    path = Path(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))
    text = path.read_text("utf-8")
    path.write_text(re.sub(r'place = \{ east = "19.6 m".*\n', "", text), "utf-8")
    with served(path, TODAY, ()) as place:
        yield place


@pytest.mark.parametrize("width", [320, 390])
def test_no_page_scrolls_sideways_on_a_phone(browser, address: str, width: int) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, width)
    complaints = complaints_of(page)
    for place in PAGES:
        page.goto(address + place)
        unfold(page)
        fits(page, width, targets="summary, nav a, button, input, .foot-links a", where=place)
    assert complaints == []
    page.close()


def line_of(page) -> str:  # type: ignore[no-untyped-def]
    return str(page.locator(".moved-list code").first.text_content())


def place_in(line: str) -> tuple[float, float]:
    """East and north of a line of the garden file [m]."""
    place = tomllib.loads(line)["place"]
    return tuple(float(place[key].removesuffix(" m")) for key in ("east", "north"))  # type: ignore[return-value]


def test_arrow_keys_move_a_tree_and_escape_puts_it_back(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1200, 1000)
    page.goto(address + "/map")
    tree = page.locator('.map-tree[data-tree="satsuma-gate"]')
    assert not page.locator(".moved").is_visible()
    tree.focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowUp", "Shift+ArrowRight"):
        page.keyboard.press(key)

    assert place_in(line_of(page)) == pytest.approx((2.0 + 0.2 + 1.0, 1.8 + 0.1))
    expect(tree).to_have_attribute("aria-label", "Satsuma by the gate, 3.2 m east, 1.9 m north")
    expect(page.locator(".moved-list")).to_contain_text("canopy of Anna on the steps")
    page.keyboard.press("Escape")
    expect(page.locator(".moved-list li")).to_have_count(0)
    expect(page.locator(".moved")).not_to_be_visible()
    page.close()


def test_every_tree_is_reached_with_the_tab_key(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1200, 1000)
    page.goto(address + "/map")
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.dataset?.tree"))
    assert len(reached - {None}) == 17
    page.close()


@pytest.mark.parametrize("width", [390, 1200])
def test_a_tree_is_dragged_to_where_the_pointer_lets_go(browser, address: str, width: int) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, width, 1000)
    page.goto(address + "/map")
    tree = page.locator('.map-tree[data-tree="fuyu-top"]')
    tree.scroll_into_view_if_needed()
    box = tree.locator(".grip").bounding_box()
    drawing = page.locator(".map-drawing")
    metre = drawing.bounding_box()["width"] * float(drawing.get_attribute("data-unit")) / 1000
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - metre, y + metre, steps=4)
    page.mouse.move(x - 2 * metre, y + metre, steps=4)
    page.mouse.up()

    assert place_in(line_of(page)) == pytest.approx((15.6 - 2, 10.4 - 1), abs=0.11)
    page.mouse.move(x, y)  # let go is let go
    assert place_in(line_of(page)) == pytest.approx((15.6 - 2, 10.4 - 1), abs=0.11)
    page.close()


def test_a_tree_without_a_place_is_set_down_and_moved(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1200, 1000)
    page.goto(address + "/map")
    tree = page.locator('.map-tree[data-tree="fig-corner"]')
    assert not tree.is_visible()
    page.locator('button[data-set="fig-corner"]').click()
    expect(tree).to_be_visible()
    page.keyboard.press("ArrowUp")
    assert len(place_in(line_of(page))) == 2
    expect(page.locator('button[data-set="fig-corner"]')).not_to_be_visible()
    page.close()


def test_without_scripts_the_map_promises_nothing_it_cannot_do(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    context = context_of(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "/map")
    assert not page.get_by_text("Drag a tree").is_visible()
    assert not page.locator("button[data-set]").is_visible()
    assert page.locator(".map-table tbody tr").count() == 18
    context.close()


def test_a_job_is_never_torn_over_two_sheets(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1280, 720)
    page.goto(address + "/sheet/week?days=30")
    page.emulate_media(media="print")
    assert page.locator(".stop-job").count() > 5
    kept = page.evaluate(
        "[...document.querySelectorAll('.stop-job')].map(one => getComputedStyle(one).breakInside)"
    )
    assert set(kept) == {"avoid"}
    assert page.locator(".stop-job .tick:visible").count() == page.locator(".stop-job").count()
    assert not page.locator(".turn").is_visible()
    page.close()
