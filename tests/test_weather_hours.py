"""Logs of hours folded into days, with every fault such logs have, and grids read at the nearest cell."""

from __future__ import annotations

import gzip
import random
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.errors import BadFile
from bearwell.weather import read_daily
from bearwell.weather.folding import Log, fold
from bearwell.weather.text import Findings
from weather_files import Make, days_of, dropped, hour, refused, report, told

# ------------------------------------------------------------------ logs of hours and their faults


def log(stamps: list[str], values: list[float], head: str = "time,temperature_c") -> str:
    return "\n".join([head, *(f"{a},{b}" for a, b in zip(stamps, values, strict=True))]) + "\n"


def hours_of(first: date, count: int) -> tuple[list[str], list[float]]:
    stamps = [f"{day}T{at:02d}:00" for day in days_of(first, count) for at in range(24)]
    return stamps, [round(hour(date.fromisoformat(s[:10]), int(s[11:13])), 2) for s in stamps]


def test_a_log_of_hours_is_folded_into_days(make: Make) -> None:
    stamps, values = hours_of(date(2024, 1, 1), 5)
    series = read_daily(make(log(stamps, values)))

    assert series.tmin.tolist() == [min(values[24 * n : 24 * n + 24]) for n in range(5)]
    assert series.tmax.tolist() == [max(values[24 * n : 24 * n + 24]) for n in range(5)]


def test_clock_changes_lose_and_repeat_an_hour_without_harm(make: Make) -> None:
    stamps, values = hours_of(date(2024, 3, 29), 5)
    gone = stamps.index("2024-03-31T02:00")
    forward = read_daily(make(log(stamps[:gone] + stamps[gone + 1 :], values[:gone] + values[gone + 1 :])))  # fmt: skip
    assert len(forward) == 5
    assert np.isfinite(forward.tmin).all()
    assert told(forward, "clocks are put forward")

    stamps, values = hours_of(date(2024, 10, 25), 5)
    twice = stamps.index("2024-10-27T01:00")
    again = [*stamps[: twice + 1], "2024-10-27T01:00", *stamps[twice + 1 :]]
    cold = [*values[: twice + 1], -3.5, *values[twice + 1 :]]
    back = read_daily(make(log(again, cold)))
    assert back.tmin[2] == -3.5, "both of the doubled hours count"
    assert told(back, "clocks are put back")
    assert not back.flagged.any()


def test_days_with_missing_hours_are_left_out_and_flagged(make: Make) -> None:
    stamps, values = hours_of(date(2024, 1, 1), 4)
    keep = [n for n, one in enumerate(stamps) if not ("2024-01-02T03" <= one < "2024-01-02T09")]
    series = read_daily(make(log([stamps[n] for n in keep], [values[n] for n in keep])))

    assert np.isnan(series.tmin[1])
    assert np.isfinite(series.tmin[[0, 2, 3]]).all()
    assert dropped(series, "fewer than 20 hours") == 1
    assert series.flags["too few hours, left out"].tolist() == [False, True, False, False]


def test_a_day_pasted_twice_counts_once(make: Make) -> None:
    stamps, values = hours_of(date(2024, 1, 1), 3)
    second = slice(24, 48)
    series = read_daily(
        make(log(stamps + stamps[second], values + [one - 20 for one in values[second]]))
    )

    assert series.tmin[1] == min(values[second])
    assert dropped(series, "hours given again") == 24
    assert series.flags["hours given twice, the first kept"][1]


def test_a_stuck_logger_is_left_out_and_flagged(make: Make) -> None:
    stamps, values = hours_of(date(2024, 1, 1), 3)
    series = read_daily(make(log(stamps, values[:24] + [8.0] * 24 + values[48:])))

    assert np.isnan(series.tmin[1])
    assert series.flags["one value all day, left out"][1]
    assert told(series, "the temperature never moves on 1 days")


def test_a_stuck_minimum_of_a_daily_table_is_flagged(make: Make) -> None:
    rows = ["date,tmin_c,tmax_c"]
    rows += [f"{day},{5.0 if 10 <= n < 22 else 4 + n % 3},{15 + n % 4}" for n, day in enumerate(days_of(date(2024, 1, 1), 40))]  # fmt: skip
    series = read_daily(make("\n".join(rows)))

    assert told(series, "tmin stays at 5 degC for 13 days")
    assert series.flags["tmin unchanging"].sum() == 13


def test_universal_time_is_moved_to_the_garden(make: Make) -> None:
    stamps, values = hours_of(date(2024, 1, 1), 4)
    text = log([f"{one}:00Z" for one in stamps], values)
    moved = read_daily(make(text), place=(35.0, 135.0))
    plain = read_daily(make(text))

    assert "+9 h" in report(moved).day
    assert moved.start == date(2024, 1, 2), "nine hours later the first whole day is the second"
    assert "no longitude was known" in report(plain).day


