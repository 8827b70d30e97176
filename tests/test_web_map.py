"""Places of trees kept from the map: by hand, by dragging and by keys; refused, overtaken, undone, read only."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web import create_app
from browsing import expect, fits, page_of
from gardens import TODAY
from running import running
from stores import kept, opened, stamp, write
from test_map import at

HOME = "http://127.0.0.1"
JSON = {"accept": "application/json"}
TREES = at("a", 1, 1, "2 m", more='name = "Ada <b>"') + at("b", 4, 1, "2 m") + at("c", 4, 5, "2 m")
UNPLACED = '[[tree]]\nid = "d"\nkind = "fig"\nplanted = 2015-03-01\n'


def garden_folder(place: Path, trees: str = TREES + UNPLACED, **rest: Any) -> Path:
    kept(str(place / "data"), write(place / "file", trees, **rest)).close()
    return place / "data"


def client_of(folder: Path, **rest: Any) -> TestClient:
    return TestClient(create_app(folder, today=lambda: TODAY, **rest), base_url=HOME)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return garden_folder(tmp_path)


@pytest.fixture
def client(folder: Path) -> TestClient:
    return client_of(folder)


def hand_form(page: str) -> dict[str, list[str]]:
    """The fields of the form of places, as a browser sends them untouched."""
    form = page.split('class="by-hand"')[1].split("</form>")[0]
    found: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', form):
        found.setdefault(name, []).append(unescape(value))
    return found


def moved(form: dict[str, list[str]], **places: tuple[str, str]) -> dict[str, list[str]]:
    """The form with other places typed for some trees."""
    form = {key: list(values) for key, values in form.items()}
    for tree, (east, north) in places.items():
        row = form["tree"].index(tree)
        form["east"][row], form["north"][row] = east, north
    return form


def places(folder: Path) -> dict[str, tuple[float, float] | None]:
    with api.open_store(folder) as store:
        return {
            tree.id: (tree.place.east, tree.place.north) if tree.place else None
            for tree in opened(store).garden.trees
        }


def test_several_trees_are_kept_in_one_record_and_undone_together(
    client: TestClient, folder: Path
) -> None:
    before = places(folder)
    form = moved(
        hand_form(client.get("/map").text), a=("2,5", "1.5 m"), b=("10 ft", "-20 cm"), d=("0", "6")
    )

    answer = client.post("/map/places", data=form, follow_redirects=False)

    assert answer.status_code == 303
    after = places(folder)
    assert after["a"] == pytest.approx((2.5, 1.5))
    assert after["b"] == pytest.approx((3.048, -0.2))
    assert after["d"] == pytest.approx((0, 6))
    assert after["c"] == before["c"]
    page = client.get(answer.headers["location"]).text
    assert "Noted for Ada &lt;b&gt;, b, d" in page
    assert "3 places of trees" in page
    told = client.get("/history.json").json()["records"][0]
    assert told["trees"] == ["a", "b", "d"]
    assert "Stands 2.5 m east, 1.5 m north" in client.get("/history?tree=a").text

    client.post("/undo", data={"record": told["record"], "id": str(uuid4())})

    assert places(folder) == before


def test_what_is_reckoned_from_places_follows(client: TestClient) -> None:
    touching = {frozenset(one["trees"]) for one in client.get("/map.json").json()["crowding"]}
    form = moved(hand_form(client.get("/map").text), a=("4 m", "2.2 m"))
    client.post("/map/places", data=form)
    now = client.get("/map.json").json()

    assert frozenset("ab") not in touching
    pair = next(one for one in now["crowding"] if set(one["trees"]) == {"a", "b"})
    assert pair["trunks_m"] == pytest.approx(1.2)
    assert pair["touching"]


def test_nothing_moved_is_nothing_recorded(client: TestClient) -> None:
    answer = client.post("/map/places", data=hand_form(client.get("/map").text), headers=JSON)

    assert answer.status_code == 422
    assert "no tree was moved" in answer.json()["problems"][0]["message"]


def test_sent_twice_it_is_recorded_once(client: TestClient) -> None:
    form = moved(hand_form(client.get("/map").text), a=("2", "2"))
    first = client.post("/map/places", data=form, headers=JSON).json()
    second = client.post("/map/places", data=form, headers=JSON).json()

    assert (first["repeated"], second["repeated"]) == (False, True)
    assert first["recorded"] == second["recorded"]


@pytest.mark.parametrize(
    ("east", "north", "words"),
    [
        ("9 km", "1", "9 km is not plausible for metres east or north"),
        ("3 kg", "1", "mass"),
        ("by the wall", "1", "is not a number with a unit"),
        ("", "1", "is not a number with a unit"),
        ("nan", "1", "is not a number"),
        ("1e9", "1", "not plausible"),
    ],
)
def test_what_is_no_place_is_told_with_what_was_typed_and_none_is_kept(
    client: TestClient, folder: Path, east: str, north: str, words: str
) -> None:
    before = places(folder)
    form = moved(hand_form(client.get("/map").text), a=(east, north), b=("2.75 m", "3"))
    page = client.post("/map/places", data=form)

    assert page.status_code == 422
    assert words in unescape(page.text)
    again = hand_form(page.text)
    assert again["east"][:2] == [east, "2.75 m"]  # nothing typed is lost
    assert places(folder) == before


def test_a_tree_that_was_moved_or_lost_meanwhile_is_a_conflict(
    client: TestClient, folder: Path
) -> None:
    mine = moved(hand_form(client.get("/map").text), a=("2", "2"), c=("5", "5"))
    theirs = moved(hand_form(client.get("/map").text), a=("3", "3"))
    client.post("/map/places", data=theirs)
    mine["id"] = [str(uuid4())]
    late = client.post("/map/places", data=mine, headers=JSON)

    assert late.status_code == 409
    assert "moved by somebody else" in late.json()["problems"][0]["message"]
    assert places(folder)["c"] == (4, 5)  # all or none
    assert client.post("/map/places", data=mine).status_code == 409

    form = moved(hand_form(client.get("/map").text), b=("6", "6"))
    with api.open_store(folder) as store:
        api.record_gone(store, stamp(), TODAY, subject="tree", named="b", day=TODAY, reason="frost")
    gone = client.post("/map/places", data=form, headers=JSON)
    assert gone.status_code == 409
    assert "no tree 'b'" in gone.json()["problems"][0]["message"]


def test_a_form_cut_short_and_one_from_elsewhere_are_refused(
    client: TestClient, folder: Path
) -> None:
    form = moved(hand_form(client.get("/map").text), a=("2", "2"))
    short = {**form, "north": form["north"][:-1]}

    assert client.post("/map/places", data=short).status_code == 422
    foreign = client.post("/map/places", data=form, headers={"sec-fetch-site": "cross-site"})
    assert foreign.status_code == 403
    assert places(folder)["a"] == (1, 1)


def test_many_moved_at_once_are_told_as_places_and_undone_by_a_touch(tmp_path: Path) -> None:
    trees = "".join(at(f"t{number}", number, 0, "0.8 m") for number in range(12))
    folder = garden_folder(tmp_path, trees)
    client = client_of(folder)
    rows = {f"t{number}": (f"{number} m", "2 m") for number in range(12)}
    client.post("/map/places", data=moved(hand_form(client.get("/map").text), **rows))
    page = client.get("/history").text
    record = client.get("/history.json").json()["records"][0]

    assert record["lines"] == ["12 places of trees"]
    assert f'name="record" value="{record["record"]}"' in page


def test_a_garden_in_feet_shows_and_takes_feet(tmp_path: Path) -> None:
    folder = garden_folder(tmp_path, units="us")
    client = client_of(folder)
    form = hand_form(client.get("/map").text)
    assert form["east"][0] == "3.28 ft"
    client.post("/map/places", data=moved(form, a=("10", "5 ft")))

    assert places(folder)["a"] == pytest.approx((3.048, 1.524))


def test_read_only_and_from_a_file_the_map_says_that_nothing_is_kept(
    folder: Path, tmp_path: Path
) -> None:
    reader = client_of(folder, read_only=True)
    page = reader.get("/map").text
    assert "this garden is served read only" in page
    assert "by-hand" not in page
    assert "Keep these places" not in page
    assert reader.post("/map/places", data={"tree": "a"}).status_code == 403

    file = client_of(write(tmp_path / "other", TREES))
    page = file.get("/map").text
    assert "write these lines in the garden file" in page
    assert "Keep these places" not in page
    refused = file.post("/map/places", data={"tree": "a", "east": "2", "north": "2", "was": "1 1"})
    assert refused.status_code == 422
    assert "read from a file" in refused.text


# ---------------------------------------------------------------- in a browser


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A garden served from a store."""
    folder = garden_folder(tmp_path_factory.mktemp("garden"))
    with running(create_app(folder, today=lambda: TODAY)) as (home, _):
        yield home


