"""A garden's weather: records set against its place, its own thermometer, kept answers, command and page."""

from __future__ import annotations

import json
import socket
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

import gardens
from bearwell import api
from bearwell.api.weather_record import states
from bearwell.errors import BadFile, BadInput
from bearwell.faces.cli import cli
from bearwell.faces.web.app import create_app
from bearwell.science.chill import chill_portions_fishman
from bearwell.science.offset import difference_of_places, robust_centre_huber
from bearwell.season.cold import said_colder
from bearwell.season.hours import SiteHours
from bearwell.weather import DailySeries, write_csv
from bearwell.weather.online import kept
from bearwell.weather.online.services import SERVICES, Asked
from bearwell.weather.report import Report, Station

TODAY = gardens.TODAY
NOW = datetime(2026, 11, 25, 6, tzinfo=UTC)


def record(days: int = 800, end: date = TODAY, swing: float = 9.0) -> DailySeries:
    """A made-up record up to ``end``: every third day rains and is cloudy."""
    start = end - timedelta(days=days - 1)
    count = np.arange(days)
    season = np.cos(2 * np.pi * (count + start.timetuple().tm_yday - 20) / 365.25)
    wobble = 1.5 * np.sin(count * 1.7)
    wet = count % 3 == 0
    low = 9.0 - 5.0 * season + wobble + np.where(wet, 1.5, 0.0)
    high = low + np.where(wet, 0.6 * swing, swing)
    return DailySeries(start, low, high, np.where(wet, 4.0, 0.0))


def garden(folder: Path, weather: str, site: str = "", series: DailySeries | None = None) -> Path:
    write_csv(series or record(), folder / "station.csv")
    path = folder / "garden.toml"
    path.write_text(
        'bearwell = 1\n[garden]\nname = "plot"\n[site]\nlatitude = 41.7\nlongitude = -8.8\n'
        f'elevation = "40 m"\ntimezone = "UTC"\nsoil = "loam"\n{site}\n[weather]\n'
        f'daily = ["station.csv"]\n{weather}\n{gardens.tree("clementine")}'
    )
    return path


def told(opened: api.LoadedGarden, words: str) -> list[str]:
    return [one.message for one in opened.problems if words in one.message]


# ------------------------------------------------------------------ height, distance, sea


def test_a_station_at_another_height_is_told_and_nothing_is_changed(tmp_path: Path) -> None:
    opened = api.open_garden(garden(tmp_path, 'station_elevation = "540 m"'), TODAY)

    (message,) = told(opened, "500 m above the garden")
    assert "usually 3.2 K warmer; nothing was changed" in message
    assert opened.site.series is not None
    assert opened.site.series.tmin[-1] == pytest.approx(record().tmin[-1], abs=0.006)


def test_temperatures_move_to_the_gardens_height_only_when_asked(tmp_path: Path) -> None:
    more = 'station_elevation = "540 m"\nto_garden_height = true'
    opened = api.open_garden(garden(tmp_path, more), TODAY)

    (message,) = told(opened, "moved by +3.2 K")
    assert "lower" in message
    assert opened.site.series is not None
    assert opened.site.series.tmin[-1] == pytest.approx(record().tmin[-1] + 3.25, abs=0.006)
    (report,) = opened.site.series.reports
    assert ("moved to the garden's height", "+3.2 K") in report.units


def test_a_small_difference_of_height_is_not_worth_telling(tmp_path: Path) -> None:
    opened = api.open_garden(garden(tmp_path, 'station_elevation = "110 m"'), TODAY)

    assert told(opened, "above the garden") == []


def test_unknown_heights_cannot_be_moved_between(tmp_path: Path) -> None:
    opened = api.open_garden(garden(tmp_path, "to_garden_height = true"), TODAY)

    assert told(opened, "cannot be moved to the garden's height")


