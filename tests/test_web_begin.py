"""First use: a garden begun from nothing on a phone, trees from a plain list, a look at the invented garden."""

from __future__ import annotations

from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import BadInput
from bearwell.faces import options
from bearwell.faces.cli import cli
from bearwell.faces.language import speaking
from bearwell.faces.web import create_app
from bearwell.faces.web.pages.begin import coordinates, kinds, months_with_unit
from browsing import context_of, expect, fits, leave, unfold
from gardens import TODAY
from stores import stamp
from test_web_access import violations
from test_web_outdoors import serving

HOME = "http://127.0.0.1"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    api.open_store(tmp_path / "new", create=True).close()
    return tmp_path / "new"


@pytest.fixture
def client(folder: Path) -> TestClient:
    return TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)


def begin(client: TestClient, **more: str) -> object:
    sent = {"name": "Behind the <b>house</b>", "place": "41.69, -8.83", "units": "metric"} | more
    return client.post("/begin", data=sent, follow_redirects=False)


def garden(folder: Path) -> api.LoadedGarden:
    with api.open_store(folder) as store:
        return api.open_garden(store, TODAY)


def test_every_page_of_an_empty_store_leads_to_the_beginning(client: TestClient) -> None:
    for place in ("/", "/trees", "/tonight", "/tree/x", "/garden", "/begin/trees"):
        answer = client.get(place, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, "/begin"), place
    assert "Begin your garden" in client.get("/").text
    assert client.get("/week.json").status_code == 422


def test_from_nothing_to_a_plan_with_everything_unknown(client: TestClient, folder: Path) -> None:
    assert begin(client).status_code == 303  # type: ignore[attr-defined]
    for kind in ("Clementine", "peach"):
        sent = {"kind": kind, "number": "2", "stands": "pot" if kind == "peach" else "ground"}
        assert client.post("/begin/trees", data=sent).status_code == 200

    opened = garden(folder)
    assert {tree.id for tree in opened.garden.trees} == {
        "clementine-1", "clementine-2", "peach-1", "peach-2",
    }  # fmt: skip
    assert all("supposed" in tree.note for tree in opened.garden.trees)
    assert opened.garden.tree("peach-1").in_pot
    assert not [one for one in opened.problems if one.severity == "error"]
    assert {one.tree for one in api.worklist(opened, 120).advice} == {
        tree.id for tree in opened.garden.trees
    }
    page = client.get("/?days=120").text
    assert "Behind the &lt;b&gt;house&lt;/b&gt;" in page
    assert client.get("/begin", follow_redirects=False).headers["location"] == "/"


def test_what_is_known_is_taken_as_typed(client: TestClient, folder: Path) -> None:
    begin(client, units="us", elevation="120 ft", timezone="Europe/Lisbon",
          tmin="40 41 44 46 50 56 60 60 57 52 46 42", tmax="56 58 62 64 69 76 79 80 77 70 62 57")  # fmt: skip
    client.post("/begin/trees", data={
        "kind": "satsuma", "year": "2019", "stands": "pot", "pot": "60", "height": "5 ft", "spread": "4 ft",
        "trunk_girth": "6 in", "name": "by the door",
    })  # fmt: skip

    opened = garden(folder)
    tree = opened.garden.tree("satsuma")
    assert (tree.called, tree.planted.year, tree.note) == ("by the door", 2019, "")
    assert tree.pot is not None
    assert tree.pot.volume == 60
    assert tree.height == pytest.approx(5 * 0.3048)  # the foot of 1959, exactly 0.3048 m
    assert opened.garden.about.units == "us"
    assert opened.garden.site.elevation == pytest.approx(120 * 0.3048)
    assert opened.garden.weather.normals is not None


@pytest.mark.parametrize(
    ("sent", "wrong"),
    [
        ({"place": "somewhere"}, "not a place"),
        ({"place": "95, 10"}, "no map"),
        ({"place": ""}, "no place"),
        ({"name": " "}, "no name"),
        ({"name": "x" * 81}, "81 letters"),
        ({"units": "cubits"}, "units"),
        ({"timezone": "Moon/Sea"}, "Moon/Sea"),
        ({"tmin": "1 2 3"}, "twelve"),
        ({"elevation": "high"}, "high"),
        ({"id": "no-uuid"}, "no-uuid"),
    ],
)
def test_what_cannot_be_is_told_keeps_what_was_typed_and_begins_nothing(
    sent: dict[str, str], wrong: str, client: TestClient, folder: Path
) -> None:
    answer = begin(client, **sent)
    text = unescape(answer.text)  # type: ignore[attr-defined]

    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert wrong.lower() in text.lower()
    if "name" not in sent:
        assert 'value="Behind the &lt;b&gt;house&lt;/b&gt;"' in answer.text  # type: ignore[attr-defined]
    with api.open_store(folder) as store:
        assert api.history(store) == []


