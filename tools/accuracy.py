"""How good the dates and the hours are on real records: `python tools/accuracy.py [FOLDER]`.

The records are not part of this project (their terms differ); they are looked for in FOLDER, or in
../shared/data beside the project, and what is absent is left out with a line that says so. Every
year is forecast from the other years, and everything that is fitted is fitted without it.
"""

from __future__ import annotations

import csv
import gzip
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bearwell.knowledge import knowledge
from bearwell.science.hourly import hourly_temperature_linvill
from bearwell.season.bloom import prove_heat
from bearwell.season.site import SEASON_DAYS

Floats = NDArray[np.float64]
BESIDE = Path(__file__).resolve().parents[2] / "shared" / "data"
# The published error of the curve on hourly records, against which ours is set [K].
PUBLISHED_LINVILL = 1.6
# A day missing before bloom is bridged by a straight line; a year with more of them is left out.
FEW_MISSING = 5


@dataclass(frozen=True)
class Series:
    """Dates of one event over years, with each year's daily means, shape (years, 366) [degC]."""

    name: str
    years: tuple[int, ...]
    days: Floats
    means: Floats
    left_out: int


def rows(file: Path) -> Iterator[dict[str, str]]:
    """The rows of a CSV, plain or gzipped."""
    plain = gzip.decompress(file.read_bytes()) if file.suffix == ".gz" else file.read_bytes()
    yield from csv.DictReader(plain.decode("utf-8").splitlines())


def real(text: str | None) -> float:
    """A number, or missing."""
    return float("nan") if text in (None, "", "NA") else float(text)


def years_of(means: dict[date, float], observed: dict[int, float], name: str) -> Series:
    """Put dates and weather side by side, leaving out years whose weather is not there."""
    years, days, table = [], [], []
    for year, day in sorted(observed.items()):
        if math.isnan(day):
            continue
        row = np.array(
            [means.get(date(year, 1, 1) + timedelta(days=k), math.nan) for k in range(SEASON_DAYS)]
        )
        known = np.isfinite(row)
        until = int(day) + 1
        if not known.any() or (~known[:until]).sum() > FEW_MISSING:
            continue
        at = np.arange(SEASON_DAYS)
        row[~known] = np.interp(at[~known], at[known], row[known])
        years.append(year)
        days.append(day)
        table.append(row)
    told = sum(not math.isnan(day) for day in observed.values())
    return Series(name, tuple(years), np.array(days), np.array(table), told - len(years))


def means_of(file: Path) -> dict[date, float]:
    """Daily means of a file with Year, Month, Day, Tmax, Tmin."""
    return {
        date(int(row["Year"]), int(row["Month"]), int(row["Day"])): (
            real(row["Tmax"]) + real(row["Tmin"])
        )
        / 2
        for row in rows(file)
    }


def cherry(folder: Path) -> Series:
    """Full bloom of sweet cherry at Klein-Altendorf, 50.4 N."""
    observed = {
        int(row["Year"]): real(row["pheno"]) - 1 for row in rows(folder / "phenology/KA_bloom.csv")
    }
    return years_of(
        means_of(folder / "phenology/KA_weather.csv"), observed, "sweet cherry, full bloom, 50.4 N"
    )


def walnut(folder: Path) -> Series:
    """Leaf-out of walnut 'Payne' at Davis, 38.5 N."""
    observed = {}
    for row in rows(folder / "phenology/Davis_Payne_leaf_out.csv"):
        year = int(row["Year"])
        try:
            seen = datetime.strptime(row["Leaf date"][:6] + str(year), "%d-%m-%Y").date()  # noqa: DTZ007
        except ValueError:
            continue
        observed[year] = float((seen - date(year, 1, 1)).days)
    return years_of(
        means_of(folder / "phenology/Davis_weather.csv"), observed, "walnut, leaf-out, 38.5 N"
    )