def test_a_far_station_and_a_cell_half_sea_are_told(tmp_path: Path) -> None:
    rows = [
        "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES"
    ]
    rows += [
        f'XX1,{TODAY - timedelta(days=400 - n)},43.0,-8.8,40,"FAR",{round(100 + 80 * np.sin(n / 58)) + 30},",,E",{round(100 + 80 * np.sin(n / 58))},",,E"'
        for n in range(400)
    ]
    path = garden(tmp_path, "")
    (tmp_path / "station.csv").write_text("\n".join(rows))
    assert told(api.open_garden(path, TODAY), "145 km from the garden")
    flat = garden(tmp_path, "", series=record(swing=2.4))
    assert told(api.open_garden(flat, TODAY), "K only, as over water")


def test_polar_places_are_flagged(tmp_path: Path) -> None:
    path = garden(tmp_path, "")
    path.write_text(path.read_text().replace("latitude = 41.7", "latitude = 69.6"))
    opened = api.open_garden(path, TODAY)

    assert told(opened, "polar")
    assert opened.site.hours is not None
    assert np.isfinite(opened.site.hours.temperature).all(), (
        "a day without sunrise stands at its mean"
    )


# ------------------------------------------------------------------ the grower's own thermometer


def readings(folder: Path, colder: float, nights: int, *, noise: float = 0.0, clear_more: float = 0.0) -> None:  # fmt: skip
    """Nights in the garden: so much colder than the record, more so on clear nights."""
    series, chance = record(), np.random.default_rng(4)
    rows = ["date,tmin_c"]
    for n in range(len(series) - nights, len(series)):
        extra = 0.0 if n % 3 == 0 else clear_more
        low = series.tmin[n] - colder - extra + noise * chance.standard_normal()
        rows.append(f"{series.day(n)},{low:.2f}")
    (folder / "mine.csv").write_text("\n".join(rows) + "\n")


def learned(folder: Path, site: str = "") -> api.LoadedGarden:
    return api.open_garden(garden(folder, 'thermometer = "mine.csv"', site), TODAY)


def test_the_gardens_own_readings_are_learned_and_used_by_the_plan(tmp_path: Path) -> None:
    readings(tmp_path, 2.5, 60, noise=0.6)
    opened = learned(tmp_path)
    colder = opened.site.colder

    assert colder.value == pytest.approx(2.5, abs=0.25)
    assert colder.low < 2.5 < colder.high
    assert opened.site.site.colder_than_station == colder.value
    assert said_colder(opened.site) == (colder.value, colder.because)
    assert opened.garden.site.colder_than_station == 0.0, "what was written stays what was written"
    plain = api.open_garden(garden(tmp_path, ""), TODAY).site
    assert plain.mean_coldest_night is not None
    assert opened.site.mean_coldest_night == pytest.approx(plain.mean_coldest_night - colder.value)


def test_few_readings_move_what_was_said_only_a_little(tmp_path: Path) -> None:
    said = 'colder_than_station = "1.0 K"'
    found = []
    for nights in (1, 5, 60):
        readings(tmp_path, 3.0, nights, noise=0.5)
        found.append(learned(tmp_path, said).site.colder)

    assert 1.0 < found[0].value < found[1].value < found[2].value < 3.0
    widths = [one.high - one.low for one in found]
    assert widths[0] > widths[2]


def test_clear_nights_of_the_cool_half_year_count_where_there_are_enough(tmp_path: Path) -> None:
    readings(tmp_path, 1.0, 55, clear_more=2.0)
    opened = learned(tmp_path)
    assert opened.nights is not None
    sorts = {one.sort: one for one in opened.nights.sorts}

    assert opened.site.colder.value == pytest.approx(3.0, abs=0.25)
    assert sorts["cloudy nights"].value == pytest.approx(1.0, abs=0.35)
    assert sorts["clear nights of the cool half-year"].count + sorts["cloudy nights of the cool half-year"].count == 55  # fmt: skip


def test_a_spot_that_runs_warmer_is_told_so(tmp_path: Path) -> None:
    readings(tmp_path, -2.0, 40, noise=0.3)
    opened = learned(tmp_path)

    assert opened.site.colder.value == pytest.approx(-2.0, abs=0.3)
    assert opened.site.colder.low < opened.site.colder.value < opened.site.colder.high
    assert "warmer than the station" in opened.site.colder.because[-1].statement.text
    assert not told(opened, "lack a minimum or maximum")
    code, text = run("weather", str(opened.path))
    assert code == 0
    assert "°C) warmer" in text


