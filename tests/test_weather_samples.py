"""The real samples of archives and services, where they are at hand: known, read or refused with the reason."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from bearwell.errors import BadFile
from bearwell.weather import DailySeries, read_daily
from bearwell.weather.report import Report
from records import sample


def refused(path: Path) -> str:
    with pytest.raises(BadFile) as caught:
        read_daily(path)
    return caught.value.problems[-1].message


def report(series: DailySeries) -> Report:
    assert len(series.reports) == 1
    return series.reports[0]


def dropped(series: DailySeries, words: str) -> int:
    return sum(one.count for one in report(series).dropped if words in one.reason)


@pytest.mark.parametrize(
    ("name", "layout", "start", "tmin"),
    [
        ("ghcn_daily_access_AG000060590_excerpt.csv", "GHCN-Daily, one day a line", date(1892, 1, 1), 3.4),
        ("ghcn_daily_access_qflag_USC00047821_excerpt.csv", "GHCN-Daily, one day a line", date(1909, 7, 20), 7.2),
        ("ghcn_long_custom_USW00094728_excerpt.csv", "GHCN-Daily, one reading a line", date(2014, 1, 1), -4.3),
        ("ghcn_cdo_export_subset_iso_dates_tenths_excerpt.csv", "GHCN-Daily, one day a line, exported without flags", date(1995, 12, 15), 11.7),
        ("nasa_power_daily_ag_point.csv", "NASA POWER, one point, CSV", date(1983, 1, 1), -25.37),
        ("nasa_power_daily_sb_point_LST.csv", "NASA POWER, one point, CSV", date(1983, 1, 1), -25.67),
        ("nasa_power_adjusted_air_pressure.csv", "NASA POWER, one point, CSV", date(1983, 1, 1), -25.37),
        ("nasa_power_daily_point.json", "NASA POWER, one point, JSON", date(2026, 9, 10), 25.09),
        ("open_meteo_archive_daily_nyc.csv", "Open-Meteo, CSV", date(2025, 10, 8), 14.5),
        ("open_meteo_archive_saopaulo_OLD_names.json", "Open-Meteo, JSON", date(2022, 11, 19), 12.3),
        ("aemet_original_8416_latin1_excerpt.csv", "AEMET daily climatological values", date(1985, 1, 21), 9.2),
        ("daymet_single_pixel_excerpt.csv", "Daymet, one pixel", date(2000, 1, 1), 2.5),
    ],
)  # fmt: skip
def test_samples_are_known_and_read(name: str, layout: str, start: date, tmin: float) -> None:
    series = read_daily(sample("formats", name))

    assert report(series).layout == layout
    assert series.start == start
    assert series.tmin[0] == tmin


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("epw_amsterdam_IWEC_first24h.epw", "typical year"),
        ("nasa_power_climatology_ag_point.csv", "climatology"),
        ("ghcn_gsom_MONTHLY_lookalike_USW00094728_excerpt.csv", "monthly"),
        ("noaa_lcd_v1_KATL_excerpt.csv", "no day has readings in 20 of its hours"),
        ("noaa_uscrn_subhourly_tucson_excerpt.txt", "no day has readings in 20 of its hours"),
        ("ghcn_daily_by_year_and_by_station_excerpt.csv", "8 stations"),
        ("cf_tasmin_noleap_calendar.nc", "which of its cells"),
        ("PROVENANCE.md", "no heading"),
    ],
)
def test_samples_are_refused_with_the_reason(name: str, words: str) -> None:
    pytest.importorskip("netCDF4")
    assert words in refused(sample("formats", name))


def test_sample_of_one_station_among_eight() -> None:
    series = read_daily(
        sample("formats", "ghcn_daily_by_year_and_by_station_excerpt.csv"), station="ITE00100554"
    )

    assert (series.tmax[0], series.tmin[0]) == (-7.5, -14.8)


def test_sample_of_a_fixed_width_file() -> None:
    series = read_daily(sample("formats", "ghcn_daily_USC00305816_excerpt.dly"))

    assert series.rain[5] == 3.0
    assert dropped(series, "flag L, a total of several days") == 2
    assert dropped(series, "flag I") == 2


def test_samples_of_grids() -> None:
    pytest.importorskip("netCDF4")
    points = read_daily(
        sample("formats", "cf_era5_daily_points_1990-1993.nc"), place=(49.0, -123.0)
    )
    assert (points.start, points.end) == (date(1990, 1, 1), date(1993, 12, 31))
    station = report(points).station
    assert station is not None
    assert station.latitude == 48.5
    assert (points.tmin <= points.tmax).all()
    noleap = read_daily(sample("formats", "cf_tasmin_noleap_calendar.nc"), place=(44.0, -74.0))
    assert len(noleap) == 365
    assert np.isfinite(noleap.tmin).all()


def test_sample_of_measured_hours() -> None:
    series = read_daily(sample("weather", "winters_ca_hourly_2008.csv.gz"))

    assert (series.start, series.end) == (date(2008, 3, 4), date(2008, 11, 10))
    assert dropped(series, "fewer than 20 hours") == 2
    assert (series.tmin < series.tmax).all()
