"""Chill of a record: clock changes in a log of hours, polar places, flags told; fast over many years."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.weather import DailySeries, write_csv
from records import sample


def log(path: Path, *, drop: str = "", twice: str = "") -> Path:
    rows, at = ["time,temperature"], datetime(2025, 10, 1)
    while at < datetime(2026, 4, 1):
        value = 8 + 5 * math.sin(2 * math.pi * (at.hour - 9) / 24)
        stamp = at.isoformat(timespec="minutes")
        if stamp != drop:
            rows.append(f"{stamp},{value:.2f}")
        if stamp == twice:
            rows.append(f"{stamp},{value:.2f}")
        at += timedelta(hours=1)
    path.write_text("\n".join(rows) + "\n")
    return path


def chill(**options: object) -> tuple[list[dict[str, float]], list[str], tuple[str, ...]]:
    done = api.reckon("chill", **options)
    said = [one.statement.text.format(**one.statement.values) for one in done.because]
    return done.results["seasons"], said, done.cautions


def test_clock_changes_in_a_log_are_told_and_change_next_to_nothing(tmp_path: Path) -> None:
    whole, _, _ = chill(hourly=str(log(tmp_path / "a.csv")))
    path = log(tmp_path / "b.csv", drop="2026-03-29T01:00", twice="2025-10-26T01:00")
    changed, because, _ = chill(hourly=str(path))

    assert changed == whole
    assert any("1 hours are left out and 1 given twice" in one for one in because)


def test_a_longer_hole_is_refused_with_its_line(tmp_path: Path) -> None:
    path = log(tmp_path / "a.csv")
    rows = path.read_text().splitlines()
    path.write_text("\n".join(rows[:100] + rows[104:]))
    with pytest.raises(BadInput, match=r":101: the rows are not one hour apart"):
        chill(hourly=str(path))


def test_an_empty_log_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("time,temperature\n")
    with pytest.raises(BadInput, match="no hour in it"):
        chill(hourly=str(path))


def daily(path: Path, stuck: bool = False) -> Path:
    count = np.arange(900)
    low = 5 - 8 * np.cos(2 * np.pi * (count - 20) / 365.25) + np.sin(count * 1.3)
    if stuck:
        low[400:420] = 3.0
    write_csv(DailySeries(date(2020, 1, 1), low, low + 9.0, np.zeros(900)), path)
    return path


def test_a_polar_place_is_flagged(tmp_path: Path) -> None:
    path = str(daily(tmp_path / "a.csv"))
    _, _, cautions = chill(weather=path, latitude="69")
    assert "polar circle" in cautions[0]
    assert chill(weather=path, latitude="60")[2] == ()


def test_flagged_days_are_told(tmp_path: Path) -> None:
    _, because, _ = chill(weather=str(daily(tmp_path / "a.csv", stuck=True)), latitude="45")

    assert any("20 days are flagged: tmin unchanging" in one for one in because)


def test_a_season_within_one_year_and_one_over_new_year(tmp_path: Path) -> None:
    path = str(log(tmp_path / "a.csv"))
    over, _, _ = chill(hourly=path, from_="11-01", to="02-28")
    within, _, _ = chill(hourly=path, from_="01-01", to="02-28")

    assert [one["ending"] for one in over] == [2026]
    assert [one["ending"] for one in within] == [2026]
    assert over[0]["hours"] > within[0]["hours"]


def test_a_real_record_of_a_warm_winter_keeps_its_portions() -> None:
    path = str(sample("weather", "gainesville_fl_USW00012816_1984-2009.csv"))
    seasons, _, _ = chill(weather=path, latitude="29.7")

    assert len(seasons) == 25
    assert seasons[0]["portions"] == 33.49
    assert seasons[0]["utah"] == -146.5, "Utah units go below nothing in Florida"
    assert seasons[0]["hours"] == 491