def blueberry(folder: Path) -> Series:
    """Open flowers of highbush blueberry in Massachusetts, 42.5 N: the middle of a year's dates."""
    dates: dict[int, list[float]] = {}
    for row in rows(folder / "phenology/vaccinium_obs.csv"):
        if row["phenophase"] == "501":  # open flowers
            dates.setdefault(int(row["year"]), []).append(float(row["doy"]) - 1)
    means = {
        date(int(row["year"]), 1, 1) + timedelta(days=int(row["doy"]) - 1): real(row["temperature"])
        for row in rows(folder / "phenology/vaccinium_temperature.csv")
        if int(row["doy"]) >= 1
    }
    observed = {year: float(np.median(found)) for year, found in dates.items()}
    return years_of(means, observed, "highbush blueberry, bloom, 42.5 N")


def tell_skill(series: Series) -> None:
    """One line on one series."""
    proof = prove_heat(series.means, series.days)
    gain, least = (
        knowledge().constant(name).number
        for name in ("gain to prove heat", "records to prove heat")
    )
    proved = len(series.years) >= least and proof.error <= gain * proof.error_of_mean
    print(
        f"  {series.name:<36} n {len(series.years):>2}  heat sum {proof.error:5.2f} d  "
        f"mean date {proof.error_of_mean:5.2f} d  chooses {'heat sum' if proved else 'mean date'}"
        f"  (fitted on all: base {proof.rule.base:g} °C, from day {proof.rule.start + 1}, "
        f"sum {proof.rule.total:.0f} °C d)"
        + (f"; {series.left_out} years without weather left out" if series.left_out else "")
    )


def tell_hours(folder: Path) -> None:
    """The curve through the hours of a day, beside measured hours (Winters, 38.5 N, 2008)."""
    measured: dict[date, dict[int, float]] = {}
    for row in rows(folder / "weather/winters_ca_hourly_2008.csv.gz"):
        day = date(int(row["Year"]), int(row["Month"]), int(row["Day"]))
        measured.setdefault(day, {})[int(row["Hour"])] = real(row["Temp"])
    whole = [
        day for day, hours in sorted(measured.items())
        if len(hours) == 24 and all(math.isfinite(value) for value in hours.values())
    ]  # fmt: skip
    # The longest unbroken run of days, since each night joins two of them.
    runs: list[list[date]] = []
    for day in whole:
        if runs and day - runs[-1][-1] == timedelta(days=1):
            runs[-1].append(day)
        else:
            runs.append([day])
    days = max(runs, key=len)
    table = np.array([[measured[day][hour] for hour in range(24)] for day in days])
    number = np.array([day.timetuple().tm_yday for day in days])
    curve = hourly_temperature_linvill(table.min(axis=1), table.max(axis=1), 38.5, number)
    print(f"  {len(days)} days, {days[0]} to {days[-1]}; published {PUBLISHED_LINVILL} K")
    for behind, clock in (
        (0, "clock hours read as solar hours"),
        (1, "clock an hour ahead of the sun"),
    ):
        solar, true = curve.ravel(), table.ravel()
        miss = solar[: len(solar) - behind] - true[behind:]
        print(f"  {clock:<36} RMSE {np.sqrt(np.mean(miss**2)):.2f} K  bias {np.mean(miss):+.2f} K")


def main() -> int:
    """Everything there are records for."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else BESIDE
    print("Dates, each year forecast from the others (root mean square error):")
    readers: dict[str, Callable[[Path], Series]] = {
        "cherry": cherry,
        "walnut": walnut,
        "blueberry": blueberry,
    }
    for name, read in readers.items():
        try:
            series = read(folder)
        except FileNotFoundError as error:
            print(f"  {name}: left out, there is no {Path(str(error.filename)).name}")
            continue
        tell_skill(series)
    print("Hours of a day from its minimum and maximum (Linvill's curve):")
    try:
        tell_hours(folder)
    except FileNotFoundError as error:
        print(f"  left out, there is no {Path(str(error.filename)).name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