def test_one_reading_in_the_sun_does_not_decide(tmp_path: Path) -> None:
    readings(tmp_path, 2.0, 30, noise=0.3)
    text = (tmp_path / "mine.csv").read_text().splitlines()
    text[5] = text[5].split(",")[0] + ",31.0"
    (tmp_path / "mine.csv").write_text("\n".join(text))

    assert learned(tmp_path).site.colder.value == pytest.approx(2.0, abs=0.3)


def test_readings_beyond_belief_or_of_other_days_are_told_and_not_used(tmp_path: Path) -> None:
    readings(tmp_path, 15.0, 30)
    opened = learned(tmp_path)
    assert told(opened, "that is no garden")
    assert opened.site.colder.value == 0.0
    (tmp_path / "mine.csv").write_text("date,tmin_c\n1999-01-01,2.0\n")
    assert told(learned(tmp_path), "shares no day with the record")


def test_a_thermometer_file_that_is_not_there_is_an_error_of_the_garden(tmp_path: Path) -> None:
    with pytest.raises(BadFile) as caught:
        learned(tmp_path)

    assert "there is no file" in caught.value.problems[0].message


@given(
    st.lists(st.floats(-6, 6), min_size=1, max_size=40),
    st.floats(-3, 3),
    st.floats(0.2, 3),
)
def test_the_estimate_lies_between_what_was_thought_and_what_was_read(values: list[float], prior: float, spread: float) -> None:  # fmt: skip
    found = difference_of_places(values, prior, spread, 1.0, 5, 0.3, 0.3)
    centre, _ = robust_centre_huber(values)

    assert min(prior, centre) - 1e-9 <= found.value <= max(prior, centre) + 1e-9
    assert found.low <= found.value <= found.high
    nothing = difference_of_places([float("nan")], prior, spread, 1.0, 5, 0.3, 0.3)
    assert nothing.value == prior
    assert found.high - found.low <= nothing.high - nothing.low + 1e-9


# ------------------------------------------------------------------ kept answers


def keep(folder: Path, sort: str, series: DailySeries, fetched: datetime = NOW) -> None:
    report = Report("answer", "Open-Meteo, JSON", "a day", Station("", 41.7, -8.8, 40.0), terms="its makers")  # fmt: skip
    made = DailySeries(
        series.start, series.tmin, series.tmax, series.rain, series.extra, reports=(report,)
    )
    kept.write_kept(folder, kept.Kept("open-meteo", sort, fetched, Asked(41.7, -8.8, 40.0), made))


def online(folder: Path, more: str = "") -> Path:
    path = garden(folder, f'online = "open-meteo"\n{more}')
    path.write_text(path.read_text().replace('daily = ["station.csv"]\n', ""))
    return path


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("the network was asked")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


@pytest.mark.usefixtures("no_network")
def test_the_worklist_asks_nothing_and_plans_from_what_is_kept(tmp_path: Path) -> None:
    path = online(tmp_path)
    bare = api.open_garden(path, TODAY)
    assert len(told(bare, "is kept yet")) == 2
    keep(tmp_path, "history", record(700, TODAY - timedelta(days=6)))
    keep(tmp_path, "forecast", record(30, TODAY + timedelta(days=15)))
    opened = api.open_garden(path, TODAY)

    assert told(opened, "is kept yet") == []
    assert opened.site.series is not None
    assert opened.site.series.end == TODAY + timedelta(days=15)
    assert opened.site.series.sources == ("Open-Meteo (history)", "Open-Meteo (forecast)")
    assert api.worklist(opened).advice
    seen = states(opened.site.series, TODAY)
    assert [api.STATES[one] for one in seen[-16:]] == ["forecast"] * 16
    assert api.STATES[seen[-17]] == "measured"


