"""The reckoner of winter chill: each season of a record by four models, with growing degree hours."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bearwell.errors import BadInput
from bearwell.reasons import Because, computed, phrase
from bearwell.reckon.model import Answer, Option, Reckoner, existing_file, month_day, number
from bearwell.said import said
from bearwell.science import chill
from bearwell.science.heat import growing_degree_hours_anderson
from bearwell.science.hourly import hourly_temperature_linvill
from bearwell.weather.readers import read_daily
from bearwell.weather.series import fill_gaps

Floats = NDArray[np.float64]
_HOUR = np.timedelta64(1, "h")
_NORTHERN_COLD = ((11, 1), (2, 28))
_SOUTHERN_COLD = ((5, 1), (8, 31))
_HOURS = 24
POLAR = 66.5  # deg, the polar circles: beyond them some days have no sunrise


@dataclass(frozen=True)
class _Hours:
    """Hours without a break: the day of the first and its hour, and their temperatures [degC]."""

    first: date
    hour: int
    temperature: Floats

    @property
    def last(self) -> date:
        """The day of the last hour."""
        days = (self.hour + len(self.temperature) - 1) // _HOURS
        return date.fromordinal(self.first.toordinal() + days)

    def between(self, first: date, last: date) -> slice:
        """Where the hours of some days stand."""
        begin = (first - self.first).days * _HOURS - self.hour
        stop = ((last - self.first).days + 1) * _HOURS - self.hour
        return slice(max(begin, 0), max(stop, 0))


def _from_file(path: Path, links: list[Because]) -> _Hours:
    """Hourly temperatures from a CSV of time and temperature, in order, one row an hour.

    Clocks that change leave out an hour or give one twice: the one is bridged, the two are averaged,
    and both are told. Any other step is refused.
    """
    times: list[datetime] = []
    values: list[float] = []
    with path.open(newline="", encoding="utf-8-sig") as file:
        rows = csv.reader(file)
        header = [cell.strip().lower() for cell in next(rows, [])]
        if len(header) < 2 or not header[0].startswith(("time", "date")):
            raise BadInput(
                said("{path}:1: an hourly file starts with a header", path=path), "time,temperature"
            )
        fahrenheit = "f" in header[1].split("[")[-1].replace("degf", "f") and "[" in header[1]
        for line, row in enumerate(rows, start=2):
            try:
                times.append(datetime.fromisoformat(row[0].strip()).replace(tzinfo=None))
                value = float(row[1])
            except (ValueError, IndexError):
                raise BadInput(
                    said("{path}:{line}: not a time and a temperature", path=path, line=line),
                    "2025-11-01T00:00,8.4",
                ) from None
            values.append((value - 32) / 1.8 if fahrenheit else value)
            if not -60 <= values[-1] <= 60:
                raise BadInput(
                    said(
                        "{path}:{line}: {value:g} is not an air temperature",
                        path=path,
                        line=line,
                        value=value,
                    ),
                    "in degC, or head it [degF]",
                )
    if not times:
        raise BadInput(said("{path}: there is no hour in it", path=path), "2025-11-01T00:00,8.4")
    return _unbroken(path, np.array(times, dtype="datetime64[s]"), np.array(values), links)


def _unbroken(
    path: Path, stamps: NDArray[np.datetime64], values: Floats, links: list[Because]
) -> _Hours:
    steps = np.diff(stamps)
    gone, twice = steps == 2 * _HOUR, steps == np.timedelta64(0, "s")
    odd = np.flatnonzero(~((steps == _HOUR) | gone | twice))
    if odd.size:
        line = int(odd[0]) + 3
        raise BadInput(
            said("{path}:{line}: the rows are not one hour apart", path=path, line=line),
            "fill the gaps first; nothing is guessed",
        )
    if gone.any() or twice.any():
        links.append(
            computed(
                "{gone} hours are left out and {twice} given twice, as when clocks change: the first were "
                "bridged by a straight line, the second averaged",
                gone=int(gone.sum()),
                twice=int(twice.sum()),
            )
        )
    hours, place = np.unique((stamps - stamps[0]) // _HOUR, return_inverse=True)
    mean = np.bincount(place, weights=values) / np.bincount(place)
    every = np.arange(int(hours[-1].astype(np.int64)) + 1)
    temperature = np.interp(every, hours.astype(np.int64), mean)
    first: datetime = stamps[0].astype(datetime)
    return _Hours(first.date(), first.hour, temperature)


def _hours(given: Mapping[str, Any], links: list[Because], cautions: list[str]) -> _Hours:
    """Hours read, or made from daily extremes."""
    if given.get("hourly") is not None:
        return _from_file(given["hourly"], links)
    if given.get("weather") is None or given.get("latitude") is None:
        raise BadInput(
            "chill needs --weather and --latitude, or --hourly", "daily or hourly temperatures"
        )
    series = fill_gaps(read_daily(given["weather"]))
    known = np.isfinite(series.tmin) & np.isfinite(series.tmax)
    if not known.all():
        raise BadInput(
            said(
                "{path}: {count} days have no temperature and cannot be filled",
                path=given["weather"],
                count=int((~known).sum()),
            ),
            "give a record with fewer gaps",
        )
    if abs(given["latitude"]) > POLAR:
        cautions.append(
            "Beyond the polar circle days without a sunrise are given their mean all day; chill made so is a "
            "guess."
        )
    temperatures = hourly_temperature_linvill(
        series.tmin, series.tmax, given["latitude"], series.day_of_year()
    ).ravel()
    links.append(
        _cited(
            "Hours from daily extremes",
            "degC",
            "linvill-1990",
            "sine day, logarithmic night",
        )
    )
    made = int(series.filled.sum())
    if made:
        links.append(computed("{count} days were filled by the gap policy", made, "d", count=made))
    for reason, days in series.flags.items():
        count = int(days.sum())
        links.append(
            computed(
                "{count} days are flagged: {reason}", count, "d", count=count, reason=said(reason)
            )
        )
    return _Hours(series.start, 0, temperatures)


def _cited(text: str, unit: str, source: str, locator: str) -> Because:
    return Because(phrase(text), None, unit, source, locator, "read")


def _chill(given: Mapping[str, Any]) -> Answer:
    links = [
        _cited(
            "Chill portions: the Dynamic Model, run through each season from a fresh start",
            "CP",
            "fishman-1987",
            "two-step model with the published constants",
        ),
        _cited(
            "Utah units fall when it is warm; positive Utah does not let them",
            "Utah unit",
            "richardson-1974",
            "unit table",
        ),
        computed(
            "These units do not convert into one another: eight warm hours a day can undo the portions while "
            "the hours still add up"
        ),
    ]
    cautions: list[str] = []
    hours = _hours(given, links, cautions)
    usual = _SOUTHERN_COLD if (given.get("latitude") or 0.0) < 0 else _NORTHERN_COLD
    begin, stop = given.get("from") or usual[0], given.get("to") or usual[1]
    seasons = _seasons(hours, begin, stop)
    if not seasons:
        raise BadInput(
            "the record holds no whole season",
            said(
                "from {first} to {last}",
                first=f"{begin[0]:02d}-{begin[1]:02d}",
                last=f"{stop[0]:02d}-{stop[1]:02d}",
            ),
        )
    return {"seasons": seasons}, tuple(links), tuple(cautions)


def _day(year: int, when: tuple[int, int]) -> date:
    """A day of a year; 29 February is the day before where the year has none."""
    try:
        return date(year, *when)
    except ValueError:
        return date(year, when[0], 28)


def _seasons(hours: _Hours, begin: tuple[int, int], stop: tuple[int, int]) -> list[dict[str, Any]]:
    found = []
    for ending in range(hours.first.year, hours.last.year + 1):
        last = _day(ending, stop)
        start = _day(ending if begin <= stop else ending - 1, begin)
        if start < hours.first or last > hours.last:
            continue
        part = hours.temperature[hours.between(start, last)]
        utah = chill.chill_units_utah(part)
        found.append(
            {
                "ending": ending,
                "portions": round(float(chill.chill_portions_fishman(part)[-1]), 2),
                "utah": round(float(np.sum(utah)), 1),
                "positive_utah": round(float(np.sum(np.maximum(utah, 0.0))), 1),
                "hours": round(float(np.sum(chill.chilling_hours(part)))),
                "gdh": round(float(np.sum(growing_degree_hours_anderson(part)))),
            }
        )
    return found


CHILL = Reckoner(
    "chill",
    "Winter chill of each season in a record, by four models, with growing degree hours.",
    (
        Option("weather", existing_file, "file", "daily weather file", required=False),
        Option(
            "latitude",
            number(-90, 90, "latitude"),
            "deg",
            "latitude, for daily weather",
            required=False,
        ),
        Option(
            "from",
            month_day,
            "month-day",
            "first day of the season; 11-01 if left out (05-01 in the south)",
            required=False,
        ),
        Option(
            "to",
            month_day,
            "month-day",
            "last day of the season; 02-28 if left out (08-31 in the south)",
            required=False,
        ),
        Option(
            "hourly",
            existing_file,
            "file",
            "hourly CSV of time,temperature instead of daily weather",
            required=False,
        ),
    ),
    _chill,
    ("seasons",),
    "--weather weather.csv --latitude 41.7",
)
"""Chill of every season in a record."""
