"""Drawings read point by point: by a pointer, a finger and the keyboard; the table behind says the same."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web import create_app
from bearwell.faces.web.drawing.reading import Readings, at, readable
from bearwell.faces.web.drawing.svg import tag
from browsing import complaints_of, context_of, drawn, expect, page_of, until
from gardens import TODAY
from running import running
from test_web import Outline

HOME = "http://127.0.0.1"
TREE = "/tree/satsuma-gate"
DRAWINGS = {
    "ledger": f"{TREE}/feeding",
    "water": f"{TREE}/water",
    "night": "/tonight",
    "bearing": f"{TREE}/crop",
}
MORE = ("/winter", f"{TREE}/pruning", TREE)
HEAVIEST = 200_000  # bytes that come over the line with a page and all it needs, the first time


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def client(path: Path) -> TestClient:
    return TestClient(create_app(path, today=lambda: TODAY), base_url=HOME)


@pytest.fixture(scope="module")
def address(path: Path) -> Iterator[str]:
    with running(create_app(path, today=lambda: TODAY)) as (home, _):
        yield home


class TestReadings:
    def test_a_sentence_keeps_its_words_once_and_each_point_its_figures(self) -> None:
        found = Readings("point at it")
        found.add("{day}: {mass} given", day="1 May", mass="3 g")
        found.add("{day}: {mass} given", day="2 May", mass="4 g")
        found.add("{mass} on {day}", day="3 May", mass="5 g")

        assert found.texts() == ["1 May: 3 g given", "2 May: 4 g given", "5 g on 3 May"]
        assert found.attributes()["data_sentences"] == "{0}: {1} given\n{1} on {0}"

    @given(st.lists(st.tuples(st.text(), st.text()), min_size=1, max_size=4))
    def test_whatever_the_values_hold_points_stay_apart(self, rows: list[tuple[str, str]]) -> None:
        found = Readings("")
        for day, mass in rows:
            found.add("{day}: {mass}", day=day, mass=mass)
        carried = found.attributes()["data_points"].split("\n")

        assert len(carried) == len(rows) == len(found.texts())
        assert all(len(one.split("\t")) == 3 for one in carried)

    def test_what_a_value_holds_is_no_markup_and_no_drawing_is_no_frame(self) -> None:
        found = Readings("h")
        found.add("{day}", day='"><script>x</script>')
        shown = readable([tag("svg", **at([1.0], 0, 9))], found)

        assert "<script>" not in shown
        assert 'data-at="1"' in shown
        assert readable([tag("svg")[:0], tag("svg")[:0]], found) == ""


@pytest.mark.parametrize("place", [*DRAWINGS.values(), *MORE])
def test_every_point_of_a_drawing_has_its_sentence(client: TestClient, place: str) -> None:
    text = client.get(place).text
    frames = text.split('class="drawing readable"')[1:]

    assert frames
    for frame in frames:
        sentences = re.search(r'data-sentences="([^"]*)"', frame)
        points = re.search(r'data-points="([^"]*)"', frame)
        assert sentences and points
        told = points[1].split("\n")
        kinds = sentences[1].split("\n")
        ends = set()
        for drawing in re.findall(r'data-at="([^"]*)" data-first="(\d+)"', frame):
            across, first = [float(x) for x in drawing[0].split()], int(drawing[1])
            assert across == sorted(across)
            ends.add(first + len(across))
        assert ends == {len(told)}
        assert int(re.search(r'data-start="(\d+)"', frame)[1]) < len(told)  # type: ignore[index]
        for one in told:
            number, *values = one.split("\t")
            assert len(values) > max(int(at) for at in re.findall(r"\{(\d+)\}", kinds[int(number)]))
    assert Outline(text).open == []


def test_the_figures_read_are_those_of_the_table(client: TestClient) -> None:
    """A week of rain and use in the table of water is the sum of its days as they are read."""
    data = client.get(f"{TREE}/water.json").json()
    text = client.get(f"{TREE}/water").text
    assert data
    points = re.search(r'data-points="([^"]*)"', text)[1].split("\n")  # type: ignore[index]
    first_ahead = next(one for one in points if one.startswith("1\t"))
    missing = first_ahead.split("\t")[6]
    row = re.search(r'<tr class="coming">(.*?)</tr>', text, re.DOTALL)[1]  # type: ignore[index]
    cells = re.findall(r"<td>(.*?)</td>", row)

    assert missing == cells[-1]
    assert first_ahead.split("\t")[2] == cells[0].replace("–", "0 mm")


# ---------------------------------------------------------------- in a browser


SHOWN = [
    ["visible", "visible"],
    ["visible", "hidden"],
]  # the marks of a drawing, or of both its sizes


def frame_of(page: Any) -> Any:
    frame = page.locator(".reads").first
    frame.scroll_into_view_if_needed()
    return frame


def reading(page: Any) -> Any:
    return page.locator(".reads .reading").first


def told(page: Any) -> str:
    return str(reading(page).text_content())


def told_anew(page: Any, before: str) -> str:
    """What is told once it is something else than before."""
    until(lambda: told(page) != before, f"anything but {before}")
    return told(page)


def middle_of(page: Any, share: float) -> tuple[float, float]:
    """A spot on the drawing that is seen, this share of its width from the left."""
    box = page.locator(".reads").first.locator("svg[data-at]:visible").bounding_box()
    return box["x"] + share * box["width"], box["y"] + box["height"] / 2


def marks(page: Any) -> list[str]:
    return page.locator(".reads").first.evaluate(  # type: ignore[no-any-return]
        "one => [...one.querySelectorAll('.read-mark')].map(mark => mark.getAttribute('visibility'))"
    )


@pytest.mark.browser
@pytest.mark.parametrize("name", DRAWINGS)
@pytest.mark.parametrize("width", [390, 1200])
def test_a_pointer_over_the_drawing_reads_it(
    browser: Any, address: str, name: str, width: int
) -> None:
    page = page_of(browser, width, 900)
    wrong = complaints_of(page)
    page.goto(address + DRAWINGS[name])
    frame = frame_of(page)
    hint = frame.get_attribute("data-hint")
    said = [hint]
    assert told(page) == hint
    for share in (0.3, 0.6, 0.9):
        page.mouse.move(*middle_of(page, share))
        said.append(told_anew(page, said[-1]))

    assert len(set(said)) == 4
    assert marks(page) in SHOWN
    x = page.locator(".reads").first.locator("svg[data-at]:visible .read-mark").bounding_box()
    assert abs(x["x"] + x["width"] / 2 - middle_of(page, 0.9)[0]) < width / 8
    assert wrong == []
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", DRAWINGS)
def test_a_finger_along_the_drawing_reads_it(browser: Any, address: str, name: str) -> None:
    context = context_of(browser, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(address + DRAWINGS[name])
    frame_of(page)
    page.touchscreen.tap(*middle_of(page, 0.35))
    tapped = told_anew(page, page.locator(".reads").first.get_attribute("data-hint"))

    line = context.new_cdp_session(page)
    x, y = middle_of(page, 0.4)
    far = middle_of(page, 0.85)[0]
    line.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 9):
        point = {"x": x + (far - x) * step / 8, "y": y}
        line.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    drawn(page)
    dragged = told(page)
    page.touchscreen.tap(far, y)

    assert dragged not in ("", tapped)
    expect(reading(page)).to_have_text(dragged)
    before = page.evaluate("scrollY")
    points = [{"x": x, "y": y}]
    line.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points})
    for step in range(1, 12):
        line.send(
            "Input.dispatchTouchEvent",
            {"type": "touchMove", "touchPoints": [{"x": x, "y": y - 25 * step}]},
        )
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    until(lambda: abs(page.evaluate("scrollY") - before) > 50, "the page still scrolls")
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", DRAWINGS)
@pytest.mark.parametrize("width", [390, 1200])
def test_arrow_keys_go_from_point_to_point(
    browser: Any, address: str, name: str, width: int
) -> None:
    page = page_of(browser, width, 900)
    page.goto(address + DRAWINGS[name])
    frame = page.locator(".reads").first
    for _ in range(80):
        page.keyboard.press("Tab")
        if frame.evaluate("one => one === document.activeElement"):
            break
    assert frame.evaluate("one => one === document.activeElement")
    assert frame.get_attribute("aria-describedby") == page.locator(".reading").first.get_attribute(
        "id"
    )
    assert page.locator(".reading").first.get_attribute("aria-live") == "polite"
    start = told(page)
    assert start != frame.get_attribute("data-hint")
    page.keyboard.press("ArrowRight")
    next_ = told(page)
    page.keyboard.press("ArrowLeft")
    assert (told(page), next_ != start) == (start, True)
    page.keyboard.press("Home")
    first = told(page)
    page.keyboard.press("ArrowLeft")
    assert told(page) == first
    page.keyboard.press("End")
    last = told(page)
    page.keyboard.press("ArrowRight")
    assert told(page) == last
    assert first != last
    assert "visible" in marks(page)
    page.keyboard.press("Escape")
    assert told(page) == frame.get_attribute("data-hint")
    assert "visible" not in marks(page)
    page.keyboard.press("Tab")
    assert not frame.evaluate("one => one === document.activeElement")
    page.close()


@pytest.mark.browser
def test_without_scripts_nothing_is_promised(browser: Any, address: str) -> None:
    page = page_of(browser, 1280, 720, java_script_enabled=False)
    for place in DRAWINGS.values():
        page.goto(address + place)
        assert page.locator("svg[data-at]:visible").count() == 1
        assert not page.locator(".reading").first.is_visible()
        assert page.locator(".readable[tabindex]").count() == 0
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("place", [*DRAWINGS.values(), *MORE, "/map"])
def test_a_page_stays_light_the_first_time_it_is_loaded(
    browser: Any, address: str, place: str
) -> None:
    context = context_of(browser)
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    came: list[float] = []
    line.on("Network.loadingFinished", lambda one: came.append(one["encodedDataLength"]))
    page.goto(address + place, wait_until="networkidle")
    context.close()

    assert len(came) > 3
    assert sum(came) < HEAVIEST
