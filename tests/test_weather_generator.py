"""Made-up weather has the statistics asked for; our CSV comes back as written."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from bearwell.errors import BadInput, BearwellError
from bearwell.weather import (
    DailySeries,
    climate,
    fill_gaps,
    generate,
    monthly_normals,
    read_daily,
    write_csv,
)

LOW = [5, 5.5, 6, 7, 9, 11, 13, 13, 12, 10, 7, 5]
HIGH = [14, 15, 16, 17, 19, 21, 22, 22, 22, 20, 17, 14]
RAIN = [120, 110, 80, 40, 15, 3, 0, 1, 6, 30, 70, 110]
NORMALS = monthly_normals(LOW, HIGH, RAIN)


@pytest.fixture(scope="module")
def sixty() -> DailySeries:
    return generate(NORMALS, date(1961, 1, 1), date(2020, 12, 31), np.random.default_rng(7))


def test_the_seed_decides_everything() -> None:
    one, same, other = (
        generate(NORMALS, date(2020, 1, 1), date(2021, 12, 31), np.random.default_rng(seed))
        for seed in (1, 1, 2)
    )
    assert np.array_equal(one.tmin, same.tmin)
    assert np.array_equal(one.rain, same.rain)
    assert not np.array_equal(one.tmin, other.tmin)
    assert len(one) == 731


def test_monthly_means_follow_the_normals(sixty: DailySeries) -> None:
    month = sixty.month()
    for number in range(12):
        within = month == number + 1
        assert sixty.tmin[within].mean() == pytest.approx(LOW[number], abs=0.6)
        assert sixty.tmax[within].mean() == pytest.approx(HIGH[number], abs=0.6)
    assert sixty.tmin.mean() == pytest.approx(np.mean(LOW), abs=0.2)


def test_yearly_rain_follows_the_normals(sixty: DailySeries) -> None:
    assert sixty.rain.sum() / 60 == pytest.approx(sum(RAIN), rel=0.06)
    assert sixty.rain[sixty.month() == 7].sum() == 0.0
    assert sixty.rain.min() == 0.0


def test_rain_comes_in_spells(sixty: DailySeries) -> None:
    wet = (sixty.rain > 0)[sixty.month() == 1]
    after_wet = wet[1:][wet[:-1]].mean()
    after_dry = wet[1:][~wet[:-1]].mean()
    assert after_wet - after_dry == pytest.approx(0.25, abs=0.06)


def test_wet_days_have_a_smaller_swing(sixty: DailySeries) -> None:
    january = sixty.month() == 1
    swing = sixty.tmax - sixty.tmin
    wet = sixty.rain > 0
    assert swing[january & ~wet].mean() - swing[january & wet].mean() > 2.0
    assert swing.min() >= 0.99


def test_departures_persist_and_day_and_night_go_together(sixty: DailySeries) -> None:
    summer = np.isin(sixty.month(), (7, 8))
    day = sixty.day_of_year() - 1
    low = sixty.tmin - NORMALS.curve("tmin")[day]
    high = sixty.tmax - NORMALS.curve("tmax")[day]
    pairs = summer[1:] & summer[:-1]
    assert np.corrcoef(low[1:][pairs], low[:-1][pairs])[0, 1] == pytest.approx(0.65, abs=0.06)
    assert np.corrcoef(low[summer], high[summer])[0, 1] == pytest.approx(0.63, abs=0.06)


def test_every_few_winters_bring_a_hard_night(sixty: DailySeries) -> None:
    coldest = climate(sixty).coldest_nights
    hard = float((coldest <= -2.0).mean())
    assert 0.15 < hard < 0.6
    assert coldest.min() > -7.0


def test_no_outbreaks_when_none_are_wanted() -> None:
    span = (date(1961, 1, 1), date(2020, 12, 31))
    mild = climate(generate(NORMALS, *span, np.random.default_rng(7), hard_winters=0.0))
    hard = climate(generate(NORMALS, *span, np.random.default_rng(7), hard_winters=1.0))
    assert (hard.coldest_nights <= -1.8).mean() > 0.9
    assert np.median(mild.coldest_nights) > np.median(hard.coldest_nights) + 1.0


def test_outbreaks_fall_in_the_southern_winter_in_the_south() -> None:
    south = monthly_normals(LOW[6:] + LOW[:6], HIGH[6:] + HIGH[:6])
    weather = generate(
        south, date(1991, 1, 1), date(2020, 12, 31), np.random.default_rng(3), hard_winters=1.0
    )
    frosty = set(weather.month()[weather.tmin < -2.0].tolist())
    assert frosty
    assert frosty <= {5, 6, 7, 8, 9}
    assert np.isnan(weather.rain).all()


def test_counts_of_wet_days_are_kept() -> None:
    counts = [16.0, 14, 13, 8, 4, 1, 0, 1, 2, 6, 11, 15]
    weather = generate(
        NORMALS,
        date(1961, 1, 1),
        date(2020, 12, 31),
        np.random.default_rng(7),
        wet_days=counts,
        hard_winters=0.0,
    )
    january = weather.rain[weather.month() == 1]
    # A few wet days bring less than the 0.05 mm that rounds to something.
    assert (january > 0).mean() * 31 == pytest.approx(16, abs=1.5)
    with pytest.raises(BadInput, match="twelve counts"):
        generate(
            NORMALS, date(2020, 1, 1), date(2020, 1, 2), np.random.default_rng(), wet_days=[40] * 12
        )
    with pytest.raises(BadInput, match="month with rain"):
        generate(
            NORMALS, date(2020, 1, 1), date(2020, 1, 2), np.random.default_rng(), wet_days=[0] * 12
        )


def test_an_empty_span_is_refused() -> None:
    with pytest.raises(BadInput, match="before it starts"):
        generate(NORMALS, date(2020, 1, 2), date(2020, 1, 1), np.random.default_rng(1))


def test_our_csv_comes_back_as_written(tmp_path: Path) -> None:
    weather = generate(NORMALS, date(2019, 12, 1), date(2020, 3, 31), np.random.default_rng(5))
    low = np.array(weather.tmin)
    low[10:12] = np.nan
    extra = {"wind": np.full(len(low), 2.25), "rh_min": np.full(len(low), 61.0)}
    extra["wind"][3] = np.nan
    holed = DailySeries(weather.start, low, weather.tmax, weather.rain, extra)
    series = fill_gaps(holed)
    write_csv(series, tmp_path / "site.csv")
    back = read_daily(tmp_path / "site.csv")
    assert back.start == series.start
    assert back.tmin == pytest.approx(series.tmin, abs=0.005)
    assert np.array_equal(back.rain, series.rain)
    assert np.array_equal(back.filled, series.filled)
    assert np.array_equal(back.extra["wind"], extra["wind"], equal_nan=True)
    assert back.extra["rh_min"].tolist() == extra["rh_min"].tolist()
    assert back.problems == ()


def test_missing_values_stay_missing_in_our_csv(tmp_path: Path) -> None:
    nan = float("nan")
    series = DailySeries(
        date(2024, 2, 28), np.array([1.0, nan, 3.0]), np.array([9.0, nan, -0.0]) + 9, np.zeros(3)
    )
    write_csv(series, tmp_path / "a.csv")
    assert (tmp_path / "a.csv").read_text("utf-8").splitlines() == [
        "date,tmin_c,tmax_c,rain_mm",
        "2024-02-28,1,18,0",
        "2024-02-29,,,0",
        "2024-03-01,3,9,0",
    ]
    back = read_daily(tmp_path / "a.csv")
    assert np.isnan(back.tmin[1])
    assert [one.severity for one in back.problems] == ["note"]


def test_writing_is_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "site.csv"
    target.write_text("the old one", "utf-8")
    series = DailySeries(date(2024, 1, 1), np.zeros(1), np.ones(1), np.zeros(1))

    def full_disk(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(BearwellError, match="no space left"):
        write_csv(series, target)
    assert target.read_text("utf-8") == "the old one"
    assert [path.name for path in tmp_path.iterdir()] == ["site.csv"]
    monkeypatch.undo()
    write_csv(series, target)
    assert target.read_text("utf-8").startswith("date,")
    with pytest.raises(BearwellError, match="cannot be written"):
        write_csv(series, tmp_path / "nowhere" / "site.csv")