def stands(page: Any, tree: str) -> tuple[float, float]:
    """Where the drawing has a tree [m]."""
    shape = page.locator(f'.map-tree[data-tree="{tree}"]')
    return float(shape.get_attribute("data-east")), float(shape.get_attribute("data-north"))


@pytest.mark.browser
def test_dragged_kept_and_undone(browser: Any, address: str) -> None:
    page = page_of(browser, 1200, 1000)
    page.goto(address + "/map")
    metre = page.locator(".map-drawing").evaluate(
        "one => one.getScreenCTM().a * Number(one.dataset.unit)"
    )
    box = page.locator('.map-tree[data-tree="b"] .grip').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - metre, y - metre, steps=5)
    page.mouse.up()
    page.locator('.map-tree[data-tree="a"]').focus()
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator(".moved-list li")).to_have_count(2)
    page.get_by_role("button", name="Keep these places").click()
    page.wait_for_url("**/map?*told=*")

    page.locator(".told").wait_for()
    page.goto(address + "/map")
    assert stands(page, "a") == pytest.approx((1, 2))
    assert stands(page, "b") == pytest.approx((3, 2), abs=0.11)
    page.goto(address + "/history")
    page.locator(".records button").first.click()
    page.wait_for_url("**told=*")
    page.goto(address + "/map")
    assert stands(page, "a") == (1, 1)
    assert stands(page, "b") == (4, 1)
    page.close()


