"""Units, dates and the clock of the garden: changed on its page, honoured everywhere, undone."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import BadInput
from bearwell.faces import clock
from bearwell.faces.web import create_app
from bearwell.faces.web.pages import typed
from bearwell.quantities import parse
from browsing import context_of, fits, leave, noted, unfold
from gardens import TODAY
from stores import opened, stamp
from test_web_outdoors import address
from web_garden import write_garden
from web_store import HOME, JSON, client, folder

__all__ = ["folder", "client", "address"]  # fixtures
QUANTITY = {
    "height": "height", "spread": "spread", "skirt": "skirt", "trunk_girth": "girth", "shoot_growth": "height",
    "elevation": "elevation", "crop": "mass", "feed": "mass", "water": "volume_of_water", "air": "air_temperature",
}  # fmt: skip


def change(client: TestClient, **form: str) -> Any:
    return client.post("/garden", data={"id": str(uuid4()), "back": "/garden"} | form)


def tree(folder: Path) -> api.Tree:
    with api.open_store(folder) as store:
        return opened(store).garden.tree("one")


# ---------------------------------------------------------------- what is typed


def test_a_point_that_may_set_thousands_apart_is_asked_about_and_nothing_is_kept(
    client: TestClient, folder: Path
) -> None:
    form = {"kind": "work", "job": "feed", "product": "balanced", "units": "metric"}

    def sent(amount: str, language: str) -> Any:
        return client.post(
            f"/tree/one/record?language={language}",
            data=form | {"id": str(uuid4()), "amount": amount}, headers=JSON,
        )  # fmt: skip

    before = tree(folder).done
    for language in ("pt", "es"):
        for amount in ("1.500 g", "1.500"):
            assert sent(amount, language).status_code == 422
            assert "1.500" in sent(amount, language).text
    assert tree(folder).done == before
    for amount, language in (
        ("1500 g", "pt"),
        ("1,5 kg", "pt"),
        ("1.500 kg", "en"),
        ("1500", "es"),
    ):
        assert sent(amount, language).status_code == 200
    assert [one.amount for one in tree(folder).done[len(before) :]] == [1500.0] * 4


# ---------------------------------------------------------------- the change


def test_units_are_changed_told_and_undone(client: TestClient) -> None:
    assert "°F" not in client.get("/garden").text.split("<footer>")[0].replace("gallons, °F", "")
    page = change(client, units="us", timezone="Europe/Lisbon").text
    assert "Units: Feet, gallons, °F" in page
    assert 'value="us" checked' in page
    assert client.get("/garden.json").json()["units"] == "us"
    assert "November 25" in client.get("/").text
    record = re.findall(r'name="record" value="([^"]+)"', page)[0]
    client.post("/undo", data={"record": record, "back": "/garden"})
    assert client.get("/garden.json").json()["units"] == "metric"
    assert "25 November" in client.get("/").text


@pytest.mark.parametrize(
    ("form", "wrong"),
    [
        ({"units": "furlongs", "timezone": ""}, "units"),
        ({"units": "metric", "timezone": "Mars/Olympus"}, "Mars/Olympus"),
        ({"units": "metric", "timezone": ""}, "Nothing was changed"),
        ({"units": "metric", "timezone": "<script>alert(1)</script>"}, "not known"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    form: dict[str, str], wrong: str, client: TestClient, folder: Path
) -> None:
    with api.open_store(folder) as store:
        before = store.mark()
    answer = change(client, **form)
    assert answer.status_code == 422
    assert wrong in answer.text
    assert "<script>alert" not in answer.text
    with api.open_store(folder) as store:
        assert store.mark() == before


def test_where_nothing_is_recorded_it_is_said_how(folder: Path, tmp_path: Path) -> None:
    read_only = TestClient(create_app(folder, today=lambda: TODAY, read_only=True), base_url=HOME)
    assert "Served read only" in read_only.get("/garden").text
    assert change(read_only, units="us", timezone="").status_code == 403
    of_file = TestClient(create_app(write_garden(tmp_path), today=lambda: TODAY), base_url=HOME)
    page = of_file.get("/garden").text
    assert "They stand in the garden file" in page
    assert 'action="/garden"' not in page
    assert change(of_file, units="us", timezone="").status_code == 422


# ---------------------------------------------------------------- what is typed


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("what", sorted(typed.SHOWN))
def test_an_example_is_a_measure_in_the_unit_beside_it(what: str, units: str) -> None:
    for text in typed.example(what, units).split(", "):
        read = parse(typed.as_shown(text, what, {"units": [units]}), QUANTITY[what])
        assert read == pytest.approx(
            parse(f"{text} {typed.shown_unit(what, units)}", QUANTITY[what])
        )


def test_what_has_a_unit_keeps_it_and_a_form_that_does_not_say_is_not_guessed() -> None:
    assert typed.as_shown("7 ft 3 in", "height", {"units": ["metric"]}) == "7 ft 3 in"
    assert typed.as_shown("2.1", "height", {}) == "2.1"
    assert typed.as_shown("", "height", {"units": ["us"]}) == ""
    with pytest.raises(BadInput, match="no unit"):
        parse(typed.as_shown("2.1", "height", {}), "height")


def test_a_bare_number_is_in_the_unit_its_page_showed_whatever_the_garden_shows_since(
    client: TestClient, folder: Path
) -> None:
    def measure(units: str, **more: str) -> float:
        form = {"kind": "measured", "units": units} | more
        answer = client.post("/tree/one/record", data=form, headers=JSON)
        assert answer.status_code == 200, answer.text
        return tree(folder).height

    assert measure("us", height="7") == pytest.approx(7 * 0.3048)
    change(client, units="us", timezone="")
    assert measure("metric", height="2.3", spread="2.2, 2.0") == pytest.approx(2.3)
    assert measure("metric", height="2,3", spread="2,2; 2,0") == pytest.approx(2.3)
    assert measure("us", height="2.2 m", spread="7, 6") == pytest.approx(2.2)
    assert tree(folder).spread == pytest.approx((7 * 0.3048, 6 * 0.3048))
    for units, mass in (("us", "10"), ("metric", "2")):
        form = {"kind": "picked", "mass": mass, "units": units}
        assert client.post("/tree/one/record", data=form, headers=JSON).status_code == 200
    picked = sum(one.mass for one in tree(folder).harvests if one.year == TODAY.year)
    assert picked == pytest.approx(10 * 453.59237 + 2000)
    for job, amount in (("water", "5"), ("feed", "5")):
        form = {"kind": "work", "job": job, "amount": amount, "units": "us",
                "product": "balanced" if job == "feed" else ""}  # fmt: skip
        assert client.post("/tree/one/record", data=form, headers=JSON).status_code == 200
    told = client.get("/history.json").json()["records"]
    assert [one["entries"][0]["content"]["amount"] for one in told[:2]] == ["5 oz", "5 gal"]


# ---------------------------------------------------------------- the clock


@pytest.mark.parametrize(
    ("zone", "moment", "day"),
    [
        ("Pacific/Auckland", "2026-11-25T12:30", date(2026, 11, 26)),  # 13 h ahead in its summer
        ("Europe/Lisbon", "2026-11-25T23:30", date(2026, 11, 25)),  # at Greenwich in winter
        ("America/Los_Angeles", "2026-11-25T07:30", date(2026, 11, 24)),  # 8 h behind
        ("Pacific/Kiritimati", "2026-11-25T10:30", date(2026, 11, 26)),  # 14 h ahead, the farthest
        ("Pacific/Pago_Pago", "2026-11-25T10:30", date(2026, 11, 24)),  # 11 h behind
    ],
)
def test_today_is_that_of_the_garden(
    zone: str, moment: str, day: date, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Offsets of the IANA time zone data; the change of zone is heeded by the server that runs already."""
    at = datetime.fromisoformat(f"{moment}:00+00:00")

    class Then(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> datetime:
            return at.astimezone(tz or UTC)

    monkeypatch.setattr(clock, "datetime", Then)
    client = TestClient(create_app(folder), base_url=HOME)
    client.get("/")
    if zone != "Europe/Lisbon":
        change(client, units="metric", timezone=zone)
    assert client.get("/garden.json").json()["today"] == day.isoformat()
    with api.open_store(folder) as store:
        assert clock.today_at(store) == day
    made = at.astimezone(ZoneInfo(zone)).isoformat()
    client.post("/tree/one/record", data={"kind": "seen", "event": "leaf fall", "made": made})
    assert day in {one.date for one in tree(folder).observed}


def test_a_server_clock_that_goes_back_loses_no_record_and_keeps_their_order(folder: Path) -> None:
    """Records of days after the clock's today stay, newer ones go on top, and undo finds them."""
    days = [TODAY, date(2026, 11, 20), date(2025, 3, 1)]
    ids = []
    for day in days:
        client = TestClient(create_app(folder, today=lambda day=day: day), base_url=HOME)
        mine = str(uuid4())
        answer = client.post("/tree/one/record", headers=JSON, data={
            "id": mine, "kind": "work", "job": "inspect", "note": day.isoformat()})  # fmt: skip
        assert answer.status_code == 200
        ids.append(mine)
        for place in ("/", "/tree/one", "/history"):
            assert client.get(place).status_code == 200
    client = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
    told = client.get("/history.json").json()["records"][:3]
    assert [one["record"] for one in told] == ids[::-1]
    assert {day for one in tree(folder).done if one.job == "inspect" for day in [one.date]} >= set(
        days
    )
    assert client.post("/undo", data={"record": ids[1]}, headers=JSON).status_code == 200
    assert date(2026, 11, 20) not in {one.date for one in tree(folder).done if one.job == "inspect"}


def test_both_hemispheres_have_their_own_seasons(tmp_path: Path) -> None:
    """The same peach half a year apart: what the north does in spring the south does in its own."""
    blooms = {}
    for name, latitude in (("north", 41.69), ("south", -41.69)):
        file = write_garden(tmp_path)
        text = file.read_text("utf-8").replace("latitude = 41.69", f"latitude = {latitude}")
        text = re.sub(r"normals = .*", "", text)
        file.write_text(text, "utf-8")
        client = TestClient(create_app(file, today=lambda: TODAY), base_url=HOME)
        events = client.get("/tree/peach.wall.json").json()["events"]
        blooms[name] = {
            date.fromisoformat(one["date"]).month for one in events if one["event"] == "full bloom"
        }
    assert blooms["north"] <= {2, 3, 4, 5}
    assert blooms["south"] <= {8, 9, 10, 11}
    assert blooms["north"]
    assert blooms["south"]


# ---------------------------------------------------------------- in a browser


@pytest.mark.browser
def test_units_switch(browser: Any, address: str, folder: Path) -> None:
    context = context_of(browser)
    page = context.new_page()

    def switch(label: str) -> None:
        page.goto(address + "/garden")
        page.get_by_label(label).check()
        page.get_by_role("button", name="Change them").click()
        noted(page)
        fits(page)

    def looks(place: str) -> str:
        """What a page says, without what sources and tables of looks say in their own words."""
        page.goto(address + place)
        unfold(page)
        page.evaluate(
            "document.querySelectorAll('.ground, .steps, fieldset').forEach(one => one.remove())"
        )
        return str(page.locator("main").inner_text())

    def measure(height: str) -> None:
        page.goto(address + "/tree/one/record?kind=measured")
        form = page.locator('form.record:has(input[value="measured"])')
        form.locator('input[name="height"]').fill(height)
        form.locator('button[type="submit"]').click()
        noted(page)

    metric = re.compile(r"\d (?:m|cm|mm|kg|g|L|°C)(?![\w/²³])")
    assert metric.search(looks("/"))
    assert "Height, m\n" in looks("/tree/one/record")

    switch("Feet, gallons, °F")
    for place in ("/", "/tree/one", "/tree/one/water", "/tree/one/crop", "/tonight", "/garden"):
        found = [text for text in metric.findall(looks(place)) if text]
        assert found == [], place
    assert re.search(r"\d (?:ft|in|lb|oz|gal|°F)\b", looks("/"))
    assert re.search(r"November \d", looks("/"))
    asked = looks("/tree/one/record")
    for label in ("Height, ft", "Girth of the trunk, in", "Mass, lb", "Lowest of the night, °F"):
        assert label in asked
    measure("7")
    assert tree(folder).height == pytest.approx(7 * 0.3048)

    switch("Metres, litres, °C")
    assert metric.search(looks("/"))
    assert "Height, m\n" in looks("/tree/one/record")
    measure("2.2")
    assert tree(folder).height == pytest.approx(2.2)
    leave(context)


def test_the_store_records_only_what_differs(folder: Path) -> None:
    with api.open_store(folder) as store:
        done = api.record_units_and_clock(
            store, stamp(number=10**9), TODAY, units="us", timezone=""
        )
        said = api.recorded(store, done.id)
        assert said is not None
        assert [(one.entry.subject, dict(one.entry.payload)) for one in said.entries] == [
            ("garden", {"units": "us"})
        ]


@pytest.mark.parametrize(
    ("text", "measures"),
    [
        ("2.2, 2.0", ["2.2", "2.0"]),
        ("2.2,2.0", ["2.2", "2.0"]),
        ("2,2; 2,0", ["2,2", "2,0"]),
        ("2,2, 2,0", ["2,2", "2,0"]),
        ("2,2 m, 2 m", ["2,2 m", "2 m"]),
        ("2.2 m x 2 m", ["2.2 m", "2 m"]),
        ("2 × 3", ["2", "3"]),
        ("2,2 m", ["2,2 m"]),
        ("2,2", ["2,2"]),
        ("7 ft 3 in", ["7 ft 3 in"]),
        ("", []),
    ],
)
def test_two_measures_are_told_from_one_with_a_decimal_comma(
    text: str, measures: list[str]
) -> None:
    """How people write two measures and a decimal comma: common practice, no source."""
    assert typed.several(text) == measures
