"""The pages of pruning: a tree's cuts and the sheet; that page, JSON and library agree; how they print."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from itertools import pairwise
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bearwell.api import (
    LoadedGarden,
    feeding_sheet,
    open_garden,
    pruning_sheet,
    pruning_year,
    write_demo,
)
from bearwell.faces.twins import words_of
from bearwell.faces.web import create_app
from bearwell.faces.web.drawing.crown import Crown, side_view
from browsing import fits, page_of, unfold
from running import running
from test_web import Outline, client_of
from web_garden import SHARED_SCRIPTS, TODAY, scripts_of, write_garden

TREES = ("clementine-low", "peach.wall", "calamondin-pot")
PAGES = (
    "/sheet/pruning",
    "/sheet/pruning?days=1",
    "/sheet/pruning?days=366",
    *(f"/tree/{tree}/pruning" for tree in TREES),
)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client_of(write_garden(tmp_path_factory.mktemp("pruning")))


@pytest.fixture(scope="module")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def demo(demo_path: Path) -> TestClient:
    return client_of(demo_path)


@pytest.fixture(scope="module")
def opened(demo_path: Path) -> LoadedGarden:
    return open_garden(demo_path, TODAY)


@pytest.mark.parametrize("address", PAGES)
def test_every_page_is_well_formed_and_escapes_what_the_grower_wrote(
    client: TestClient, address: str
) -> None:
    answer = client.get(address)
    outline = Outline(answer.text)

    assert answer.status_code == 200
    assert outline.open == []
    assert len(outline.ids) == len(set(outline.ids))
    assert outline.headings[0] == 1
    steps = [after - before for before, after in pairwise(outline.headings)]
    assert max(steps, default=0) <= 1
    read = ["reading.js"] if "data-at=" in answer.text else []  # pages with a drawing to be read
    assert scripts_of(answer.text) == [*SHARED_SCRIPTS, *read]
    assert not any(key.startswith("on") or key == "style" for key, _ in outline.attributes)
    assert all(one.startswith("/") and not one.startswith("//") for one in outline.sources)


@pytest.mark.parametrize("address", PAGES)
def test_every_page_has_its_twin(client: TestClient, address: str) -> None:
    place, _, query = address.partition("?")
    twin = client.get(f"{place}.json{'?' + query if query else ''}")

    assert twin.status_code == 200
    assert twin.json()["today"] == TODAY.isoformat()
    assert f'href="{place}.json' in client.get(address).text


def test_unknown_trees_and_impossible_days_are_refused(client: TestClient) -> None:
    for place in ("/tree/nobody/pruning", "/tree/nobody/pruning.json"):
        assert client.get(place).status_code == 404
    for days in ("0", "367", "soon"):
        assert client.get(f"/sheet/pruning?days={days}").status_code == 422
        assert client.get(f"/sheet/pruning.json?days={days}").json()["problems"]


def test_other_pages_point_here(client: TestClient) -> None:
    assert "/tree/peach.wall/pruning" in Outline(client.get("/tree/peach.wall").text).links
    for place in ("/garden", "/trees", "/", "/sheet", "/shelf"):
        assert "/sheet/pruning" in Outline(client.get(place).text).links


def test_a_garden_in_us_units_reads_feet(tmp_path: Path) -> None:
    text = unescape(
        client_of(write_garden(tmp_path, "us")).get("/tree/clementine-low/pruning").text
    )

    assert "6.9 ft" in text
    assert "on squares of 3.3 ft" in text
    assert not re.search(r"\d m\b", re.sub(r"<[^>]+>", " ", text))


@pytest.mark.parametrize(
    "tree", ["satsuma-gate", "hass-hoop", "olive-old", "conference-fence", "fig-corner"]
)
def test_page_twin_and_library_agree(demo: TestClient, opened: LoadedGarden, tree: str) -> None:
    year, words = pruning_year(opened, tree), words_of(opened)
    page = unescape(demo.get(f"/tree/{tree}/pruning").text).replace("\u00a0", " ")
    twin = demo.get(f"/tree/{tree}/pruning.json").json()

    assert twin["now"]["volume_m3"] == pytest.approx(year.size.volume, abs=1e-3)
    assert twin["after"]["volume_m3"] == pytest.approx(year.after_volume, abs=1e-3)
    assert year.cut is not None
    assert twin["cut"] == year.cut.id
    assert words.phrase(year.cut.headline) in page
    assert words.day(year.cut.window.best) in page
    assert words.phrase(year.pattern) in page
    assert f"best {words.day(year.cut.window.best)}" in page
    for step in year.cut.steps:
        assert words.phrase(step) in page
    days = twin["window"]["days"]
    assert len(days["score"]) == len(year.scores.score)
    assert set(days["factors"]) == set(days["meaning"])
    for name in days["meaning"].values():
        assert name in page
    for row in twin["wood"]["renewed"]:
        assert row["new"] + row["bearing"] + row["old"] == pytest.approx(1, abs=1e-3)


def test_every_feature_is_seen_in_the_demo(demo: TestClient) -> None:
    """A tree too tall for its hoop, one coming down over years, a shape of the file, light rounds, a pot."""
    hass = demo.get("/tree/hass-hoop/pruning.json").json()
    olive = demo.get("/tree/olive-old/pruning.json").json()
    pear = demo.get("/tree/conference-fence/pruning.json").json()
    navel = demo.get("/tree/navel-wall/pruning.json").json()

    assert hass["fit"]["fits"] is False
    assert hass["fit"]["share_off_now"] > 0
    assert hass["reduction"]["by"] == "the cover"
    assert any("/fit/" in one["id"] for one in hass["cuts"])
    assert olive["reduction"]["reached"] is True
    assert len(olive["reduction"]["years"]) > 1
    assert pear["shape"] == "espalier"
    assert pear["after"]["spread_m"][1] == pear["now"]["spread_m"][1]
    assert navel["fit"]["above_wall_m"] > 0
    assert not any(one["details"]["heavy"] for one in navel["cuts"])
    assert demo.get("/tree/calamondin-pot/pruning.json").json()["barest"]


def test_the_sheet_walks_as_the_feeding_sheet_does(demo: TestClient, opened: LoadedGarden) -> None:
    order = [tree.id for tree in opened.garden.trees]
    cuts = [line.tree.id for line in pruning_sheet(opened, 150)]
    fed = [line.tree.id for line in feeding_sheet(opened, 150)]

    assert len(cuts) > 8
    assert cuts == sorted(cuts, key=order.index)
    assert fed == sorted(fed, key=order.index)
    listed = demo.get("/sheet/pruning.json?days=150").json()
    assert [one["tree"] for one in listed["lines"]] == cuts
    page = unescape(demo.get("/sheet/pruning?days=150").text)
    assert page.count('class="tree-drawing"') == len(cuts)
    for text in listed["cautions"]:
        assert text in page


def test_steps_that_every_tree_shares_are_said_once(demo: TestClient) -> None:
    page = unescape(demo.get("/sheet/pruning?days=150").text)

    assert page.count("First what is dead or broken") == 1
    assert "On every tree first:" in page


def test_an_empty_sheet_says_so(tmp_path: Path) -> None:
    today = date(2026, 9, 20)
    page = client_of(write_garden(tmp_path), today=lambda: today).get("/sheet/pruning?days=1").text

    assert "No cut is due in the coming day" in page


def test_a_drawing_is_to_scale() -> None:
    """A crown of 4 m stands twice as high as one of 2 m, from the same ground."""
    crowns = [
        Crown(4.0, 0.0, 3.0, lambda _: 1.0, "before", "now"),
        Crown(2.0, 0.0, 1.5, lambda _: 1.0, "after", "then"),
    ]
    drawn = side_view(crowns, 0.1, False, None, [(4.0, "4 m")], lambda m: f"{m:g} m", "x", "t", "d")
    points = [
        [tuple(float(part) for part in pair.split(",")) for pair in found.split()]
        for found in re.findall(r'class="crown \w+"><polygon points="([^"]+)"', str(drawn))
    ]
    high = [max(y for _, y in one) - min(y for _, y in one) for one in points]
    wide = [max(x for x, _ in one) - min(x for x, _ in one) for one in points]

    assert len(points) == 2
    assert high[0] == pytest.approx(2 * high[1], abs=0.3)
    assert wide[0] == pytest.approx(2 * wide[1], abs=0.3)
    assert high[0] / 4.0 == pytest.approx(wide[0] / 3.0, abs=0.2)


# ---------------------------------------------------------------- in a browser


@pytest.fixture(scope="module")
def address(demo_path: Path) -> Iterator[str]:
    """The address of the running demonstration garden."""
    with running(create_app(demo_path, today=lambda: TODAY)) as (place, _):
        yield place


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_scrolls_sideways_and_fingers_find_their_mark(
    browser, address: str, width: int
) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, width)
    for place in (
        "/sheet/pruning?days=120",
        "/tree/hass-hoop/pruning",
        "/tree/olive-old/pruning",
        "/tree/blueberry-emerald/pruning",
    ):
        page.goto(address + place)
        unfold(page)
        fits(page, width, targets="summary, nav a, .onward a", where=place)
        if place.startswith("/tree"):
            assert page.locator(".year-drawing.days:visible").count() == 1
            assert page.locator(".tree-drawing:visible").count() == 2
    page.close()


@pytest.mark.browser
def test_words_in_the_drawings_stay_inside_them(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser)
    for tree in ("hass-hoop", "blueberry-emerald", "conference-fence", "calamondin-pot"):
        page.goto(f"{address}/tree/{tree}/pruning")
        outside = page.evaluate(
            """() => [...document.querySelectorAll('.tree-drawing text, .wood-drawing text')].filter(one => {
                const word = one.getBoundingClientRect()
                const whole = one.closest('svg').getBoundingClientRect()
                return word.left < whole.left - 1 || word.right > whole.right + 1 ||
                       word.bottom > whole.bottom + 1 || word.top < whole.top - 1
            }).map(one => one.textContent)"""
        )
        assert outside == [], tree
    page.close()


@pytest.mark.browser
def test_the_sheet_prints_a_drawing_a_tree(browser, address: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1280, 720)
    page.goto(f"{address}/sheet/pruning?days=120")
    page.emulate_media(media="print")
    assert not page.locator(".top nav").is_visible()
    assert not page.locator(".turn").is_visible()
    drawn = page.locator(".tree-drawing:visible").count()
    assert drawn == page.locator(".cuts > li").count() > 8
    assert page.locator(".tick:visible").count() == drawn
    sheet = tmp_path / "sheet.pdf"
    page.pdf(path=str(sheet), format="A4")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", sheet.read_bytes())) <= 5
    page.close()
