"""Made-up weather fitted to a record has the record's means, spreads, persistence, rain and cold nights."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pytest

from bearwell.errors import BadInput
from bearwell.weather import DailySeries, climate, generate, monthly_normals, read_daily
from bearwell.weather.fitting import fit_recipe
from bearwell.weather.generator import KNOTS, at_knots
from bearwell.weather.series import runs
from records import sample

GAINESVILLE = ("weather", "gainesville_fl_USW00012816_1984-2009.csv")
SEVILLA = ("weather", "sevilla_aemet_1950-2024.csv")
WET = 0.1  # mm


def months(values: np.ndarray, month: np.ndarray, how) -> np.ndarray:  # type: ignore[no-untyped-def]
    return np.array([how(values[month == one]) for one in range(1, 13)])


def anomalies(series: DailySeries, name: str) -> np.ndarray:
    values, month = getattr(series, name), series.month()
    return values - np.concatenate([[0.0], months(values, month, np.nanmean)])[month]


def likeness(one: np.ndarray, other: np.ndarray) -> float:
    known = np.isfinite(one) & np.isfinite(other)
    return float(np.corrcoef(one[known], other[known])[0, 1])


def spells(series: DailySeries, wet: bool) -> list[int]:
    days = (series.rain >= WET) if wet else (series.rain < WET)
    return [stop - first for first, stop in runs(days)]


@cache
def like(place: tuple[str, ...]) -> tuple[DailySeries, DailySeries]:
    record = read_daily(sample(*place))
    made = generate(
        fit_recipe(record), date(1900, 1, 1), date(2099, 12, 31), np.random.default_rng(11)
    )
    return record, made


def invented() -> DailySeries:
    """Thirty made-up years of a place with wet winters, as a record to fit to."""
    low = [2, 3, 5, 7, 10, 13, 15, 15, 12, 9, 5, 3]
    high = [10, 12, 15, 18, 22, 26, 29, 29, 25, 19, 14, 11]
    rain = [120, 100, 80, 60, 40, 15, 5, 10, 40, 90, 110, 125]
    normals = monthly_normals(low, high, rain)
    return generate(normals, date(1980, 1, 1), date(2009, 12, 31), np.random.default_rng(5), hard_winters=0.3)  # fmt: skip


@cache
def like_invented() -> tuple[DailySeries, DailySeries]:
    record = invented()
    return record, generate(
        fit_recipe(record), date(1900, 1, 1), date(2099, 12, 31), np.random.default_rng(11)
    )


@pytest.fixture(params=[GAINESVILLE, SEVILLA, None], ids=["Gainesville", "Sevilla", "invented"])
def pair(request: pytest.FixtureRequest) -> tuple[DailySeries, DailySeries]:
    return like_invented() if request.param is None else like(request.param)


def test_monthly_means_and_spreads_are_the_records(pair: tuple[DailySeries, DailySeries]) -> None:
    record, made = pair
    for name in ("tmin", "tmax"):
        for how, within in ((np.nanmean, 0.7), (np.nanstd, 0.45)):
            there = months(getattr(record, name), record.month(), how)
            here = months(getattr(made, name), made.month(), how)
            assert np.abs(here - there).max() < within, (name, how.__name__, here - there)
            assert abs((here - there).mean()) < 0.2


def test_days_persist_and_go_together_as_in_the_record(pair: tuple[DailySeries, DailySeries]) -> None:  # fmt: skip
    record, made = pair
    for name in ("tmin", "tmax"):
        there, here = anomalies(record, name), anomalies(made, name)
        assert likeness(here[1:], here[:-1]) == pytest.approx(
            likeness(there[1:], there[:-1]), abs=0.1
        )
    both = [likeness(anomalies(one, "tmin"), anomalies(one, "tmax")) for one in (record, made)]
    assert both[1] == pytest.approx(both[0], abs=0.08)


def test_the_coldest_night_of_a_year_is_distributed_as_in_the_record(pair: tuple[DailySeries, DailySeries]) -> None:  # fmt: skip
    record, made = pair
    there, here = climate(record).coldest_nights, climate(made).coldest_nights
    error = there.std(ddof=1) / np.sqrt(there.size)
    assert here.mean() == pytest.approx(there.mean(), abs=0.3 + 2 * error)
    assert 0.65 < here.std() / there.std() < 1.5
    assert np.quantile(here, 0.1) == pytest.approx(np.quantile(there, 0.1), abs=1.2)
    assert here.min() > there.min() - 4.0, "tails go on, not away"


def test_the_hottest_day_of_a_year_is_too(pair: tuple[DailySeries, DailySeries]) -> None:
    record, made = pair
    hottest = [
        np.array([np.nanmax(one.tmax[one.year() == year]) for year in one.years()])
        for one in (record, made)
    ]
    assert hottest[1].mean() == pytest.approx(hottest[0].mean(), abs=0.8)


@pytest.fixture(params=[GAINESVILLE, None], ids=["Gainesville", "invented"])
def rainy(request: pytest.FixtureRequest) -> tuple[DailySeries, DailySeries]:
    return like_invented() if request.param is None else like(request.param)


def test_rain_falls_as_often_as_long_and_as_much(rainy: tuple[DailySeries, DailySeries]) -> None:
    record, made = rainy
    often = [months(one.rain >= WET, one.month(), np.mean) for one in (record, made)]
    assert np.abs(often[1] - often[0]).max() < 0.04
    for wet in (True, False):
        there, here = spells(record, wet), spells(made, wet)
        assert np.mean(here) == pytest.approx(np.mean(there), rel=0.1)
    year = [one.rain.sum() / len(one) * 365.25 for one in (record, made)]
    assert year[1] == pytest.approx(year[0], rel=0.05)
    amounts = [one.rain[one.rain >= WET] for one in (record, made)]
    for share in (0.5, 0.9, 0.99):
        assert np.quantile(amounts[1], share) == pytest.approx(
            np.quantile(amounts[0], share), rel=0.12
        )


def test_wet_days_are_cloudy_days(rainy: tuple[DailySeries, DailySeries]) -> None:
    record, made = rainy
    narrower = []
    for one in (record, made):
        swing = one.tmax - one.tmin
        narrower.append(swing[one.rain < WET].mean() - swing[one.rain >= WET].mean())
    assert narrower[1] == pytest.approx(narrower[0], abs=0.5)


def test_fitting_beats_normals_on_the_cold_nights_of_a_real_place() -> None:
    record, made = like(GAINESVILLE)
    low, high, fallen = (months(getattr(record, name), record.month(), np.mean) for name in ("tmin", "tmax", "rain"))  # fmt: skip
    days = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    plain = generate(
        monthly_normals(low, high, fallen * days), date(1900, 1, 1), date(2099, 12, 31), np.random.default_rng(11)
    )  # fmt: skip
    there = np.quantile(climate(record).coldest_nights, [0.1, 0.25, 0.5, 0.75, 0.9])
    fitted, normal = (
        np.abs(np.quantile(climate(one).coldest_nights, [0.1, 0.25, 0.5, 0.75, 0.9]) - there).mean()
        for one in (made, plain)
    )
    assert fitted < normal


def test_a_record_without_rain_gives_weather_without_rain() -> None:
    record = invented()
    blank = np.full(len(record), np.nan)
    dry = DailySeries(record.start, record.tmin, record.tmax, blank)
    made = generate(fit_recipe(dry), date(2000, 1, 1), date(2003, 12, 31), np.random.default_rng(2))

    assert np.isnan(made.rain).all()
    assert np.isfinite(made.tmin).all()


def test_gaps_and_filled_days_do_not_count() -> None:
    record = invented()
    filled = np.zeros(len(record), dtype=np.bool_)
    filled[100:400] = True
    spoiled = record.tmin.copy()
    spoiled[100:400] = -50.0
    holed = record.tmax.copy()
    holed[1000:1100] = np.nan
    odd = DailySeries(record.start, spoiled, holed, record.rain, filled=filled)
    made = generate(fit_recipe(odd), date(1900, 1, 1), date(1999, 12, 31), np.random.default_rng(2))

    assert made.tmin.min() > -20


def test_a_short_record_is_refused() -> None:
    short = invented().between(date(1980, 1, 1), date(1982, 12, 31))
    with pytest.raises(BadInput, match="too few to fit"):
        fit_recipe(short)


def test_the_seed_decides_a_fitted_weather_too() -> None:
    recipe = fit_recipe(invented())
    one, same, other = (
        generate(recipe, date(2020, 1, 1), date(2020, 12, 31), np.random.default_rng(seed))
        for seed in (1, 1, 2)
    )
    assert np.array_equal(one.tmin, same.tmin)
    assert not np.array_equal(one.tmin, other.tmin)
    assert (one.tmax > one.tmin).all()


def test_tables_go_on_beyond_their_ends_as_they_came() -> None:
    straight = 2.0 * KNOTS + 1.0
    stray = np.array([-5.0, -3.3, 0.0, 4.4])

    assert at_knots(stray, straight) == pytest.approx(2.0 * stray + 1.0)