@pytest.mark.parametrize(
    ("sent", "wrong"),
    [
        ({"kind": "unicorn"}, "unicorn"),
        ({"kind": ""}, "no kind"),
        ({"kind": "clementine", "number": "51"}, "51"),
        ({"kind": "clementine", "number": "0"}, "0 trees"),
        ({"kind": "clementine", "number": "many"}, "many"),
        ({"kind": "clementine", "year": "2999"}, "2999"),
        ({"kind": "clementine", "height": "3 elephants"}, "elephants"),
        ({"kind": "clementine", "stands": "pot", "pot": "-4"}, "-4"),
    ],
)
def test_trees_that_cannot_be_are_told(
    sent: dict[str, str], wrong: str, client: TestClient, folder: Path
) -> None:
    begin(client)
    answer = client.post("/begin/trees", data=sent)

    assert answer.status_code == 422
    assert wrong.lower() in unescape(answer.text).lower()
    assert garden(folder).garden.trees == ()


def test_sent_twice_it_is_begun_and_planted_once_and_can_be_undone(
    client: TestClient, folder: Path
) -> None:
    mine = str(uuid4())
    assert begin(client, id=mine).status_code == 303  # type: ignore[attr-defined]
    assert begin(client, id=mine).status_code == 303  # type: ignore[attr-defined]
    assert begin(client).headers["location"] == "/"  # type: ignore[attr-defined]
    sent = {"kind": "lemon", "number": "3", "id": str(uuid4())}
    for _ in range(2):
        page = client.post("/begin/trees", data=sent)
    assert "Added 3 trees" in page.text
    assert len(garden(folder).garden.trees) == 3
    client.post("/undo", data={"record": sent["id"]})
    assert garden(folder).garden.trees == ()


def test_every_kind_of_the_list_can_be_planted(folder: Path) -> None:
    with api.open_store(folder) as store:
        api.begin_garden(store, stamp(), TODAY, name="all", latitude=-41.0, longitude=174.0)
        names = kinds(api.knowledge())
        for name in names:
            api.plant_trees(store, stamp(), TODAY, kind=name)
        opened = api.open_garden(store, TODAY)
    assert len(names) > 60
    assert len(opened.garden.trees) == len(names)
    assert not [one for one in opened.problems if one.severity == "error"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("41.69, -8.83", (41.69, -8.83)),
        ("41.69 -8.83", (41.69, -8.83)),
        ("41.69° N, 8.83° W", (41.69, -8.83)),
        ("36.85S 174.76E", (-36.85, 174.76)),
        (" 0,0 ", (0.0, 0.0)),
        ("41.123456, -8.987654", (41.123, -8.988)),
        ("41,69 -8,83", (41.69, -8.83)),
        ("41,69, -8,83", (41.69, -8.83)),
        ("41,69; -8,83", (41.69, -8.83)),
    ],
)
def test_places_as_maps_write_them(text: str, expected: tuple[float, float]) -> None:
    assert coordinates(text) == expected


def test_west_is_oeste_where_it_is_called_so() -> None:
    """In Portuguese and Spanish maps write O for west; in English the letter is refused."""
    with speaking("pt"):
        assert coordinates("41,69° N, 8,83° O") == (41.69, -8.83)
    with pytest.raises(BadInput):
        coordinates("41.69 N 8.83 O")


@given(st.text(max_size=40))
def test_any_text_is_a_place_or_is_refused_in_words(text: str) -> None:
    try:
        latitude, longitude = coordinates(text)
    except BadInput:
        return
    assert -90 <= latitude <= 90
    assert -180 <= longitude <= 180


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_a_place_is_found_again(latitude: float, longitude: float) -> None:
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    found = coordinates(f"{abs(latitude):.4f} {north} {abs(longitude):.4f} {east}")
    assert found == pytest.approx((latitude, longitude), abs=1e-3)


# ---------------------------------------------------------------- only looking


def test_the_invented_garden_is_marked_read_only_and_leaves_nothing(
    client: TestClient, folder: Path
) -> None:
    page = client.post("/begin/demo").text
    assert "Tern Steps" in page
    assert "This garden is invented" in page
    assert "This garden is invented" in client.get("/tonight").text
    assert 'class="record' not in page
    assert client.post("/do", data={"what": "done", "advice": "x"}).status_code == 422
    assert client.post("/begin", data={"name": "x", "place": "1,1"}).status_code == 422
    page = client.post("/begin/own").text
    assert "Begin your garden" in page
    assert "invented</b>" not in page
    with api.open_store(folder) as store:
        assert api.history(store) == []
    assert begin(client).status_code == 303  # type: ignore[attr-defined]
    assert client.post("/begin/demo").status_code == 422, "there is a garden now"
    assert "This garden is invented" not in client.get("/").text