def test_logs_in_american_stamps_and_fahrenheit(make: Make) -> None:
    rows = ["Date/Time,Temp (°F)"]
    for day in days_of(date(2024, 1, 13), 3):
        for at in range(24):
            half = "AM" if at < 12 else "PM"
            rows.append(f"{day.month}/{day.day}/{day.year} {(at - 1) % 12 + 1}:00 {half},{hour(day, at) * 1.8 + 32:.1f}")  # fmt: skip
    series = read_daily(make("\n".join(rows).replace("Date/Time", "timestamp")))

    assert series.tmin[0] == pytest.approx(4.0, abs=0.1)


def test_one_mean_a_day_is_no_minimum(make: Make) -> None:
    rows = ["date,temperature_c", *(f"{day},12" for day in days_of(date(2024, 1, 1), 9))]

    assert "a mean is no minimum" in refused(make("\n".join(rows)))


# ------------------------------------------------------------------ grids


def grid(path: Path, *, calendar: str = "noleap", descending: bool = True, east: bool = True, form: str = "NETCDF4", hide: bool = False) -> Path:  # fmt: skip
    nc = pytest.importorskip("netCDF4")
    lats, lons = [43.0, 42.0, 41.0], [350.0, 351.0, 352.0]
    if not descending:
        lats.reverse()
    if not east:
        lons = [one - 360 for one in lons]
    with nc.Dataset(path, "w", format=form) as made:
        made.createDimension("time", 400)
        made.createDimension("lat", 3)
        made.createDimension("lon", 3)
        time = made.createVariable("time", "f8", ("time",))
        time.units, time.calendar = "days since 2020-01-01 12:00", calendar
        time[:] = np.arange(400)
        made.createVariable("lat", "f8", ("lat",))[:] = lats
        made.createVariable("lon", "f8", ("lon",))[:] = lons
        for name, base in (("tasmin", 278.15), ("tasmax", 288.15)):
            one = made.createVariable(name, "f4", ("time", "lat", "lon"), fill_value=1e20)
            one.units = "K"
            values = base + np.zeros((400, 3, 3)) + np.array(lats)[None, :, None] / 10
            values += np.where(np.arange(400) == 59, 7.0, 0.0)[:, None, None]
            if hide:
                values[:, lats.index(42.0), lons.index(351.0 if east else -9.0)] = 1e20
            one[:] = values
        rain = made.createVariable("pr", "f4", ("time", "lat", "lon"))
        rain.units = "kg m-2 s-1"
        rain[:] = 2.0 / 86400
    return path


@pytest.mark.parametrize("descending", [True, False])
@pytest.mark.parametrize("east", [True, False])
def test_the_nearest_cell_of_a_grid_whichever_way_it_lies(tmp_path: Path, descending: bool, east: bool) -> None:  # fmt: skip
    series = read_daily(
        grid(tmp_path / "a.nc", descending=descending, east=east), place=(42.1, -8.9)
    )

    assert series.tmin[0] == pytest.approx(5.0 + 4.2, abs=1e-3)
    assert series.tmax[0] == pytest.approx(15.0 + 4.2, abs=1e-3)
    assert series.rain[0] == pytest.approx(2.0, abs=1e-3)
    station = report(series).station
    assert station is not None
    assert (station.latitude, round(station.longitude or 0)) == (42.0, -9)


def test_a_calendar_without_leap_days_leaves_a_gap(tmp_path: Path) -> None:
    series = read_daily(grid(tmp_path / "a.nc"), place=(42.1, -8.9))

    leap = series.index(date(2020, 2, 29))
    assert np.isnan(series.tmin[leap])
    assert series.tmin[leap + 1] == pytest.approx(16.2, abs=1e-3), "the sixtieth day is 1 March"
    assert told(series, "no 29 February")


def test_real_calendars_and_classic_files_are_read(tmp_path: Path) -> None:
    series = read_daily(grid(tmp_path / "a.nc", calendar="standard", form="NETCDF3_CLASSIC"), place=(42.1, -8.9))  # fmt: skip

    assert np.isfinite(series.tmin).all()
    assert series.tmin[series.index(date(2020, 2, 29))] == pytest.approx(16.2, abs=1e-3)


def test_a_calendar_of_360_days_is_refused(tmp_path: Path) -> None:
    assert "360_day" in refused(grid(tmp_path / "a.nc", calendar="360_day"), place=(42.1, -8.9))


def test_a_cell_of_sea_gives_way_to_its_neighbour(tmp_path: Path) -> None:
    series = read_daily(grid(tmp_path / "a.nc", hide=True), place=(42.1, -8.9))

    station = report(series).station
    assert station is not None
    assert (station.latitude, round(station.longitude or 0)) != (42.0, -9)


