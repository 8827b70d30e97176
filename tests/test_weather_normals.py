"""Day-of-year curves from monthly normals, and the climate of a record."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bearwell.errors import BadInput
from bearwell.weather import DailySeries, climate, monthly_normals
from bearwell.weather.curves import MONTH_DAYS, FloatArray, smooth_year, through_months

RAIN = [120, 110, 80, 40, 15, 3, 0, 1, 6, 30, 70, 110]
LOW = [5, 5, 6, 7, 9, 11, 13, 13, 12, 10, 7, 5]
HIGH = [14, 15, 16, 17, 19, 21, 22, 22, 22, 20, 17, 14]

months = st.lists(st.floats(-30, 40), min_size=12, max_size=12)


def month_means(curve: FloatArray) -> list[float]:
    ends = np.cumsum((0, *MONTH_DAYS))
    return [float(curve[a:b].mean()) for a, b in pairwise(ends.tolist())]


@given(months)
@settings(max_examples=50, deadline=None)
def test_a_curve_keeps_every_monthly_mean(values: list[float]) -> None:
    curve = through_months(np.array(values))
    assert curve.shape == (366,)
    assert month_means(curve) == pytest.approx(values, abs=1e-9)


@given(st.lists(st.one_of(st.just(0.0), st.floats(0, 20)), min_size=12, max_size=12))
@settings(max_examples=50, deadline=None)
def test_a_floored_curve_keeps_the_means_and_the_floor(values: list[float]) -> None:
    curve = through_months(np.array(values), floor=0.0)
    assert curve.min() >= 0.0
    assert month_means(curve) == pytest.approx(values, abs=1e-9)


def test_a_curve_is_smooth_and_closed() -> None:
    curve = through_months(np.array(LOW, dtype=float))
    steps = np.diff(np.append(curve[:365], curve[0]))
    assert np.abs(steps).max() < 0.12
    assert np.abs(np.diff(steps)).max() < 0.01


def test_equal_months_give_a_flat_curve() -> None:
    assert through_months(np.full(12, 7.5)) == pytest.approx(np.full(366, 7.5))


def test_rain_normals_are_sums_of_the_month() -> None:
    curve = monthly_normals(LOW, HIGH, RAIN).curve("rain")
    sums = np.array(month_means(curve)) * MONTH_DAYS
    assert sums == pytest.approx(RAIN, abs=1e-9)


def test_the_mean_curve_lies_between_the_others() -> None:
    normals = monthly_normals(LOW, HIGH, RAIN)
    mean = 0.5 * (normals.curve("tmin") + normals.curve("tmax"))
    assert normals.curve("tmean") == pytest.approx(mean)
    with pytest.raises(BadInput, match="snow"):
        normals.curve("snow")


@pytest.mark.parametrize(
    ("low", "high", "rain", "words"),
    [
        (LOW[:11], HIGH, RAIN, "11 values, not 12"),
        ([41, *LOW[1:]], [59, *HIGH[1:]], [9999999, *RAIN[1:]], "rain of January"),
        ([5, 75, *LOW[2:]], HIGH, RAIN, "tmin of February is 75 degC"),
        (LOW, [*HIGH[:11], float("nan")], RAIN, "tmax of Dec"),
        (HIGH, LOW, RAIN, "above its tmax"),
        (LOW, HIGH, [-1, *RAIN[1:]], "rain of January"),
    ],
)
def test_normals_typed_wrong_are_refused_by_month(
    low: list[float], high: list[float], rain: list[float], words: str
) -> None:
    with pytest.raises(BadInput, match=words):
        monthly_normals(low, high, rain)


def test_rain_left_out_of_the_normals_is_unknown() -> None:
    normals = monthly_normals(LOW, HIGH)
    assert np.isnan(normals.curve("rain")).all()
    assert np.isnan(climate(normals).rain).all()


def test_a_climate_from_normals_has_no_years() -> None:
    usual = climate(monthly_normals(LOW, HIGH, RAIN), southern=True)
    assert usual.from_normals
    assert usual.southern
    assert (usual.years, usual.winters, usual.cold_spells(0.0)) == ((), (), ())
    assert usual.yearly_tmin.shape == (0, 366)
    assert month_means(usual.tmin) == pytest.approx(LOW)


def wave(start: date, end: date, *, noise: float = 0.0) -> DailySeries:
    days = (end - start).days + 1
    frame = DailySeries(start, np.zeros(days), np.zeros(days), np.zeros(days))
    angle = 2 * np.pi * (frame.day_of_year() - 0.5) / 365.25
    low = 8.0 - 5.0 * np.cos(angle) + np.sin(2 * angle)
    low += noise * np.random.default_rng(1).standard_normal(days)
    return DailySeries(start, low, low + 9.0, np.full(days, 2.0), sources=("wave.csv",))


def test_a_pure_wave_comes_back_unchanged() -> None:
    series = wave(date(2001, 1, 1), date(2004, 12, 31))
    usual = climate(series)
    angle = 2 * np.pi * (np.arange(1, 367) - 0.5) / 365.25
    assert usual.tmin == pytest.approx(8.0 - 5.0 * np.cos(angle) + np.sin(2 * angle), abs=1e-9)
    assert usual.tmean == pytest.approx(usual.tmin + 4.5)
    assert usual.rain == pytest.approx(np.full(366, 2.0))
    assert usual.years == (2001, 2002, 2003, 2004)
    assert np.isnan(usual.yearly_tmin[0, 365])
    assert np.isfinite(usual.yearly_tmin[3, 365])


def test_smoothing_tames_noise() -> None:
    clean = climate(wave(date(1991, 1, 1), date(2020, 12, 31))).tmin
    noisy = climate(wave(date(1991, 1, 1), date(2020, 12, 31), noise=3.0)).tmin
    assert 0.0 < np.abs(noisy - clean).max() < 0.3


def test_a_part_of_a_year_does_not_run_wild() -> None:
    days = np.arange(1, 91)
    values = np.linspace(10.01, 10.9, 90)
    curve = smooth_year(days, values, 3)
    assert curve.min() > 5.0
    assert curve.max() < 15.0
    assert np.isnan(smooth_year(days, np.full(90, np.nan), 3)).all()


def test_winters_run_from_july_to_june_in_the_north() -> None:
    series = wave(date(2001, 1, 1), date(2004, 12, 31))
    low = np.array(series.tmin)
    low[series.index(date(2001, 12, 24))] = -6.0
    low[series.index(date(2002, 2, 10))] = -1.0
    low[series.index(date(2003, 3, 5))] = -2.5
    usual = climate(DailySeries(series.start, low, series.tmax, series.rain))
    assert usual.winters == (2002, 2003, 2004)
    assert usual.coldest_nights[:2].tolist() == [-6.0, -2.5]
    assert usual.seasons[0].coldest_date == date(2001, 12, 24)
    first = usual.cold_spells(0.0)[0]
    assert (first.season, first.first, first.last, first.nights) == (
        2002,
        date(2001, 12, 24),
        date(2002, 2, 10),
        2,
    )
    none = usual.cold_spells(0.0)[2]
    assert (none.first, none.last, none.nights) == (None, None, 0)


def test_winters_are_calendar_years_in_the_south() -> None:
    series = wave(date(2001, 1, 1), date(2003, 12, 31))
    low = np.array(series.tmin)
    low[series.index(date(2001, 12, 31))] = -9.0
    low[series.index(date(2002, 7, 1))] = -3.0
    usual = climate(DailySeries(series.start, low, series.tmax, series.rain), southern=True)
    assert usual.winters == (2001, 2002, 2003)
    assert usual.coldest_nights[:2].tolist() == [-9.0, -3.0]


def test_a_winter_with_its_heart_missing_is_not_counted() -> None:
    series = wave(date(2001, 1, 1), date(2004, 12, 31))
    low = np.array(series.tmin)
    hole = series.index(date(2002, 12, 15))
    low[hole : hole + 30] = np.nan
    usual = climate(DailySeries(series.start, low, series.tmax, series.rain))
    assert usual.winters == (2002, 2004)
    assert usual.years == (2001, 2002, 2003, 2004)


def test_years_short_of_days_are_left_out() -> None:
    series = wave(date(2001, 3, 1), date(2003, 2, 1))
    usual = climate(series)
    assert usual.years == (2002,)
    assert usual.yearly_tmin.shape == (1, 366)
    assert usual.yearly_tmax[0, 0] == series.tmax[series.index(date(2002, 1, 1))]


def test_season_dates_count_through_a_leap_day() -> None:
    series = wave(date(2023, 7, 1), date(2024, 6, 30))
    (season,) = climate(series).seasons
    assert len(season.tmin) == 366
    assert season.start + timedelta(days=243) == date(2024, 2, 29)
    assert season.nights_below(100.0)[243] == date(2024, 2, 29)
