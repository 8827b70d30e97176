"""Monthly normals typed by hand, and the climate of a place from a record or from normals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.errors import BadInput
from bearwell.quantities import kinds
from bearwell.said import said
from bearwell.weather.curves import (
    DAYS,
    MONTH_DAYS,
    BoolArray,
    FloatArray,
    smooth_year,
    through_months,
)
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries

_MONTHS = (
    said("January"), said("February"), said("March"), said("April"), said("May"), said("June"),
    said("July"), said("August"), said("September"), said("October"), said("November"), said("December"),
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Normals:
    """Twelve monthly means of tmin and tmax [degC] and twelve monthly sums of rain [mm]."""

    tmin: FloatArray
    tmax: FloatArray
    rain: FloatArray

    def curve(self, name: str) -> FloatArray:
        """Day-of-year curve (366 values) of "tmin", "tmax", "tmean" [degC] or "rain" [mm d-1].

        Its mean over each month of a common year is the monthly value.
        """
        if name == "rain":
            return through_months(self.rain / np.array(MONTH_DAYS, dtype=np.float64), floor=0.0)
        if name == "tmean":
            return through_months(0.5 * (self.tmin + self.tmax))
        if name not in ("tmin", "tmax"):
            raise BadInput(said("normals have no '{name}'", name=name), "tmin, tmax, tmean or rain")
        return through_months(self.tmin if name == "tmin" else self.tmax)


def monthly_normals(
    tmin: Sequence[float], tmax: Sequence[float], rain: Sequence[float] | None = None
) -> Normals:
    """Check twelve tmin, twelve tmax [degC] and, if known, twelve rain sums [mm], January first.

    Raises BadInput naming the month for a wrong count, an implausible value or tmin above tmax.
    Rain left out is unknown (NaN), not none.
    """
    columns: dict[str, FloatArray] = {}
    given = {"tmin": tmin, "tmax": tmax, "rain": [float("nan")] * 12 if rain is None else rain}
    for name, values in given.items():
        if len(values) != 12:
            raise BadInput(
                said("{name} normals have {count} values, not 12", name=name, count=len(values)),
                "one for each month, Jan first",
            )
        column = np.array(values, dtype=np.float64)
        kind = kinds()["rain" if name == "rain" else "air_temperature"]
        high = kind.high * max(MONTH_DAYS) if name == "rain" else kind.high
        low = kind.low
        for month, value in enumerate(column):
            if name == "rain" and rain is None:
                break
            if not low <= value <= high:
                raise BadInput(
                    said(
                        "{name} of {month} is {value:g} {unit}, which is not plausible",
                        name=name,
                        month=_MONTHS[month],
                        value=value,
                        unit=kind.unit,
                    ),
                    said(
                        "between {low:g} and {high:g} {unit} is expected",
                        low=low,
                        high=high,
                        unit=kind.unit,
                    ),
                )
        columns[name] = column
    for month in range(12):
        if columns["tmin"][month] > columns["tmax"][month]:
            raise BadInput(
                said("tmin of {month} is above its tmax", month=_MONTHS[month]),
                "were the two lists exchanged?",
            )
    return Normals(**columns)


@dataclass(frozen=True, slots=True, eq=False)
class CoolSeason:
    """One cool season: July to June north of the equator, a calendar year south of it.

    ``label`` is the calendar year it ends in. ``tmin`` holds measured nights only (NaN where
    missing or filled). ``complete`` tells whether enough of its cool half was measured.
    """

    label: int
    start: date
    tmin: FloatArray
    complete: bool

    @property
    def coldest(self) -> float:
        """The lowest night [degC]."""
        return float(np.nanmin(self.tmin))

    @property
    def coldest_date(self) -> date:
        """When the lowest night was."""
        return self.start + timedelta(days=int(np.nanargmin(self.tmin)))

    def nights_below(self, threshold: float) -> tuple[date, ...]:
        """Every measured night below a temperature [degC]."""
        cold = np.flatnonzero(self.tmin < threshold)
        return tuple(self.start + timedelta(days=int(day)) for day in cold)


@dataclass(frozen=True, slots=True)
class ColdSpell:
    """First and last night below a threshold in one cool season, None where there was none."""

    season: int
    first: date | None
    last: date | None
    nights: int


@dataclass(frozen=True, slots=True, eq=False)
class Climate:
    """What is usual at a place. Curves have 366 values, ``curve[n - 1]`` for day n of the year.

    tmin, tmax, tmean [degC] and rain [mm d-1] are smoothed day-of-year means (NaN where unknown).
    ``years`` are the calendar years with enough record; ``yearly_tmin`` and its fellows have one
    row of 366 days for each. ``seasons`` are the cool seasons with enough record, oldest first.
    Built from normals alone, ``years`` and ``seasons`` are empty and ``from_normals`` is True.
    ``normals`` are those that were given, beside a record too.
    """

    tmin: FloatArray
    tmax: FloatArray
    tmean: FloatArray
    rain: FloatArray
    southern: bool
    from_normals: bool
    years: tuple[int, ...]
    yearly_tmin: FloatArray
    yearly_tmax: FloatArray
    yearly_rain: FloatArray
    seasons: tuple[CoolSeason, ...]
    sources: tuple[str, ...] = ()
    normals: Normals | None = None

    @property
    def winters(self) -> tuple[int, ...]:
        """The cool seasons counted, by the calendar year each ends in."""
        return tuple(season.label for season in self.seasons)

    @property
    def coldest_nights(self) -> FloatArray:
        """The coldest night of each cool season [degC], in the order of :attr:`winters`."""
        return np.array([season.coldest for season in self.seasons], dtype=np.float64)

    def cold_spells(self, threshold: float) -> tuple[ColdSpell, ...]:
        """First and last night below ``threshold`` [degC] of each cool season."""
        spells = []
        for season in self.seasons:
            nights = season.nights_below(threshold)
            first, last = (nights[0], nights[-1]) if nights else (None, None)
            spells.append(ColdSpell(season.label, first, last, len(nights)))
        return tuple(spells)


def climate(
    weather: DailySeries | Normals, *, southern: bool = False, normals: Normals | None = None
) -> Climate:
    """The climate of a record (measured days only, none of a stuck instrument), or of normals alone.

    A curve of which a record holds nothing is that of ``normals``, where they are given. A record
    shorter than a year still gives a curve through the days it has; ask
    :func:`bearwell.weather.series.own_curve` whether it is long enough to rest on.
    """
    if isinstance(weather, Normals):
        none = np.empty((0, DAYS))
        curves = {name: weather.curve(name) for name in ("tmin", "tmax", "tmean", "rain")}
        return Climate(
            **curves,
            southern=southern,
            from_normals=True,
            years=(),
            yearly_tmin=none,
            yearly_tmax=none,
            yearly_rain=none,
            seasons=(),
            sources=("monthly normals",),
            normals=weather,
        )
    day_of_year = weather.day_of_year()
    waves = int(rule("climate.harmonics"))
    tmin, tmax = weather.measured("tmin"), weather.measured("tmax")
    years, yearly = _years(weather, {"tmin": tmin, "tmax": tmax, "rain": weather.rain})

    def curve(name: str, values: FloatArray) -> FloatArray:
        if normals is not None and not np.isfinite(values).any():
            return normals.curve(name)
        return smooth_year(day_of_year, values, waves)

    low, high = curve("tmin", tmin), curve("tmax", tmax)
    return Climate(
        tmin=low,
        tmax=high,
        tmean=0.5 * (low + high),
        rain=np.maximum(curve("rain", weather.rain), 0.0),
        southern=southern,
        from_normals=False,
        years=years,
        yearly_tmin=yearly["tmin"],
        yearly_tmax=yearly["tmax"],
        yearly_rain=yearly["rain"],
        seasons=_seasons(weather, tmin, southern),
        sources=weather.sources,
        normals=normals,
    )


def _years(
    weather: DailySeries, columns: dict[str, FloatArray]
) -> tuple[tuple[int, ...], dict[str, FloatArray]]:
    """Calendar years with enough measured temperature, and their rows of 366 days."""
    enough = rule("climate.coverage")
    all_years = weather.years()
    row = weather.year() - all_years[0]
    place = weather.day_of_year() - 1
    tables: dict[str, FloatArray] = {}
    for name, values in columns.items():
        table = np.full((len(all_years), DAYS), np.nan)
        table[row, place] = values
        tables[name] = table
    both = np.isfinite(tables["tmin"]) & np.isfinite(tables["tmax"])
    keep: BoolArray = both.sum(axis=1) >= enough * sum(MONTH_DAYS)
    kept = tuple(year for year, good in zip(all_years, keep, strict=True) if good)
    return kept, {name: table[keep] for name, table in tables.items()}


def _seasons(weather: DailySeries, tmin: FloatArray, southern: bool) -> tuple[CoolSeason, ...]:
    """Cool seasons whose cool half is measured well enough."""
    enough = rule("climate.coverage")
    found = []
    first_label = weather.start.year
    for label in range(first_label, weather.end.year + 2):
        start = date(label, 1, 1) if southern else date(label - 1, 7, 1)
        stop = date(label + 1, 1, 1) if southern else date(label, 7, 1)
        cool = (
            (date(label, 4, 1), date(label, 10, 1))
            if southern
            else (date(label - 1, 10, 1), date(label, 4, 1))
        )
        nights = _slice(weather, tmin, start, stop)
        half = _slice(weather, tmin, *cool)
        share = float(np.isfinite(half).mean())
        season = CoolSeason(label, start, nights, share >= enough)
        if season.complete:
            found.append(season)
    return tuple(found)


def _slice(weather: DailySeries, values: FloatArray, start: date, stop: date) -> FloatArray:
    """Values from ``start`` to the day before ``stop``, NaN outside the record."""
    days = (stop - start).days
    cut = np.full(days, np.nan)
    offset = (start - weather.start).days
    first, last = max(0, offset), min(len(values), offset + days)
    if first < last:
        cut[first - offset : last - offset] = values[first:last]
    return cut
