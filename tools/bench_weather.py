"""Speed of the weather room: reading a century, hours shared by a hundred trees, weather fitted and drawn."""

from __future__ import annotations

import calendar
import csv
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import numpy as np

from bearwell.season.hours import SiteHours
from bearwell.weather import DailySeries, generate, monthly_normals, read_daily
from bearwell.weather.fitting import fit_recipe

Row = tuple[str, str, str]
Timer = Callable[[Callable[[], object], int], float]
Shown = Callable[[float], str]

TREES, YEARS = 100, 40
LATITUDE = 41.7
# Invented normals of a mild coast, January first.
LOW = (6.0, 6.5, 8.0, 9.3, 11.7, 14.0, 15.0, 15.0, 14.0, 11.8, 8.8, 6.8)
HIGH = (14.0, 15.0, 16.9, 18.0, 20.2, 22.9, 24.0, 24.0, 23.0, 20.0, 16.8, 14.6)
RAIN = (190, 150, 130, 120, 100, 45, 20, 30, 75, 165, 185, 190)


def century() -> DailySeries:
    """A hundred made-up years."""
    normals = monthly_normals(LOW, HIGH, RAIN)
    return generate(normals, date(1920, 1, 1), date(2019, 12, 31), np.random.default_rng(1))


def _tenths(value: float) -> int:
    return round(10 * value)


def write_layouts(series: DailySeries, folder: Path) -> dict[str, Path]:
    """The same century as the archive's three layouts."""
    days = list(series.iter_dates())
    columns = {"TMAX": series.tmax, "TMIN": series.tmin, "PRCP": series.rain}
    wide = [
        "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,"
        + ",".join(f"{n},{n}_ATTRIBUTES" for n in columns)
    ]
    long = []
    for at, day in enumerate(days):
        values = [_tenths(float(column[at])) for column in columns.values()]
        cells = ",".join(f'"{value:5d}",",,7,2400"' for value in values)
        wide.append(f'"XX000000001","{day}","41.5","-8.5","35.0","MADE UP",{cells}')
        long += [
            f"XX000000001,{day:%Y%m%d},{n},{v},,,E,2400"
            for n, v in zip(columns, values, strict=True)
        ]
    fixed = []
    for year in series.years():
        for month in range(1, 13):
            first = series.index(date(year, month, 1))
            held = calendar.monthrange(year, month)[1]
            for name, column in columns.items():
                cells = "".join(
                    f"{_tenths(float(column[first + n])):5d}  7" if n < held else "-9999   "
                    for n in range(31)
                )
                fixed.append(f"XX000000001{year}{month:02d}{name}{cells}")
    made = {"one day a line": wide, "one reading a line": long, "fixed width (.dly)": fixed}
    files = {}
    for place, (name, rows) in enumerate(made.items()):
        files[name] = folder / f"century-{place}.txt"
        files[name].write_text("\n".join(rows) + "\n", "utf-8")
    return files


def _plain(path: Path) -> int:
    """The yardstick: the lines split by the standard library, nothing understood."""
    with path.open(newline="", encoding="utf-8") as file:
        return sum(len(row) for row in csv.reader(file))


def _spans(tree: int, year: int) -> tuple[date, date, date]:
    """When a tree begins to count chill, when heat, and when it blooms: its own days."""
    rest = date(year - 1, 10, 15) + timedelta(days=tree % 30)
    return (
        rest,
        date(year, 2, 1) + timedelta(days=tree % 20),
        date(year, 4, 1) + timedelta(days=tree % 25),
    )


def orchard(hours: SiteHours, trees: range) -> float:
    """Chill and heat of every tree in every year, each over its own days."""
    total = 0.0
    for tree in trees:
        for year in range(hours.series.start.year + 1, hours.series.end.year + 1):
            rest, warm, bloom = _spans(tree, year)
            for found in (hours.between(rest, warm), hours.between(warm, bloom)):
                total += 0.0 if found is None else found.portions + found.heat
    return total


def weather_rows(folder: Path, timed: Timer, shown: Shown) -> list[Row]:
    """Every row: what, how much, beside what."""
    series = century()
    rows: list[Row] = []
    for name, path in write_layouts(series, folder).items():
        spent, bare = timed(partial(read_daily, path), 5), timed(partial(_plain, path), 5)
        rows.append((f"100 years of an archive read, {name}", shown(spent),
                     f"{spent / bare:.1f} × the standard library splitting its fields ({shown(bare)}); "
                     f"{path.stat().st_size / 1e6:.1f} MB"))  # fmt: skip
    last = series.end.year
    part = series.between(date(last - YEARS + 1, 1, 1), series.end)
    shared = timed(lambda: orchard(SiteHours(part, LATITUDE), range(TREES)), 5)
    few = 3
    alone = (
        timed(lambda: [orchard(SiteHours(part, LATITUDE), range(n, n + 1)) for n in range(few)], 3)
        / few
        * TREES
    )
    rows.append((f"chill and heat by the hour of {TREES} trees through {YEARS} years", shown(shared),
                 f"{alone / shared:.0f} × as fast as each tree making its own hours ({shown(alone)})"))  # fmt: skip
    fitted = timed(lambda: fit_recipe(part), 3)
    recipe = fit_recipe(part)
    drawn = timed(
        lambda: generate(recipe, date(1900, 1, 1), date(1999, 12, 31), np.random.default_rng(1)), 3
    )
    rows.append(
        (
            f"made-up weather fitted to {YEARS} years",
            shown(fitted),
            f"100 years drawn in {shown(drawn)}",
        )
    )
    return rows
