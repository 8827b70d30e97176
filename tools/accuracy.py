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

from bearwell.errors import BadInput
from bearwell.science.hourly import hourly_temperature_linvill
from bearwell.season.bloomskill import DatedYears, dated_years, proved

Floats = NDArray[np.float64]
BESIDE = Path(__file__).resolve().parents[2] / "shared" / "data"
# The published error of the curve on hourly records, against which ours is set [K].
PUBLISHED_LINVILL = 1.6


@dataclass(frozen=True)
class Record:
    """A record by name, and for the sceptic what was published or found on the like of it."""

    name: str
    series: DatedYears


def rows(file: Path) -> Iterator[dict[str, str]]:
    """The rows of a CSV, plain or gzipped."""
    plain = gzip.decompress(file.read_bytes()) if file.suffix == ".gz" else file.read_bytes()
    yield from csv.DictReader(plain.decode("utf-8").splitlines())


def real(text: str | None) -> float:
    """A number, or missing."""
    return float("nan") if text in (None, "", "NA") else float(text)


def record_of(name: str, means: dict[date, float], observed: dict[int, float]) -> Record:
    """Dates beside daily means, which may have gaps."""
    first, last = min(means), max(means)
    days = [first + timedelta(days=k) for k in range((last - first).days + 1)]
    known = {year: day for year, day in observed.items() if not math.isnan(day)}
    return Record(
        name, dated_years(first, np.array([means.get(day, math.nan) for day in days]), known)
    )


def means_of(file: Path) -> dict[date, float]:
    """Daily means of a file with Year, Month, Day, Tmax, Tmin."""
    return {
        date(int(row["Year"]), int(row["Month"]), int(row["Day"])): (
            real(row["Tmax"]) + real(row["Tmin"])
        )
        / 2
        for row in rows(file)
    }


def cherry(folder: Path) -> Record:
    """Full bloom of sweet cherry at Klein-Altendorf, 50.4 N."""
    observed = {
        int(row["Year"]): real(row["pheno"]) for row in rows(folder / "phenology/KA_bloom.csv")
    }
    means = means_of(folder / "phenology/KA_weather.csv")
    return record_of("sweet cherry, full bloom, 50.4 N", means, observed)


def walnut(folder: Path) -> Record:
    """Leaf-out of walnut 'Payne' at Davis, 38.5 N."""
    observed = {}
    for row in rows(folder / "phenology/Davis_Payne_leaf_out.csv"):
        year = int(row["Year"])
        try:
            seen = datetime.strptime(row["Leaf date"][:6] + str(year), "%d-%m-%Y").date()  # noqa: DTZ007
        except ValueError:
            continue
        observed[year] = float(seen.timetuple().tm_yday)
    means = means_of(folder / "phenology/Davis_weather.csv")
    return record_of("walnut, leaf-out, 38.5 N", means, observed)


def blueberry(folder: Path) -> Record:
    """Open flowers of highbush blueberry in Massachusetts, 42.5 N: the middle of a year's dates."""
    dates: dict[int, list[float]] = {}
    for row in rows(folder / "phenology/vaccinium_obs.csv"):
        if row["phenophase"] == "501":  # open flowers
            dates.setdefault(int(row["year"]), []).append(float(row["doy"]))
    means = {
        date(int(row["year"]), 1, 1) + timedelta(days=int(row["doy"]) - 1): real(row["temperature"])
        for row in rows(folder / "phenology/vaccinium_temperature.csv")
        if int(row["doy"]) >= 1
    }
    observed = {year: float(np.median(found)) for year, found in dates.items()}
    return record_of("highbush blueberry, bloom, 42.5 N", means, observed)


HEAD = f"  {'record':<34} {'n':>3} {'forecast':>9} {'mean date':>10} {'heat sum':>9}  {'folds by':<16} chosen on all years"
UNDER = f"  {'':<34} {'':>3} {'d':>9} {'d':>10} {'d':>9}  mean/mixed/heat"


def tell_skill(record: Record) -> None:
    """One row of the table, with what was left out under it."""
    series = record.series
    try:
        proof = proved(series)
    except BadInput as error:
        print(f"  {record.name}: left out, {error.message}")
        return
    heat = sum(weight == 1 for weight in proof.chosen)
    mixed = len(proof.chosen) - proof.fallbacks - heat
    verdict = (
        "beats the mean date"
        if proof.error < proof.error_of_mean - 1e-9
        else "matches the mean date"
    )
    if proof.error > proof.error_of_mean + 1e-9:
        verdict = "WORSE than the mean date"
    print(
        f"  {record.name:<34} {len(series.years):>3} {proof.error:9.2f} {proof.error_of_mean:10.2f} "
        f"{proof.error_of_heat:9.2f}  {f'{proof.fallbacks}/{mixed}/{heat}':<16} {proof.method}; {verdict}"
    )
    print(
        f"      fitted on all: base {proof.rule.base:g} °C from day {proof.rule.start + 1}, sum {proof.rule.total:.0f} °C d"
        + (
            f"; {len(series.left_out)} years with a date but without weather left out"
            if series.left_out
            else ""
        )
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
    print(
        f"  {len(days)} whole days, {days[0]} to {days[-1]}; the curve's published error is {PUBLISHED_LINVILL} K"
    )
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
    print(
        "Dates: each year forecast from the others, which also choose how (root mean square error in days)"
    )
    print(HEAD)
    print(UNDER)
    readers: dict[str, Callable[[Path], Record]] = {
        "cherry": cherry,
        "walnut": walnut,
        "blueberry": blueberry,
    }
    for name, read in readers.items():
        try:
            record = read(folder)
        except FileNotFoundError as error:
            print(f"  {name}: left out, there is no {Path(str(error.filename)).name}")
            continue
        tell_skill(record)
    print("Hours of a day from its minimum and maximum (Linvill's curve):")
    try:
        tell_hours(folder)
    except FileNotFoundError as error:
        print(f"  left out, there is no {Path(str(error.filename)).name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