@pytest.mark.usefixtures("no_network")
def test_an_old_forecast_is_told_and_its_past_days_stay_forecast(tmp_path: Path) -> None:
    path = online(tmp_path)
    keep(tmp_path, "history", record(700, TODAY - timedelta(days=16)), NOW - timedelta(days=10))
    keep(tmp_path, "forecast", record(30, TODAY + timedelta(days=5)), NOW - timedelta(days=10))
    opened = api.open_garden(path, TODAY)

    assert told(opened, "10 days old")
    days = api.weather_record(opened).days
    assert days["forecast"] == 16, "from the day it was fetched on"


@pytest.mark.usefixtures("no_network")
def test_the_growers_own_file_comes_first(tmp_path: Path) -> None:
    path = garden(tmp_path, 'online = "open-meteo"')
    other = record(700, TODAY)
    keep(tmp_path, "history", DailySeries(other.start, other.tmin - 9, other.tmax - 9, other.rain))
    opened = api.open_garden(path, TODAY)

    assert opened.site.series is not None
    assert opened.site.series.tmin[-1] == pytest.approx(record().tmin[-1], abs=0.006)
    assert told(opened, "the earlier record was kept")


def test_services_and_years_are_checked(tmp_path: Path) -> None:
    for text, words in (
        ('online = "a cloud"', "is not known"),
        ("since = 2010", "no service is named"),
        ('online = "nasa-power"\nsince = 1776', "out of range"),
    ):
        with pytest.raises(BadFile) as caught:
            api.open_garden(garden(tmp_path, text), TODAY)
        assert any(words in one.message for one in caught.value.problems), words
    with pytest.raises(BadInput, match="no service to fetch from"):
        api.fetch_weather(garden(tmp_path, ""), TODAY, now=NOW, sleep=lambda _: None)


# ------------------------------------------------------------------ the command and the page


def run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(cli, [*words, "--today", TODAY.isoformat()])
    return done.exit_code, done.output


@pytest.mark.usefixtures("no_network")
def test_the_command_shows_the_record_its_flags_and_terms(tmp_path: Path) -> None:
    path = online(tmp_path)
    series = record(700, TODAY - timedelta(days=6))
    holed = series.tmin.copy()
    holed[100:130] = np.nan
    keep(tmp_path, "history", DailySeries(series.start, holed, series.tmax, series.rain))
    code, text = run("weather", str(path), "--offline")

    assert code == 0
    assert "Offline: nothing was asked of the network." in text
    assert "creativecommons.org/licenses/by/4.0" in text
    assert "30 d: not known: the plan uses the usual weather" in text
    code, text = run("weather", str(path), "--json")
    twin = json.loads(text)
    assert twin["days"]["usual"] > 30
    assert twin["terms"] == [SERVICES["open-meteo"].terms]
    assert twin["gaps"][0]["days"] == 30
    assert twin["fetched"] is None
    assert run("weather", str(path), "--fetch", "--offline")[0] != 0


