"""Readings no place has are not used: a wrong unit, a spike, a stuck thermometer, a flood in a rain gauge."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.errors import BadFile, Problem
from bearwell.weather.normals import climate, monthly_normals
from bearwell.weather.place import beside_normals
from bearwell.weather.readers import read_daily
from bearwell.weather.series import DailySeries
from bearwell.weather.units import canonical
from bearwell.weather.writer import write_csv
from gardens import MILD, TODAY, tree, weather_of, write_garden

NORMALS = monthly_normals(MILD["tmin"], MILD["tmax"], MILD["rain"])
HEAD = f"""[weather.normals]
tmin = "{" ".join(map(str, MILD["tmin"]))} degC"
tmax = "{" ".join(map(str, MILD["tmax"]))} degC"
"""


def as_degf(series: DailySeries) -> DailySeries:
    return DailySeries(series.start, series.tmin * 1.8 + 32, series.tmax * 1.8 + 32, series.rain)


def opened_with(folder: Path, series: DailySeries, head: str = "") -> api.LoadedGarden:
    return api.open_garden(write_garden(folder, tree("lemon"), weather=series, head=head), TODAY)


def refused(folder: Path, series: DailySeries, head: str = "") -> Problem:
    with pytest.raises(BadFile) as caught:
        opened_with(folder, series, head)
    return next(one for one in caught.value.problems if one.severity == "error")


def test_degf_under_a_heading_of_degc_is_no_weather_of_this_garden(tmp_path: Path) -> None:
    told = refused(tmp_path, as_degf(weather_of("mild", TODAY)))
    assert "they look like degF" in told.message
    assert told.hint


def test_a_winter_in_degf_is_found_by_the_normals() -> None:
    """Some weeks of 30 to 55 could be degC by themselves; beside the normals they cannot."""
    part = weather_of("mild", TODAY).between(date(2025, 12, 1), date(2026, 2, 28))
    believable = DailySeries(part.start, part.tmin * 1.8 + 20, part.tmax * 1.8 + 20, part.rain)
    off = beside_normals(believable, NORMALS)
    assert [one.severity for one in off] == [
        "warning" if abs(_as_degf(believable)) > 6 else "error"
    ]
    told = beside_normals(as_degf(part), NORMALS)
    assert [one.severity for one in told] == ["error"]
    assert "as degF they fit" in told[0].message


def _as_degf(series: DailySeries) -> float:
    day = series.day_of_year() - 1
    gaps = [canonical(getattr(series, n), "degF") - NORMALS.curve(n)[day] for n in ("tmin", "tmax")]
    return float(np.mean(gaps))


@pytest.mark.parametrize("shift", [-6.0, 0.0, 6.0])
def test_a_record_near_the_normals_is_not_doubted(shift: float) -> None:
    whole = weather_of("mild", TODAY)
    moved = DailySeries(whole.start, whole.tmin + shift, whole.tmax + shift, whole.rain)
    assert beside_normals(moved, NORMALS) == []
    assert beside_normals(moved, None) == []


def test_a_spike_makes_no_coldest_night(tmp_path: Path) -> None:
    whole = weather_of("mild", TODAY)
    tmin = np.array(whole.tmin)
    spot = whole.index(date(2024, 1, 20))
    tmin[spot] = tmin[spot - 1] - 45
    (tmp_path / "clean").mkdir()
    (tmp_path / "spiked").mkdir()
    spiked = opened_with(
        tmp_path / "spiked", DailySeries(whole.start, tmin, whole.tmax, whole.rain)
    )
    clean = opened_with(tmp_path / "clean", whole)
    assert min(one.coldest for one in api.winter(spiked).winters) == min(
        one.coldest for one in api.winter(clean).winters
    )
    assert any("jumps to" in one.message and "left out" in one.message for one in spiked.problems)


def test_a_stuck_minimum_counts_for_no_odds(tmp_path: Path) -> None:
    whole = weather_of("mild", TODAY)
    tmin = np.array(whole.tmin)
    spot = whole.index(date(2024, 1, 10))
    tmin[spot : spot + 14] = -9.0
    write_csv(DailySeries(whole.start, tmin, whole.tmax, whole.rain), tmp_path / "stuck.csv")
    stuck = read_daily(tmp_path / "stuck.csv")
    assert stuck.flags["tmin unchanging"].sum() == 14
    assert stuck.tmin[spot] == -9.0
    assert np.isnan(stuck.measured("tmin")[spot : spot + 14]).all()
    assert np.isfinite(stuck.measured("tmax")[spot : spot + 14]).all()
    found = climate(stuck)
    assert found.coldest_nights.min() > -9.0
    assert 2024 in found.winters


def test_nine_hundred_millimetres_in_a_day_are_flagged(tmp_path: Path) -> None:
    whole = weather_of("mild", TODAY)
    rain = np.array(whole.rain)
    rain[400] = 900.0
    write_csv(DailySeries(whole.start, whole.tmin, whole.tmax, rain), tmp_path / "flood.csv")
    series = read_daily(tmp_path / "flood.csv")
    assert series.rain[400] == 900.0
    assert np.flatnonzero(series.flags["unlikely rain"]).tolist() == [400]
    told = [one for one in series.problems if "rain of 900 mm" in one.message]
    assert len(told) == 1
    assert told[0].line == 402