# ---------------------------------------------------------------- the command


def test_serve_begins_only_in_a_folder_with_nothing_in_it(tmp_path: Path) -> None:
    new = tmp_path / "new"
    assert options.where_of(None, str(new), begin=True) == str(new)
    assert api.is_store(new)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("x")
    for begins, place in ((True, "full"), (False, "none")):
        with pytest.raises(BadInput, match="no garden is kept here yet"):
            options.where_of(None, str(tmp_path / place), begin=begins)
    told = CliRunner().invoke(cli, ["serve", "--data", str(tmp_path / "none"), "--read-only"])
    assert told.exit_code != 0
    assert not (tmp_path / "none").exists()


# ---------------------------------------------------------------- in a browser


@pytest.fixture
def address(folder: Path) -> Iterator[str]:
    with serving(folder) as found:
        yield found


def fits_fingers(page: Any) -> None:
    page.wait_for_load_state()
    fits(page, targets="summary, button, .button, input:not([type=hidden]):not([type=radio])")


@pytest.mark.browser
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_first_use_on_a_phone(browser: Any, address: str, scripts: bool) -> None:
    context = context_of(browser, java_script_enabled=scripts)
    if scripts:
        context.grant_permissions(["geolocation"])
        context.set_geolocation({"latitude": 41.6912345, "longitude": -8.8312345})
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda one: complaints.append(one.text) if one.type == "error" else None)
    foreign: list[str] = []
    page.on("request", lambda one: foreign.append(one.url) if address not in one.url else None)
    page.goto(address + "/")
    touched = 0

    def touch(what) -> None:  # type: ignore[no-untyped-def]
        nonlocal touched
        what.click()
        touched += 1

    fits_fingers(page)
    if scripts:
        unfold(page)
        assert violations(page) == [], "WCAG 2.2 A and AA, as far as a program can decide"
    page.get_by_label("Name of the garden").fill("Behind the house")
    if scripts:
        touch(page.get_by_role("button", name="Use this device's position"))
        page.get_by_text("Found.").wait_for()
        expect(page.get_by_label("Where it is")).to_have_value("41.691, -8.831")
    else:
        assert page.get_by_role("button", name="Use this device's position").count() == 0
        page.get_by_label("Where it is").fill("41.69, -8.83")
    touch(page.get_by_role("button", name="On to the trees"))
    page.get_by_role("heading", name="Add trees").wait_for()
    fits_fingers(page)
    assert not page.get_by_label("Litres the pot holds").is_visible()
    page.get_by_label("Kind of tree").fill("clementine")
    page.get_by_label("How many").fill("3")
    touch(page.get_by_role("button", name="Add"))
    page.get_by_text("Added 3 trees").wait_for()
    page.get_by_label("Kind of tree").fill("lemon")
    touch(page.get_by_label("In a pot"))
    expect(page.get_by_label("Litres the pot holds")).to_be_visible()
    touch(page.get_by_role("button", name="Add"))
    page.get_by_text("4 trees so far").wait_for()
    fits_fingers(page)
    touch(page.get_by_role("link", name="To the plan"))
    expect(page.locator("h1")).to_contain_text("The coming two weeks")
    page.goto(address + "/?days=120")
    assert page.locator(".card, .part details.job").count() > 3
    assert touched <= 8, "a handful of touches"
    assert complaints == []
    assert foreign == []
    leave(context)


@pytest.mark.browser
def test_the_demo_is_one_touch_away_and_back(browser: Any, address: str) -> None:
    context = context_of(browser)
    page = context.new_page()
    page.goto(address + "/")
    page.get_by_role("button", name="Look at the demo garden instead").click()
    page.get_by_text("This garden is invented").wait_for()
    fits_fingers(page)
    page.goto(address + "/trees")
    page.get_by_role("button", name="Begin your own").click()
    page.get_by_role("heading", name="Begin your garden").wait_for()
    page.wait_for_url(address + "/begin")
    leave(context)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("6 6 8", "6 6 8 degC"),
        ("6, 6, 8", "6 6 8 degC"),
        ("6,6,8", "6 6 8 degC"),
        ("6,5 6 8,1", "6.5 6 8.1 degC"),
        ("6,5; 6; −8,1", "6.5 6 −8.1 degC"),
        ("6.5, 6, 8.1 degC", "6.5 6 8.1 degC"),
        ("", ""),
    ],
)
def test_months_are_parted_by_commas_or_have_decimal_commas(typed: str, read: str) -> None:
    """How people write rows of numbers: common practice, no source."""
    assert months_with_unit(typed, "degC") == read
