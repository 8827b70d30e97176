"""Asking weather services, against a server on this machine that answers as they do, well and badly."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from click.testing import CliRunner

import gardens
from bearwell import api
from bearwell.faces.cli import cli
from bearwell.weather.online import kept, services
from bearwell.weather.online.fetch import fetch
from bearwell.weather.online.http import AGENT
from bearwell.weather.online.kept import read_kept
from bearwell.weather.online.services import Asked
from bearwell.weather.rules import Rule, rules

TODAY = date(2026, 11, 20)
NOW = datetime(2026, 11, 20, 7, 30, tzinfo=UTC)
HERE = Asked(41.69, -8.83, 35.0)
Answer = Callable[[BaseHTTPRequestHandler, dict[str, str]], None]


def send(
    handler: BaseHTTPRequestHandler,
    body: str | bytes,
    *,
    status: int = 200,
    kind: str = "application/json",
    head: dict[str, str] | None = None,
    length: int | None = None,
) -> None:
    raw = body if isinstance(body, bytes) else body.encode()
    handler.send_response(status)
    handler.send_header("Content-Type", kind)
    handler.send_header("Content-Length", str(len(raw) if length is None else length))
    for name, value in (head or {}).items():
        handler.send_header(name, value)
    handler.end_headers()
    handler.wfile.write(raw)


class Service:
    """A server that gives the answers it was told to, in turn, and remembers what it was asked."""

    def __init__(self) -> None:
        self.turns: dict[str, list[Answer]] = {}
        self.asked: list[tuple[str, dict[str, str], str]] = []
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                parts = urlsplit(self.path)
                query = {name: values[0] for name, values in parse_qs(parts.query).items()}
                outer.asked.append((parts.path, query, self.headers.get("User-Agent", "")))
                turns = outer.turns[parts.path]
                (turns.pop(0) if len(turns) > 1 else turns[0])(self, query)

            def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
                """Nothing is printed."""

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        threading.Thread(target=self.server.serve_forever, args=(0.01,), daemon=True).start()
        base = f"http://127.0.0.1:{self.server.server_address[1]}"
        self.addresses = {name: f"{base}/{name.replace(' ', '/')}" for name in services.ADDRESSES}

    def will(self, path: str, *turns: Answer) -> None:
        self.turns[path] = list(turns)


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[Service]:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    made = Service()
    made.will("/open-meteo/history", daily)
    made.will("/open-meteo/forecast", ahead)
    made.will("/nasa-power/history", power)
    yield made
    made.server.shutdown()
    made.server.server_close()


def values(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def table(days: list[date], **change: Any) -> dict[str, Any]:
    low = [round(8 + 4 * np.sin(day.toordinal() / 58), 1) for day in days]
    made: dict[str, Any] = {
        "latitude": 41.7, "longitude": -8.8, "elevation": 35.0, "utc_offset_seconds": 0, "timezone": "Europe/Lisbon",
        "daily_units": {"time": "iso8601", "temperature_2m_min": "°C", "temperature_2m_max": "°C", "precipitation_sum": "mm", "shortwave_radiation_sum": "MJ/m²"},
        "daily": {"time": [day.isoformat() for day in days], "temperature_2m_min": low, "temperature_2m_max": [one + 9 for one in low], "precipitation_sum": [0.2] * len(days), "shortwave_radiation_sum": [9.5] * len(days)},
    }  # fmt: skip
    return made | change


def daily(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
    span = (date.fromisoformat(query["start_date"]), date.fromisoformat(query["end_date"]))
    send(handler, json.dumps(table(values(*span))), kind="application/json; charset=utf-8")


def ahead(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
    first = TODAY - timedelta(days=int(query["past_days"]))
    send(handler, json.dumps(table(values(first, TODAY + timedelta(days=int(query["forecast_days"]) - 1)))))  # fmt: skip


def power(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
    first, last = (datetime.strptime(query[key], "%Y%m%d").date() for key in ("start", "end"))  # noqa: DTZ007
    stamps = [f"{day:%Y%m%d}" for day in values(first, last)]
    units = {"T2M_MIN": "C", "T2M_MAX": "C", "PRECTOTCORR": "mm/day", "ALLSKY_SFC_SW_DWN": "MJ/m^2/day"}  # fmt: skip
    base = {"T2M_MIN": 6.0, "T2M_MAX": 16.0, "PRECTOTCORR": 1.0, "ALLSKY_SFC_SW_DWN": -999.0}
    send(handler, json.dumps({
        "type": "Feature", "geometry": {"type": "Point", "coordinates": [-8.83, 41.69, 60.0]},
        "properties": {"parameter": {name: dict.fromkeys(stamps, base[name]) for name in units}},
        "header": {"fill_value": -999.0, "time_standard": "LST"},
        "parameters": {name: {"units": unit} for name, unit in units.items()},
    }))  # fmt: skip


class Rest:
    """A stand-in for waiting, that remembers how long."""

    def __init__(self) -> None:
        self.waits: list[float] = []

    def __call__(self, seconds: float) -> None:
        self.waits.append(seconds)


def ask(folder: Path, service: Service, *names: str, since: int = 2024, rest: Rest | None = None):  # type: ignore[no-untyped-def]
    return fetch(
        folder, names or ("open-meteo",), HERE, TODAY, now=NOW, sleep=rest or Rest(), since=since,
        addresses=service.addresses,
    )  # fmt: skip


def test_history_and_forecast_are_fetched_and_kept(tmp_path: Path, service: Service) -> None:
    history, forecast = ask(tmp_path, service)

    assert (history.came, history.first, history.last) == (
        True,
        date(2024, 1, 1),
        date(2026, 11, 14),
    )
    assert (forecast.came, forecast.missing) == (True, 0)
    assert forecast.last == TODAY + timedelta(days=15)
    held, problems = read_kept(tmp_path, "open-meteo", "history", HERE)
    assert held is not None
    assert problems == []
    assert held.fetched == NOW
    assert held.series.start == date(2024, 1, 1)
    assert held.series.extra["solar"][0] == 9.5
    assert "https://creativecommons.org/licenses/by/4.0/" in held.series.reports[0].terms
    ahead_, _ = read_kept(tmp_path, "open-meteo", "forecast", HERE)
    assert ahead_ is not None
    flags = ahead_.series.flags[kept.FORECAST_FLAG]
    assert flags[ahead_.series.index(TODAY) :].all()
    assert not flags[: ahead_.series.index(TODAY)].any()


def test_it_says_who_asks_and_where_the_garden_is(tmp_path: Path, service: Service) -> None:
    ask(tmp_path, service)
    path, query, agent = service.asked[0]

    assert path == "/open-meteo/history"
    assert agent == AGENT
    assert agent.startswith("bearwell/")
    assert (query["latitude"], query["longitude"], query["elevation"]) == (
        "41.6900",
        "-8.8300",
        "35",
    )
    assert service.asked[1][1]["forecast_days"] == "16"


def test_power_is_read_with_its_fillers(tmp_path: Path, service: Service) -> None:
    (history,) = ask(tmp_path, service, "nasa-power")
    held, _ = read_kept(tmp_path, "nasa-power", "history", HERE)

    assert history.came
    assert held is not None
    assert held.series.tmin[0] == 6.0
    assert np.isnan(held.series.extra["solar"]).all()
    assert any("filler" in one.reason for one in held.series.reports[0].dropped)


def test_only_what_may_still_change_is_asked_for_again(tmp_path: Path, service: Service) -> None:
    ask(tmp_path, service)
    service.asked.clear()
    ask(tmp_path, service)

    assert service.asked[0][1]["start_date"] == "2026-08-16", "90 days before the last day kept"
    held, _ = read_kept(tmp_path, "open-meteo", "history", HERE)
    assert held is not None
    assert held.series.start == date(2024, 1, 1), "the older days stay"
    assert np.isfinite(held.series.tmin).all()
    service.asked.clear()
    ask(tmp_path, service, since=2020)
    assert service.asked[0][1]["start_date"] == "2020-01-01", "an earlier first year asks for all"


def status(code: int, body: str = "{}", **head: str) -> Answer:
    named = {name.replace("_", "-"): value for name, value in head.items()}
    return lambda handler, _: send(handler, body, status=code, head=named)


def test_too_often_waits_as_long_as_it_is_asked_to(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    service.will("/open-meteo/history", status(429, Retry_After="7"), daily)
    history, _ = ask(tmp_path, service, rest=rest)

    assert history.came
    assert rest.waits == [7.0]


def test_retry_after_may_be_a_date(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    later = (NOW + timedelta(seconds=9)).strftime("%a, %d %b %Y %H:%M:%S GMT")
    service.will("/open-meteo/history", status(429, Retry_After=later), daily)
    history, _ = ask(tmp_path, service, rest=rest)

    assert history.came
    assert rest.waits == [9.0]


def test_a_service_that_wants_an_hour_is_left_alone(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    service.will("/open-meteo/history", status(429, Retry_After="3600"), daily)
    history, _ = ask(tmp_path, service, rest=rest)

    assert not history.came
    assert "wait 60 minutes" in history.said
    assert rest.waits == []


def test_trouble_passes_after_waits_that_double(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    service.will("/open-meteo/history", status(500), status(503), daily)
    history, _ = ask(tmp_path, service, rest=rest)

    assert history.came
    assert rest.waits == [1.0, 2.0]


def test_tries_are_bounded(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    service.will("/open-meteo/history", status(500))
    history, forecast = ask(tmp_path, service, rest=rest)

    assert not history.came
    assert "trouble of its own (500), 4 times" in history.said
    assert rest.waits == [1.0, 2.0, 4.0]
    assert forecast.came, "one request that fails does not stop the other"


def test_silence_ends_in_a_time_out(tmp_path: Path, service: Service, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    quick = dict(rules())
    quick["online.read"] = Rule("online.read", 0.15, "s", "", "", "judgement")
    monkeypatch.setattr("bearwell.weather.rules.rules", lambda: quick)
    done = threading.Event()
    service.will("/open-meteo/history", lambda *_: done.wait(5) and None)
    history, _ = ask(tmp_path, service)
    done.set()

    assert not history.came
    assert "did not answer in time, 4 times" in history.said


def test_a_body_shorter_than_announced_is_asked_for_again(tmp_path: Path, service: Service) -> None:
    def cut(handler: BaseHTTPRequestHandler, _: dict[str, str]) -> None:
        text = json.dumps(table(values(date(2024, 1, 1), date(2024, 2, 1))))
        send(handler, text[:200], length=len(text))
        handler.close_connection = True

    service.will("/open-meteo/history", cut, daily)
    history, _ = ask(tmp_path, service)
    assert history.came
    service.will("/open-meteo/history", cut)
    (tmp_path / "other").mkdir()
    history, _ = ask(tmp_path / "other", service)
    assert not history.came
    assert "the connection failed" in history.said


def test_json_that_ends_in_the_middle_is_asked_for_again(tmp_path: Path, service: Service) -> None:
    text = json.dumps(table(values(date(2024, 1, 1), date(2024, 2, 1))))
    service.will("/open-meteo/history", status(200, text[:300]), daily)
    history, _ = ask(tmp_path, service)

    assert history.came


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (lambda h, _: send(h, "<!doctype html><h1>Sign in</h1>", kind="text/html"), "a web page in place of data"),
        (lambda h, _: send(h, "<html>busy</html>"), "a web page in place of data"),
        (lambda h, _: send(h, json.dumps(table([TODAY])), kind="text/plain"), "'text/plain' in place of JSON"),
        (status(400, '{"error": true, "reason": "Latitude must be in range"}'), "Latitude must be in range"),
        (status(301, "", Location="http://127.0.0.1:9/"), "sent us elsewhere (301)"),
        (lambda h, _: send(h, '{"error": true, "reason": "no such variable"}'), "no such variable"),
        (lambda h, _: send(h, "[1, 2]"), "several places"),
    ],
)  # fmt: skip
def test_what_is_no_data_is_refused_at_once_and_keeps_the_old(tmp_path: Path, service: Service, answer: Answer, words: str) -> None:  # fmt: skip
    ask(tmp_path, service)
    before = (tmp_path / kept.FOLDER / "open-meteo-history.json").read_bytes()
    rest = Rest()
    service.will("/open-meteo/history", answer)
    history, _ = ask(tmp_path, service, rest=rest)

    assert not history.came
    assert words in history.said
    assert rest.waits == []
    assert (tmp_path / kept.FOLDER / "open-meteo-history.json").read_bytes() == before


def test_missing_days_and_nulls_are_counted(tmp_path: Path, service: Service) -> None:
    def thin(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
        days = values(date(2026, 1, 1), date.fromisoformat(query["end_date"]))
        answer = table(days[:40] + days[60:])
        answer["daily"]["temperature_2m_min"][3:8] = [None] * 5
        send(handler, json.dumps(answer))

    service.will("/open-meteo/history", thin)
    history, _ = ask(tmp_path, service, since=2026)
    held, _ = read_kept(tmp_path, "open-meteo", "history", HERE)

    assert history.came
    assert history.missing == 25
    assert held is not None
    assert np.isnan(held.series.tmin[3:8]).all()
    assert np.isnan(held.series.tmin[40:60]).all()


def test_half_a_column_is_never_kept(tmp_path: Path, service: Service) -> None:
    answer = table(values(date(2024, 1, 1), date(2024, 1, 9)))
    answer["daily"]["temperature_2m_min"] = [1.0, 2.0]
    service.will("/open-meteo/history", status(200, json.dumps(answer)))
    history, _ = ask(tmp_path, service)

    assert not history.came
    assert "half an answer" in history.said
    assert not (tmp_path / kept.FOLDER / "open-meteo-history.json").exists()


def test_units_changed_to_fahrenheit_are_turned_back(tmp_path: Path, service: Service) -> None:
    def warm(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
        days = values(
            date.fromisoformat(query["start_date"]), date.fromisoformat(query["end_date"])
        )
        answer = table(days)
        answer["daily_units"] |= {"temperature_2m_min": "°F", "temperature_2m_max": "°F", "precipitation_sum": "inch"}  # fmt: skip
        answer["daily"]["temperature_2m_min"] = [41.0] * len(days)
        answer["daily"]["temperature_2m_max"] = [59.0] * len(days)
        send(handler, json.dumps(answer))

    service.will("/open-meteo/history", warm)
    ask(tmp_path, service)
    held, _ = read_kept(tmp_path, "open-meteo", "history", HERE)

    assert held is not None
    assert held.series.tmin[0] == 5.0
    assert held.series.tmax[0] == 15.0
    assert held.series.rain[0] == pytest.approx(5.08)


def test_an_unknown_unit_is_refused(tmp_path: Path, service: Service) -> None:
    answer = table(values(date(2024, 1, 1), date(2024, 1, 9)))
    answer["daily_units"] |= {"temperature_2m_min": "°R", "temperature_2m_max": "°R"}
    service.will("/open-meteo/history", status(200, json.dumps(answer)))
    history, _ = ask(tmp_path, service)

    assert not history.came
    assert "no unit we read" in history.said


def test_a_service_that_knows_fewer_columns_is_asked_for_fewer(tmp_path: Path, service: Service) -> None:  # fmt: skip
    def strict(handler: BaseHTTPRequestHandler, query: dict[str, str]) -> None:
        if "wind" in query["daily"]:
            send(handler, '{"error": true, "reason": "no wind_speed_10m_mean"}', status=400)
        else:
            daily(handler, query)

    service.will("/open-meteo/history", strict)
    history, _ = ask(tmp_path, service)

    assert history.came
    assert "temperature and rain only" in history.said
    assert "no wind_speed_10m_mean" in history.said
    assert [query["daily"].count(",") for path, query, _ in service.asked if "history" in path] == [6, 2]  # fmt: skip


def test_nothing_listens(tmp_path: Path, service: Service) -> None:
    rest = Rest()
    service.addresses["open-meteo history"] = "http://127.0.0.1:9/nothing"
    history, forecast = ask(tmp_path, service, rest=rest)

    assert not history.came
    assert "the connection failed" in history.said
    assert rest.waits == [1.0, 2.0, 4.0]
    assert forecast.came


def test_a_kept_file_that_is_spoiled_or_of_another_garden_is_told(tmp_path: Path, service: Service) -> None:  # fmt: skip
    ask(tmp_path, service)
    file = tmp_path / kept.FOLDER / "open-meteo-history.json"
    moved, problems = read_kept(tmp_path, "open-meteo", "history", Asked(50.0, 4.0))
    assert moved is None
    assert "not for this garden" in problems[0].message
    for text in (file.read_text()[:400], '{"bearwell_weather": 2}', "[]", '{"a": NaN'):
        file.write_text(text)
        held, problems = read_kept(tmp_path, "open-meteo", "history", HERE)
        assert held is None
        assert problems[0].severity == "warning"
        assert "was not read" in problems[0].message
    assert ask(tmp_path, service)[0].came, "a spoiled file is replaced"
    assert read_kept(tmp_path, "open-meteo", "history", HERE)[0] is not None


def test_keeping_leaves_no_half_files(tmp_path: Path, service: Service, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    ask(tmp_path, service)
    before = (tmp_path / kept.FOLDER / "open-meteo-history.json").read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    history, _ = ask(tmp_path, service)

    assert not history.came
    assert "no space left" in history.said
    assert (tmp_path / kept.FOLDER / "open-meteo-history.json").read_bytes() == before
    assert sorted(file.name for file in (tmp_path / kept.FOLDER).iterdir()) == [
        "open-meteo-forecast.json",
        "open-meteo-history.json",
    ]


def test_a_garden_is_fetched_for_by_the_command_and_planned_from_what_came(tmp_path: Path, service: Service, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setattr("bearwell.weather.online.services.ADDRESSES", service.addresses)
    monkeypatch.setattr("bearwell.faces.clock.now_here", lambda: NOW)
    path = gardens.write_garden(
        tmp_path, gardens.tree("clementine", today=TODAY), today=TODAY, place=None,
        head='[weather]\nonline = ["open-meteo", "nasa-power"]\nsince = 2023',
    )  # fmt: skip
    words = ["weather", str(path), "--fetch", "--today", TODAY.isoformat()]
    done = CliRunner().invoke(cli, words)

    assert done.exit_code == 0, done.output
    assert "open-meteo history: fetched 2023-01-01 to 2026-11-14" in done.output
    assert "open-meteo forecast: fetched" in done.output
    assert "nasa-power history: fetched" in done.output
    assert "CC BY 4.0" in done.output
    assert "NASA POWER project" in done.output
    asked = len(service.asked)
    opened = api.open_garden(path, TODAY)
    assert opened.site.series is not None
    assert opened.site.series.end == TODAY + timedelta(days=15)
    assert opened.site.climate is not None
    assert not [one for one in opened.problems if one.severity == "warning" and "differs" in one.message]  # fmt: skip
    assert api.worklist(opened).advice
    assert len(service.asked) == asked, "planning asks nothing"


def test_one_service_that_fails_leaves_the_command_with_the_rest(tmp_path: Path, service: Service, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setattr("bearwell.weather.online.services.ADDRESSES", service.addresses)
    monkeypatch.setattr("bearwell.faces.clock.now_here", lambda: NOW)
    service.will("/open-meteo/history", status(400, '{"error": true, "reason": "no"}'))
    path = gardens.write_garden(
        tmp_path, gardens.tree("clementine", today=TODAY), today=TODAY, place=None,
        head='[weather]\nonline = "open-meteo"',
    )  # fmt: skip
    done = CliRunner().invoke(cli, ["weather", str(path), "--fetch", "--json", "--today", TODAY.isoformat()])  # fmt: skip
    twin = json.loads(done.output)

    assert done.exit_code == 0
    assert [one["came"] for one in twin["fetched"]] == [False, True]
    assert "it refused the request (400): no" in twin["fetched"][0]["said"]