def test_the_command_fetches_when_asked_and_tells_what_came(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    path = online(tmp_path)
    monkeypatch.setattr(
        "bearwell.weather.online.services.ADDRESSES",
        {f"open-meteo {sort}": "http://127.0.0.1:9/" for sort in ("history", "forecast")},
    )
    monkeypatch.setattr("bearwell.faces.clock.wait", lambda _: None)
    code, text = run("weather", str(path), "--fetch", "--json")
    twin = json.loads(text)

    assert code == 1, "nothing came"
    assert [one["came"] for one in twin["fetched"]] == [False, False]
    assert "the connection failed" in twin["fetched"][0]["said"]


def test_check_says_how_each_file_was_read_and_what_was_left_out(tmp_path: Path) -> None:
    path = garden(tmp_path, "")
    with (tmp_path / "station.csv").open("a") as file:
        file.write("2026-02-30,1,2,0\n2026-11-24,x,9,0\n")
    code, text = run("check", str(path))

    assert code == 0
    assert "read as a table of days" in " ".join(text.split())
    assert "left out: 1 lines without a date that exists, first in line 802" in " ".join(
        text.split()
    )


def test_the_page_and_its_twin_show_the_same_record(tmp_path: Path) -> None:
    readings(tmp_path, 2.0, 40)
    series = record()
    stuck = series.tmin.copy()
    stuck[50:70] = 4.0
    path = garden(tmp_path, 'thermometer = "mine.csv"', series=DailySeries(series.start, stuck, series.tmax, series.rain))  # fmt: skip
    with TestClient(create_app(path, today=lambda: TODAY), base_url="http://127.0.0.1") as client:
        page, twin = client.get("/weather"), client.get("/weather.json").json()
        garden_page = client.get("/garden").text

    assert page.status_code == 200
    assert twin["flags"] == [{"reason": "tmin unchanging", "days": 20, "first": [str(series.day(n)) for n in (50, 51, 52)]}]  # fmt: skip
    assert page.text.count('class="day-flagged"') == 2, "once for the phone, once for the desk"
    assert "20 days" in page.text
    assert "learned from your thermometer" in garden_page
    assert 'href="/weather"' in garden_page
    assert twin["colder"]["value_k"] == pytest.approx(2.0, abs=0.3)
    assert sum(twin["days"].values()) == sum(sum(one["days"].values()) for one in twin["years"])
    for one in twin["years"]:
        days = sum((date.fromisoformat(last) - date.fromisoformat(first)).days + 1 for _, first, last in one["stretches"])  # fmt: skip
        assert days == (366 if one["year"] == 2024 else 365)


def test_the_page_stands_without_any_weather(tmp_path: Path) -> None:
    path = gardens.write_garden(tmp_path, gardens.tree("clementine"), place=None)
    with TestClient(create_app(path, today=lambda: TODAY), base_url="http://127.0.0.1") as client:
        page, twin = client.get("/weather"), client.get("/weather.json").json()

    assert page.status_code == 200
    assert "There is no daily record" in page.text
    assert twin["start"] is None


def test_names_of_files_are_escaped(tmp_path: Path) -> None:
    path = garden(tmp_path, "")
    (tmp_path / "station.csv").rename(tmp_path / "a<b>&.csv")
    path.write_text(path.read_text().replace("station.csv", "a<b>&.csv"))
    with TestClient(create_app(path, today=lambda: TODAY), base_url="http://127.0.0.1") as client:
        page = client.get("/weather").text

    assert "a&lt;b&gt;&amp;.csv" in page
    assert "a<b>" not in page


def test_a_fetched_answer_is_seen_by_pages_that_are_open(tmp_path: Path) -> None:
    path = online(tmp_path)
    with TestClient(create_app(path, today=lambda: TODAY), base_url="http://127.0.0.1") as client:
        assert client.get("/weather.json").json()["start"] is None
        keep(tmp_path, "history", record(700, TODAY - timedelta(days=6)))
        assert client.get("/weather.json").json()["start"] is not None


# ------------------------------------------------------------------ hours shared by the trees


def test_shared_hours_give_what_each_tree_would_work_out_for_itself() -> None:
    series = gardens.weather_of("mild", TODAY)
    hours = SiteHours(series, 41.7)
    first, last = date(2020, 11, 1), date(2021, 2, 28)
    found = hours.between(first, last)
    part = hours.temperature[series.index(first) : series.index(last) + 1].ravel()

    assert found is not None
    assert found.portions == pytest.approx(chill_portions_fishman(part)[-1], abs=1.0)
    assert found.chilling_hours == ((part >= 0) & (part <= 7.2)).sum()
    before, after = hours.between(first, date(2020, 12, 31)), hours.between(date(2021, 1, 1), last)
    assert before is not None
    assert after is not None
    for name in found._fields:
        assert getattr(before, name) + getattr(after, name) == pytest.approx(getattr(found, name))


def test_a_gap_in_the_record_gives_no_sum_over_it() -> None:
    series = record(400)
    holed = series.tmin.copy()
    holed[200] = np.nan
    hours = SiteHours(DailySeries(series.start, holed, series.tmax, series.rain), 41.7)

    assert hours.between(series.day(150), series.day(250)) is None
    after = hours.between(series.day(250), series.day(350))
    assert after is not None
    assert after.heat > 0
    assert hours.between(series.start - timedelta(days=1), series.day(5)) is None
