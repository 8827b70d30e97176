"""The pages of cold without and with a browser: tonight, its boxes and red light, without signal, the winters."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from itertools import pairwise

import pytest
from starlette.testclient import TestClient

from bearwell.demo import write_demo
from bearwell.faces.web import create_app
from bearwell.faces.web.drawing.night import Hour, Level, night_drawing
from browsing import expect, fits, page_of, unfold
from running import running
from test_web import HERE, Outline
from web_garden import TODAY, write_garden

PAGES = ("/tonight", "/winter", "/tonight?temperature=4.2&dew_point=-2.6&wind=0.5&sky=clear")
COLD_DAY = date(2026, 1, 12)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    path = write_demo(tmp_path_factory.mktemp("demo"), COLD_DAY)
    return TestClient(create_app(path, today=lambda: COLD_DAY), base_url=HERE)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """A garden without daily weather, whose names try to be markup."""
    path = write_garden(tmp_path_factory.mktemp("garden"))
    return TestClient(create_app(path, today=lambda: TODAY), base_url=HERE)


@pytest.mark.parametrize("garden", ["demo", "plain"])
@pytest.mark.parametrize("address", PAGES)
def test_the_pages_are_well_formed(
    garden: str, address: str, request: pytest.FixtureRequest
) -> None:
    answer = request.getfixturevalue(garden).get(address)
    page = Outline(answer.text)

    assert answer.status_code == 200
    assert page.open == []
    assert page.headings.count(1) == 1
    assert (
        max((b - a for a, b in zip(page.headings, page.headings[1:], strict=False)), default=0) <= 1
    )
    assert len(page.ids) == len(set(page.ids)), "an id stands twice"
    assert all(one.get("id") in page.labels for one in page.inputs)
    assert "style" not in {name for name, _ in page.attributes}
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    assert re.findall(r"<script(?![^>]* src=)", answer.text) == []
    assert "<script>alert" not in answer.text
    assert all(source.startswith("/") for source in page.sources)


def test_tonight_and_its_twin_say_the_same(demo: TestClient) -> None:
    page, twin = unescape(demo.get("/tonight").text), demo.get("/tonight.json").json()

    assert twin["walk"]
    assert twin["night"]["sort"] == "radiation"
    for stop in twin["walk"]:
        for task in stop["tasks"]:
            assert task["text"] in page
            assert f'data-task="{task["key"]}"' in page
    for text in [*twin["morning"], *twin["cautions"]]:
        assert text in page
    listed = {
        one["tree"] for one in demo.get("/week.json").json()["advice"] if one["kind"] == "protect"
    }
    tonight = {one["tree"] for one in twin["trees"] if one["protect"]}
    assert tonight <= listed


def test_tonight_tells_of_the_dangers_of_the_work(demo: TestClient) -> None:
    """On a night so cold that covers, lamps and water are all worked with."""
    hard = "/tonight.json?temperature=1&dew_point=-9&wind=0.5&sky=clear"
    said = " ".join(demo.get(hard).json()["cautions"])

    for word in (
        "residual-current",
        "daisy",
        "carbon monoxide",
        "clear of cloth",
        "breaks limbs",
        "thermometer",
    ):
        assert word in said


def test_a_reading_typed_in_moves_the_night(demo: TestClient) -> None:
    def lowest(query: str) -> float:
        return float(demo.get(f"/tonight.json{query}").json()["night"]["lowest_c"])

    warm, cold = (
        lowest(f"?temperature={t}&dew_point={d}&sky=clear&wind=0.5") for t, d in ((9, 6), (2, -5))
    )
    assert cold < warm


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("temperature=3&dew_point=5", "dew point is above"),
        ("temperature=warm", "not a number"),
        ("dew_point=-3", "no temperature"),
        ("temperature=3&sky=starry", "not known"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(
    demo: TestClient, query: str, words: str
) -> None:
    page, twin = demo.get(f"/tonight?{query}"), demo.get(f"/tonight.json?{query}")

    assert (page.status_code, twin.status_code) == (422, 422)
    assert words in unescape(page.text)
    assert words in twin.json()["error"]


def test_the_winters_and_their_twin_say_the_same(demo: TestClient) -> None:
    page, twin = demo.get("/winter").text, demo.get("/winter.json").json()

    assert len(twin["winters"]) >= 10
    assert f"<b>{twin['zone']['zone']}</b>" in page
    assert page.count('class="low"') == 2 * len(twin["winters"])
    assert [one["tree"] for one in twin["trees"]] == re.findall(
        r'<h3><a href="/tree/([^"]+)">[^<]*</a> <span class="standing', page
    )
    for one in twin["trees"]:
        assert one["verdict"] in unescape(page)
        losses = [o["lost"]["chance"]["yearly"] for o in twin["trees"]]
        assert losses == sorted(losses, reverse=True)


def test_without_weather_the_pages_say_what_is_missing(plain: TestClient) -> None:
    assert "No night is forecast" in plain.get("/tonight").text
    assert "no measured winter" in plain.get("/winter").text
    assert plain.get("/tonight.json").json()["night"] is None


# ---------------------------------------------------------------- in a browser


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, object]]:
    """The address of a running application, and what stops it."""
    path = write_demo(tmp_path_factory.mktemp("served"), COLD_DAY)
    with running(create_app(path, today=lambda: COLD_DAY)) as served:
        yield served


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_pages_fit_a_phone_and_break_no_rule_of_safety(browser, address, width: int) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, width)
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for place in PAGES[:2]:
        page.goto(address[0] + place)
        unfold(page)
        fits(page, width, where=place)
    assert complaints == []
    page.close()


@pytest.mark.browser
def test_ticks_and_the_red_light_are_remembered_and_work_without_scripts(browser, address) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser)
    page.goto(address[0] + "/tonight")
    box = page.locator("[data-evening] input").first
    assert box.bounding_box()["width"] >= 30
    box.check()
    page.locator("#red").check()
    expect(page.locator("body")).to_have_css("background-color", "rgb(0, 0, 0)")
    page.reload()

    expect(box).to_be_checked()
    expect(page.locator("#red")).to_be_checked()
    expect(page.locator("body")).to_have_css("background-color", "rgb(0, 0, 0)")
    expect(page.locator("#done-count")).to_contain_text("1 of")
    page.close()
    bare = page_of(browser, java_script_enabled=False)
    bare.goto(address[0] + "/tonight")
    bare.locator("[data-evening] input").first.check()
    bare.locator("#red").check()
    expect(bare.locator("[data-evening] input").first).to_be_checked()
    bare.close()


@pytest.mark.browser
def test_the_evening_prints_on_one_sheet(browser, address) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser)
    page.goto(address[0] + "/tonight")
    paper = page.pdf(format="A4")
    page.close()

    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) == 1


def test_numbers_of_limits_close_together_stand_apart_and_above_the_clock():
    hours = [Hour(0.0, "19:00", 4.0, 4.0, 4.0), Hour(12.0, "07:00", -1.5, -2.5, -0.5)]
    limits = [Level(-2.0 - 0.1 * number, f"{number}") for number in range(6)]
    text = night_drawing(hours, limits, [], narrow=True, described="a night")
    places = [float(y) for y in re.findall(r'y="([\d.]+)" class="limit-name"', text)]
    lines = [float(y) for y in re.findall(r'y1="([\d.]+)"[^>]* class="limit"', text)]
    clock = min(float(y) for y in re.findall(r'y="([\d.]+)" class="scale"', text))
    assert len(places) == len(lines) == 6
    assert all(lower - upper >= 13 for upper, lower in pairwise(places))
    assert max(places) < clock - 10
    assert all(
        abs(place - 4 - line) < 60 for place, line in zip(places, sorted(lines), strict=True)
    )
