"""A record that lacks its minima, its maxima or its rain is used for what it holds, and told."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import Problem
from bearwell.faces.web.app import create_app
from bearwell.weather.normals import climate, monthly_normals
from bearwell.weather.series import DailySeries, fill_gaps
from bearwell.weather.writer import write_csv
from gardens import MILD, TODAY, weather_of

HEAD = """bearwell = 1
[garden]
name = "Lacking"
[site]
latitude = 41.7
longitude = -8.8
soil = "loam"
[weather]
daily = ["weather.csv"]
"""
TREES = """
[[tree]]
id = "lemon"
kind = "lemon"
planted = 2018-03-20
[[tree]]
id = "apple"
kind = "apple"
planted = 2015-02-01
[[tree]]
id = "hass"
kind = "hass"
planted = 2019-05-01
[[tree]]
id = "pot"
kind = "calamondin"
planted = 2022-05-01
grows_in = { container = "30 L" }
"""
PAGES = (
    "/",
    "/tonight",
    "/winter",
    "/weather",
    "/water",
    "/tree/lemon",
    "/tree/apple",
    "/tree/pot",
)


def normals_text() -> str:
    lines = [
        f'{name} = "{" ".join(str(one) for one in values)} {"mm" if name == "rain" else "degC"}"'
        for name, values in MILD.items()
    ]
    return "[weather.normals]\n" + "\n".join(lines) + "\n"


def lacking(series: DailySeries, columns: tuple[str, ...]) -> DailySeries:
    none = np.full(len(series), np.nan)
    kept = {n: none if n in columns else getattr(series, n) for n in ("tmin", "tmax", "rain")}
    return DailySeries(series.start, **kept)


def garden(folder: Path, columns: tuple[str, ...], days: int, *, normals: bool) -> Path:
    whole = weather_of("mild", TODAY)
    part = whole.between(TODAY - timedelta(days=days - 1), TODAY)
    write_csv(lacking(part, columns), folder / "weather.csv")
    path = folder / "garden.toml"
    path.write_text(HEAD + (normals_text() if normals else "") + TREES, "utf-8")
    return path


def told(problems: list[Problem], text: str) -> list[Problem]:
    return [one for one in problems if text in one.message]


@pytest.mark.parametrize("normals", [False, True], ids=["alone", "with normals"])
@pytest.mark.parametrize("days", [800, 3000])
@pytest.mark.parametrize(
    "columns",
    [("tmax",), ("tmin",), ("tmax", "rain"), ("tmin", "rain"), ("tmin", "tmax")],
    ids="+".join,
)
def test_a_record_that_lacks_a_column_plans_and_serves(
    tmp_path: Path, columns: tuple[str, ...], days: int, normals: bool
) -> None:
    path = garden(tmp_path, columns, days, normals=normals)
    problems = api.check_garden(path, TODAY)
    assert not [
        one for one in problems if one.severity == "error" or "cannot be planned" in one.message
    ]
    for name, word in (("tmax", "maximum"), ("tmin", "minimum")):
        lines = told(problems, f"lacks a daily {word}")
        assert len(lines) == (1 if name in columns else 0)
        for one in lines:
            assert one.where.endswith("weather.csv")
            assert one.hint
            assert ("monthly normals" if normals else "calendar") in one.message
    assert api.worklist(api.open_garden(path, TODAY)).advice
    client = TestClient(create_app(path, today=lambda: TODAY), base_url="http://127.0.0.1:8321")
    for page in PAGES:
        assert client.get(page).status_code == 200, page


def test_minima_without_maxima_still_serve_frost(tmp_path: Path) -> None:
    whole = api.winter(api.open_garden(_full(tmp_path / "whole"), TODAY))
    (tmp_path / "part").mkdir()
    part = api.winter(
        api.open_garden(garden(tmp_path / "part", ("tmax",), 3000, normals=False), TODAY)
    )
    assert [one.coldest for one in part.winters] == [one.coldest for one in whole.winters]
    assert part.levels == whole.levels


def _full(folder: Path) -> Path:
    folder.mkdir()
    return garden(folder, (), 3000, normals=False)


def test_a_curve_the_record_lacks_is_that_of_the_normals() -> None:
    series = lacking(weather_of("mild", TODAY), ("tmax",))
    normals = monthly_normals(MILD["tmin"], MILD["tmax"], MILD["rain"])
    place = climate(series, normals=normals)
    assert place.tmax == pytest.approx(normals.curve("tmax"))
    assert np.isfinite(place.tmean).all()
    assert not np.isfinite(climate(series).tmean).any()


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(st.sets(st.integers(1, 198), max_size=60), st.sampled_from(["tmin", "tmax"]))
def test_short_gaps_are_told_in_one_line_that_counts_them(missing: set[int], name: str) -> None:
    part = weather_of("mild", TODAY).between(date(2026, 1, 1), date(2026, 7, 19))
    values = np.array(getattr(part, name))
    values[sorted(missing)] = np.nan
    columns = {"tmin": part.tmin, "tmax": part.tmax, "rain": part.rain} | {name: values}
    filled = fill_gaps(DailySeries(part.start, **columns), longest=200)
    lines = told(list(filled.problems), "straight line")
    days = sorted(missing)
    gaps = sum(day - 1 not in missing for day in days)
    assert len(lines) == (gaps if gaps <= 3 else 1)
    if gaps > 3:
        assert f"{name} missing on {len(days)} days in {gaps} short gaps" in lines[0].message
        assert str(part.day(days[0])) in lines[0].message


def test_a_record_of_days_far_ahead_forecasts_nothing(tmp_path: Path) -> None:
    """A grid of a coming climate is no forecast of this week, and stops no tree from being planned."""
    path = garden(tmp_path, ("tmax",), 800, normals=True)
    problems = api.check_garden(path, TODAY - timedelta(days=900))
    assert not [one for one in problems if one.severity == "error"]