@pytest.mark.parametrize("shape", ["points", "turned"])
def test_lists_of_points_and_turned_grids(tmp_path: Path, shape: str) -> None:
    nc = pytest.importorskip("netCDF4")
    path = tmp_path / "a.nc"
    with nc.Dataset(path, "w") as made:
        made.createDimension("time", 3)
        axis = made.createVariable("time", "f8", ("time",))
        axis.units = "days since 2020-01-01"
        axis[:] = [0, 1, 2]
        names = ("location",) if shape == "points" else ("rlat", "rlon")
        sizes = (3,) if shape == "points" else (1, 3)
        for name, size in zip(names, sizes, strict=True):
            made.createDimension(name, size)
        for name, values in (("lat", [40.0, 41.8, 44.0]), ("lon", [-8.0, -8.7, -9.0])):
            made.createVariable(name, "f8", names)[:] = np.array(values).reshape(sizes)
        order = (*names, "time") if shape == "points" else ("time", *names)
        low = made.createVariable("tasmin", "f4", order)
        low.units = "degC"
        places = np.array([1.0, 2.0, 3.0]).reshape(sizes)
        low[:] = np.repeat(places[..., None], 3, axis=-1) if shape == "points" else np.stack([places] * 3)  # fmt: skip
    packed = tmp_path / "a.nc.gz"
    packed.write_bytes(gzip.compress(path.read_bytes()))
    for file in (path, packed):
        assert read_daily(file, place=(41.7, -8.8)).tmin.tolist() == [2.0, 2.0, 2.0]


def test_a_grid_of_hours_is_folded(tmp_path: Path) -> None:
    nc = pytest.importorskip("netCDF4")
    path = tmp_path / "a.nc"
    with nc.Dataset(path, "w") as made:
        for name, size in (("valid_time", 48), ("latitude", 1), ("longitude", 1)):
            made.createDimension(name, size)
        axis = made.createVariable("valid_time", "i8", ("valid_time",))
        axis.units = "hours since 2020-01-01"
        axis[:] = np.arange(48)
        made.createVariable("latitude", "f8", ("latitude",))[:] = [41.7]
        made.createVariable("longitude", "f8", ("longitude",))[:] = [351.2]
        air = made.createVariable("t2m", "f4", ("valid_time", "latitude", "longitude"))
        air.units = "K"
        air[:] = (273.15 + 10 - 6 * np.cos(2 * np.pi * (np.arange(48) - 5) / 24)).reshape(48, 1, 1)
    series = read_daily(path, place=(41.7, -8.8))

    assert series.tmin == pytest.approx([4.0, 4.0], abs=1e-3)
    assert series.tmax == pytest.approx([16.0, 16.0], abs=1e-3)


def test_grids_need_a_place_and_the_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = grid(tmp_path / "a.nc")
    assert "which of its cells" in refused(path)
    monkeypatch.setitem(__import__("sys").modules, "netCDF4", None)
    assert "bearwell[grids]" in refused(path, place=(42.1, -8.9))


def test_a_cut_off_grid_is_refused(tmp_path: Path) -> None:
    path = grid(tmp_path / "a.nc")
    path.write_bytes(path.read_bytes()[:600])

    assert "damaged or cut off" in refused(path, place=(42.1, -8.9))


# ------------------------------------------------------------------ laws


@given(
    st.sets(st.integers(0, 24 * 6 - 1), max_size=60),
    st.lists(st.floats(-20, 40), min_size=144, max_size=144),
    st.randoms(use_true_random=False),
)
def test_folding_finds_the_extremes_of_whole_days_in_any_order(missing: set[int], values: list[float], chance: random.Random) -> None:  # fmt: skip
    values = [round(one, 1) for one in values]
    hours = [at for at in range(24 * 6) if at not in missing]
    first = date(2024, 2, 27).toordinal() * 24
    chance.shuffle(hours)
    minutes = np.array([(first + at) * 60 for at in hours])
    air = np.array([values[at] for at in hours])
    findings = Findings("log")
    by_day: dict[int, list[float]] = {}
    for at in hours:
        by_day.setdefault(at // 24, []).append(values[at])
    whole = {day: some for day, some in by_day.items() if len(some) >= 20 and min(some) < max(some)}
    log_ = Log(minutes, air, np.arange(1, len(hours) + 1))
    if not whole:
        with pytest.raises(BadFile):
            fold(log_, findings, unit="degC")
        return
    made = fold(log_, findings, unit="degC")
    days = [one - date(2024, 2, 27).toordinal() for one in made["tmin"].days.tolist()]

    assert dict(zip(days, made["tmin"].values.tolist(), strict=True)) == {d: min(v) for d, v in whole.items()}  # fmt: skip
    assert dict(zip(days, made["tmax"].values.tolist(), strict=True)) == {d: max(v) for d, v in whole.items()}  # fmt: skip
