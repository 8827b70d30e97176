"""Cold against real records, where they stand beside the project: night curves, freezes, odds of rare winters.

The records are not part of the project; each test that needs one says when it is skipped.
"""

from __future__ import annotations

import csv
import gzip
from collections import defaultdict
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell.science.frost import night_temperature_sqrt
from bearwell.science.risk import (
    gumbel_minima_moments,
    gumbel_probability,
    gumbel_quantile,
    hardiness_half_zone_usda,
)
from bearwell.science.sun import day_length_spencer
from bearwell.weather import read_daily
from bearwell.weather.normals import climate

SHARED = Path(__file__).resolve().parents[2] / "shared" / "data"


def sample(*parts: str) -> Path:
    path = SHARED.joinpath(*parts)
    if not path.exists():
        pytest.skip(f"{'/'.join(parts)} is not beside the project (../shared/data)")
    return path


def coldest_nights(name: str) -> dict[int, float]:
    """The coldest night of every winter of a record [degC]."""
    place = climate(read_daily(sample("weather", name)))
    return {season.label: season.coldest for season in place.seasons}


def test_gainesville_keeps_its_freezes_in_their_winters() -> None:
    """January 1985 and Christmas 1989 as NOAA recorded them; the hardiness map of 1976-2005 puts it in 8b or 9a."""
    found = coldest_nights("gainesville_fl_USW00012816_1984-2009.csv")

    assert found[1985] == -12.2
    assert found[1990] == -8.9
    assert min(found, key=lambda label: found[label]) == 1985
    mean = float(np.mean(list(found.values())))
    assert hardiness_half_zone_usda(mean) in (15, 16), "8b or 9a"


@pytest.mark.parametrize(
    "name",
    ["gainesville_fl_USW00012816_1984-2009.csv", "sevilla_aemet_1950-2024.csv"],
)
def test_odds_of_a_winter_hold_for_winters_left_out(name: str) -> None:
    """Each winter against a fit to all others: about one in ten lies below the night of ten years."""
    lows = np.array(list(coldest_nights(name).values()))
    below = 0
    chances = []
    for left in range(len(lows)):
        fit = gumbel_minima_moments(np.delete(lows, left))
        below += lows[left] <= gumbel_quantile(*fit, 10.0)
        chances.append(gumbel_probability(*fit, float(lows[left])))
    expected = 0.1 * len(lows)

    assert abs(below - expected) <= 2.6 * np.sqrt(expected * 0.9) + 1
    assert float(np.mean(chances)) == pytest.approx(0.5, abs=0.12)


def test_the_square_root_night_follows_measured_cool_nights() -> None:
    """Hourly orchard air of Winters, California, March to November 2008: the fall from two hours after sunset.

    Nights that fell by 6 degC or more, which still clear nights do; start and lowest are those measured. In
    between the curve runs on the cold side, so hours below a limit are rather told too many than too few.
    """
    hours: dict[date, dict[int, float]] = defaultdict(dict)
    with gzip.open(sample("weather", "winters_ca_hourly_2008.csv.gz"), "rt") as file:
        for row in csv.DictReader(file):
            day = date(int(row["Year"]), int(row["Month"]), int(row["Day"]))
            if row["Temp"] not in ("", "NA"):
                hours[day][int(row["Hour"])] = float(row["Temp"])
    misses = []
    nights = 0
    for day in sorted(hours):
        light = float(day_length_spencer(38.5, day.timetuple().tm_yday))
        start, length = round(12 + light / 2 + 2), round(24 - light - 2)
        times = [
            datetime(day.year, day.month, day.day) + timedelta(hours=start + n)
            for n in range(length + 1)
        ]
        air = [hours[one.date()].get(one.hour) for one in times]
        if any(value is None for value in air):
            continue
        measured = np.array(air, dtype=float)
        low = int(np.argmin(measured))
        if low < length - 2 or measured[0] - measured[low] < 6.0:
            continue
        nights += 1
        curve = night_temperature_sqrt(measured[0], measured[low], float(low), np.arange(low + 1))
        misses += list(curve - measured[: low + 1])

    assert nights > 60
    assert float(np.sqrt(np.mean(np.square(misses)))) < 1.5
    assert -1.0 < float(np.mean(misses)) < 0.0
