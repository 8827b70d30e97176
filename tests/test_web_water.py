"""The pages of water: a tree's account and the garden's sheet; page, JSON and api agree."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bearwell.api import open_garden, tree_watering, worklist, write_demo
from bearwell.faces.watering import RoundShown, turns
from bearwell.faces.web import create_app
from bearwell.faces.words import Words
from browsing import fits, page_of, unfold
from test_web import client_of
from web_garden import write_garden

DRY = date(2026, 7, 20)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_garden(tmp_path_factory.mktemp("water"))


@pytest.fixture(scope="module")
def client(path: Path) -> TestClient:
    return client_of(path)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, TestClient]:
    file = Path(write_demo(tmp_path_factory.mktemp("demo"), DRY))
    return file, TestClient(create_app(file, today=lambda: DRY), base_url="http://127.0.0.1")


@pytest.mark.parametrize(
    "place", ["/water", "/tree/clementine-low/water", "/tree/calamondin-pot/water"]
)
def test_a_page_has_its_twin_and_escapes_names(client: TestClient, place: str) -> None:
    page, twin = client.get(place), client.get(f"{place}.json")

    assert page.status_code == twin.status_code == 200
    assert f'href="{place}.json"' in page.text
    assert "<script>alert" not in page.text and "onerror=alert" not in page.text.replace("&", "")
    assert re.search(r"\sstyle=|\son\w+=", page.text) is None
    assert twin.json()["today"] == "2026-11-25"


def test_an_unknown_tree_is_not_found(client: TestClient) -> None:
    for place in ("/tree/nobody/water", "/tree/nobody/water.json"):
        assert client.get(place).status_code == 404


def test_the_account_on_the_page_is_that_of_the_api(demo: tuple[Path, TestClient]) -> None:
    file, client = demo
    opened = open_garden(file, DRY)
    watering = tree_watering(opened, "satsuma-gate")
    twin = client.get("/tree/satsuma-gate/water.json").json()

    assert [one["date"] for one in twin["rounds"]] == [f"{one.day}" for one in watering.rounds]
    missing = 0.0
    for day in twin["days"]:
        came = day["rain_mm"] + day["given_mm"] + day["supposed_mm"]
        missing = missing - came + day["used_mm"] + day["drained_mm"]
        assert missing == pytest.approx(day["missing_mm"], abs=0.05 * len(twin["days"]))
        missing = day["missing_mm"]
    page = unescape(client.get("/tree/satsuma-gate/water").text)
    for one in twin["rounds"]:
        assert one["text"] in page
    assert page.count("<svg") == 2
    assert "short below this line" in page
    for link in twin["because"]:
        assert link["statement"][1:] in page


def test_the_sheet_sums_what_its_trees_get(demo: tuple[Path, TestClient]) -> None:
    _, client = demo
    twin = client.get("/water.json").json()

    assert sum(one["l"] for one in twin["weeks"]) == pytest.approx(twin["litres"], abs=0.5)
    assert all(one["l"] <= twin["most_a_week_l"] + 0.1 for one in twin["weeks"])
    assert twin["denied_l"] > 0
    named = unescape(client.get("/water").text)
    assert "summer watering days of the terrace" in named.lower()
    assert "Water is short" in named
    # Pots come first whatever is short.
    assert all(one["denied_l"] == 0 for one in twin["trees"] if one["rank"].startswith("pots"))


def test_no_round_of_the_ground_falls_on_a_closed_day(demo: tuple[Path, TestClient]) -> None:
    """Tuesday, Thursday and Saturday are closed in July and August, pots excepted."""
    _, client = demo
    twin = client.get("/water.json").json()
    days = {
        date.fromisoformat(each["date"]).weekday()
        for one in twin["trees"]
        if not one["rank"].startswith("pots")
        for each in one["rounds"]
    }

    assert days
    assert not days & {1, 3, 5}


def test_the_worklist_says_what_the_page_says(demo: tuple[Path, TestClient]) -> None:
    file, client = demo
    listed = worklist(open_garden(file, DRY))
    advice = {one.tree: one for one in listed.advice if one.kind == "water" and one.quantity}
    twin = {one["tree"]: one for one in client.get("/water.json").json()["trees"]}

    assert advice
    for tree, one in advice.items():
        assert one.quantity is not None
        assert one.quantity.value == twin[tree]["rounds"][0]["l"]
        assert f"{one.window.best}" == twin[tree]["rounds"][0]["date"]


def test_links_lead_there(client: TestClient) -> None:
    assert 'href="/tree/clementine-low/water"' in client.get("/tree/clementine-low").text
    assert 'href="/water"' in client.get("/").text


def test_days_in_a_row_are_told_in_one_line() -> None:
    def given(day: int, litres: float) -> RoundShown:
        return RoundShown(date(2026, 7, day), litres, f"{litres} L", 0.4, None, "short")

    told = turns([given(20, 5.0), given(21, 4.0), given(22, 4.0), given(27, 4.0)], Words())

    assert [(one.first.day, one.last.day, one.count) for one in told] == [(20, 22, 3), (27, 27, 1)]
    assert told[0].text == "4 L to 5 L every day"


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_scrolls_sideways(browser: Any, demo: tuple[Path, TestClient], width: int) -> None:
    _, client = demo
    styles = Path(__file__).resolve().parents[1] / "src/bearwell/faces/web/static"
    page = page_of(browser, width, 900)
    for place in ("/water", "/tree/satsuma-gate/water", "/tree/kumquat-pot/water"):
        text = client.get(place).text
        for sheet in ("bearwell.css", "water.css"):
            rules = (styles / sheet).read_text("utf-8")
            text = re.sub(
                rf'<link rel="stylesheet" href="/static/{sheet}[^>]*>',
                lambda _, rules=rules: f"<style>{rules}</style>",
                text,
            )
        page.set_content(text)
        unfold(page)
        fits(page, width, where=place)
        if "/tree/" in place:
            assert page.locator(".water-drawing:visible").count() == 1
    page.close()