@pytest.mark.browser
def test_put_back_by_the_button_and_set_down_again(browser: Any, address: str) -> None:
    page = page_of(browser)
    page.goto(address + "/map")
    page.locator('.map-tree[data-tree="c"]').focus()
    page.keyboard.press("ArrowRight")
    page.locator('button[data-set="d"]').click()
    expect(page.locator(".moved-list li")).to_have_count(2)
    page.get_by_role("button", name="Put them back").click()

    expect(page.locator(".moved-list li")).to_have_count(0)
    expect(page.locator(".moved")).not_to_be_visible()
    expect(page.locator('.map-tree[data-tree="d"]')).not_to_be_visible()
    page.locator('button[data-set="d"]').click()
    expect(page.locator('.map-tree[data-tree="d"]')).to_be_visible()
    fits(page)
    page.close()


@pytest.mark.browser
def test_a_conflict_is_told_beside_the_button_and_the_tree_stays_where_it_was_put(
    browser: Any, tmp_path: Path
) -> None:
    folder = garden_folder(tmp_path)
    with running(create_app(folder, today=lambda: TODAY)) as (home, _):
        page = page_of(browser, 1280, 720)
        page.goto(home + "/map")
        page.locator('.map-tree[data-tree="c"]').focus()
        page.keyboard.press("Shift+ArrowRight")
        other = client_of(folder)
        other.post("/map/places", data=moved(hand_form(other.get("/map").text), c=("1", "5")))
        page.get_by_role("button", name="Keep these places").click()
        expect(page.locator(".moved .complaint")).to_contain_text("moved by somebody else")
        assert page.locator(".moved-list li").count() == 1
        page.close()


@pytest.mark.browser
def test_without_scripts_places_are_written_by_hand(browser: Any, address: str) -> None:
    page = page_of(browser, java_script_enabled=False)
    page.goto(address + "/map")
    page.get_by_text("Write the places by hand").click()
    page.get_by_role("group", name="c").get_by_label("East").fill("5.5")
    page.locator(".by-hand").get_by_role("button", name="Keep these places").click()

    page.locator(".told").wait_for()
    assert stands(page, "c") == (5.5, 5)
    page.locator(".told").get_by_role("button", name="Undo").click()
    page.get_by_text("Undone").first.wait_for()
    assert stands(page, "c") == (4, 5)
    page.close()
