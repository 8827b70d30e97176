"""The weather of a site as the seasons need it: what is known, what past years did, what is usual.

A *season* of year Y starts at midwinter: 1 January in the north, 2 July in the south. Days of a season
count from 0, so a table's northern day of the year serves both hemispheres.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bearwell.garden import Site
from bearwell.reasons import Because, amount, computed
from bearwell.science.chill import chill_portions_fishman, chilling_hours
from bearwell.science.evapotranspiration import reference_evapotranspiration_hargreaves
from bearwell.science.missingweather import best_reference_evapotranspiration_fao56
from bearwell.season.hours import SiteHours
from bearwell.weather.normals import Climate
from bearwell.weather.series import EXTRAS, DailySeries

CITRUS_BASE = 12.8  # degC from which citrus grows

SEASON_DAYS = 366
Floats = NDArray[np.float64]


def season_start(year: int, southern: bool) -> date:
    """The first day of a season."""
    return date(year, 7, 2) if southern else date(year, 1, 1)


def season_of(day: date, southern: bool) -> int:
    """The season a day lies in."""
    return day.year - 1 if southern and day < date(day.year, 7, 2) else day.year


@dataclass(frozen=True, eq=False)
class Span:
    """Daily weather of some days: minimum, maximum [degC], rain [mm], and which days were measured."""

    start: date
    low: Floats
    high: Floats
    rain: Floats
    known: NDArray[np.bool_]

    @property
    def usual_days(self) -> int:
        """Days that stand on the usual weather instead of a measurement."""
        return int((~self.known).sum())

    def reference_evapotranspiration(self, latitude: float) -> Floats:
        """Daily reference evapotranspiration from temperature, Hargreaves [mm d-1]; NaN where unknown."""
        day = self.start.toordinal()
        doy = [date.fromordinal(day + n).timetuple().tm_yday for n in range(len(self.low))]
        return np.asarray(
            reference_evapotranspiration_hargreaves(
                self.low, np.maximum(self.low, self.high), latitude, np.array(doy)
            )
        )


@dataclass(frozen=True, eq=False)
class Demand:
    """What the air asks for day by day: reference evapotranspiration [mm d-1] and all that goes with it.

    ``known`` counts how many of humidity, wind and sun were measured, 2 or 3 by Penman-Monteith, fewer by
    Hargreaves; ``wind`` [m s-1] is at 2 m; ``driest`` is the lowest relative humidity of the day, NaN where
    unknown; ``rain`` [mm] is NaN where unknown; ``measured`` marks days that are not the usual weather.
    """

    start: date
    et0: Floats
    rain: Floats
    wind: Floats
    driest: Floats
    known: Floats
    measured: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.et0)

    def day(self, index: int) -> date:
        """The date of an index."""
        return self.start + timedelta(days=index)

    def index(self, day: date) -> int:
        """Where a date stands."""
        return (day - self.start).days


@dataclass(frozen=True)
class Colder:
    """How much colder the garden runs than its station on clear nights [K], with its range and reasons."""

    value: float
    low: float
    high: float
    because: tuple[Because, ...] = ()

    @property
    def way(self) -> str:
        """The word for it: a spot may run warmer too, when the value is below nought."""
        return "warmer" if self.value < 0 else "colder"


@dataclass(frozen=True)
class SiteSeason:
    """A site, its daily weather (possibly none), its climate (possibly none) and the day it is.

    ``series`` has its gaps filled; days after ``today`` in it are a forecast. ``learned`` is what the
    grower's own thermometer says; ``site.colder_than_station`` then holds the same figure.
    """

    site: Site
    today: date
    series: DailySeries | None
    climate: Climate | None
    learned: Colder | None = None

    @property
    def colder(self) -> Colder:
        """How much colder the garden runs than its station on clear nights: learned, else as said."""
        if self.learned is not None:
            return self.learned
        stated = self.site.colder_than_station
        if not stated:
            return Colder(0.0, 0.0, 0.0)
        why = computed(
            "Your spot runs {colder} warmer than the station on clear nights"
            if stated < 0
            else "Your spot runs {colder} colder than the station on clear nights",
            stated,
            "K",
            colder=amount(abs(stated), "K"),
        )
        return Colder(stated, stated, stated, (why,))

    @cached_property
    def worked_out(self) -> dict[str, Any]:
        """What planners have worked out of this site on this day, kept for the next tree that asks."""
        return {}

    @cached_property
    def hours(self) -> SiteHours | None:
        """The site's hours, shared by every tree; None without a daily record."""
        return None if self.series is None else SiteHours(self.series, self.site.latitude)

    @property
    def southern(self) -> bool:
        """Whether the seasons are the southern ones."""
        return self.site.southern

    def start(self, year: int) -> date:
        """The first day of season ``year`` here."""
        return season_start(year, self.southern)

    @property
    def season(self) -> int:
        """The season today lies in."""
        return season_of(self.today, self.southern)

    def offset(self, day: date, year: int) -> int:
        """Days of ``day`` from the start of season ``year``."""
        return (day - self.start(year)).days

    def day(self, offset: float, year: int) -> date:
        """The date that lies ``offset`` days into season ``year``."""
        return self.start(year) + timedelta(days=round(offset))

    def northern_day(self, day: date) -> int:
        """The day of the year a northern table would use for this date."""
        return (day - self.start(season_of(day, self.southern))).days + 1

    @cached_property
    def usual_mean(self) -> Floats | None:
        """Usual daily mean temperature by day of the season, 30-day smoothed, shape (366,) [degC].

        None unless it is known.
        """
        if self.climate is None or not np.isfinite(self.climate.tmean).all():
            return None
        curve = np.asarray(self.climate.tmean, dtype=float)
        shift = (self.start(2023) - date(2023, 1, 1)).days
        curve = np.roll(curve, -shift)
        kernel = np.ones(30) / 30
        wrapped = np.concatenate([curve[-15:], curve, curve[:15]])
        return np.convolve(wrapped, kernel, mode="same")[15:-15]

    @cached_property
    def _tmean(self) -> tuple[date, Floats] | None:
        if self.series is None:
            return None
        return self.series.start, (self.series.tmin + self.series.tmax) / 2

    def mean_of_season(self, year: int) -> Floats:
        """Daily means of season ``year`` as far as known, NaN elsewhere, shape (366,) [degC]."""
        row = np.full(SEASON_DAYS, np.nan)
        if self._tmean is None:
            return row
        first, values = self._tmean
        begin = (self.start(year) - first).days
        low, high = max(begin, 0), min(begin + SEASON_DAYS, len(values))
        if low < high:
            row[low - begin : high - begin] = values[low:high]
        return row

    @cached_property
    def past(self) -> tuple[tuple[int, ...], Floats]:
        """Past seasons with at least 90 % of their days, and their daily means (years, 366) [degC]."""
        if self.series is None:
            return (), np.empty((0, SEASON_DAYS))
        years, rows = [], []
        for year in range(season_of(self.series.start, self.southern), self.season):
            row = self.mean_of_season(year)
            known = np.isfinite(row)
            if known[:365].mean() >= 0.9:
                years.append(year)
                gaps = ~known
                if gaps.any():
                    days = np.arange(SEASON_DAYS)
                    row[gaps] = np.interp(days[gaps], days[known], row[known])
                rows.append(row)
        return tuple(years), np.array(rows).reshape(len(rows), SEASON_DAYS)

    def possible_seasons(self, year: int) -> Floats:
        """Season ``year`` as it may turn out: known days, completed by each past season [degC]."""
        known = self.mean_of_season(year)
        past = self.past[1]
        if len(past) == 0:
            usual = self.usual_mean
            if usual is None:
                return np.empty((0, SEASON_DAYS))
            past = usual[np.newaxis, :]
        return np.where(np.isfinite(known), known, past)

    def span(self, first: date, last: date, *, replay: bool = False) -> Span:
        """Daily weather between two days: measured or forecast where known, the usual weather elsewhere.

        With ``replay`` unknown days take the same days of earlier years first, so that rain stays real.
        """
        count = (last - first).days + 1
        low, high, rain = (np.full(count, np.nan) for _ in range(3))
        known = np.zeros(count, dtype=bool)
        if self.series is not None:
            series = self.series
            here = np.arange(count)
            for back in (0, 365, 730, 1096) if replay else (0,):
                at = here + (first - timedelta(days=back) - series.start).days
                inside = (at >= 0) & (at < len(series))
                pairs = ((low, series.tmin), (high, series.tmax), (rain, series.rain))
                for target, values in pairs:
                    fill = inside & np.isnan(target)
                    target[fill] = values[at[fill]]
                if back == 0:
                    known = inside & np.isfinite(low)
        if self.climate is not None:
            ordinal = first.toordinal()
            days = [date.fromordinal(ordinal + n).timetuple().tm_yday - 1 for n in range(count)]
            place = self.climate
            for target, curve in ((low, place.tmin), (high, place.tmax), (rain, place.rain)):
                gap = np.isnan(target) & (~known if target is rain else True)
                target[gap] = np.asarray(curve)[days][gap]
        return Span(first, low, high, rain, known)

    def demand(self, first: date, last: date, wind_height: float = 2.0) -> Demand:
        """What the air asks for between two days, by the best method the weather of each day allows."""
        key = (first, last, wind_height)
        if key not in self._demands:
            self._demands[key] = self._demand(first, last, wind_height)
        return self._demands[key]

    @cached_property
    def _demands(self) -> dict[tuple[date, date, float], Demand]:
        return {}

    def _demand(self, first: date, last: date, wind_height: float) -> Demand:
        part = self.span(first, last)
        days = np.datetime64(first, "D") + np.arange(len(part.low))
        number = (days - days.astype("datetime64[Y]")).astype(np.int64) + 1
        extra = {name: np.full(len(part.low), np.nan) for name in EXTRAS}
        if self.series is not None:
            begin = (first - self.series.start).days
            low, high = max(begin, 0), min(begin + len(part.low), len(self.series))
            for name, values in self.series.extra.items():
                if name in extra and low < high:
                    extra[name][low - begin : high - begin] = values[low:high]
        best = best_reference_evapotranspiration_fao56(
            part.low,
            np.maximum(part.low, part.high),
            self.site.latitude,
            self.site.elevation,
            number,
            extra["dew_point"],
            extra["rh_min"] / 100,
            extra["rh_max"] / 100,
            extra["wind"],
            extra["sunshine"],
            extra["solar"],
            wind_height,
        )
        return Demand(
            first, best.et0, part.rain, best.wind, extra["rh_min"] / 100, best.known, part.known
        )

    @cached_property
    def mean_coldest_night(self) -> float | None:
        """Mean of each winter's lowest minimum [degC]; None without daily records."""
        if self.climate is None or not len(self.climate.coldest_nights):
            return None
        return float(np.mean(self.climate.coldest_nights)) - self.site.colder_than_station

    @cached_property
    def growing_heat(self) -> float | None:
        """Sum over the usual year of daily means above :data:`CITRUS_BASE` [degC d]."""
        if self.usual_mean is None:
            return None
        return float(np.maximum(self.usual_mean - CITRUS_BASE, 0).sum())

    @cached_property
    def winter_chill(self) -> tuple[float, float] | None:
        """Chill portions and chilling hours from November to February, mean of past winters.

        May to August in the south; None where there is no daily record.
        """
        years, _ = self.past
        if not years or self.series is None or self.hours is None:
            return None
        series, temperature = self.series, self.hours.temperature
        portions, hours = [], []
        for year in years:
            begin = self.start(year) - timedelta(days=61)
            end = self.start(year) + timedelta(days=59)
            if begin < series.start or end > series.end:
                continue
            hourly = temperature[series.index(begin) : series.index(end) + 1].ravel()
            if np.isfinite(hourly).all():
                portions.append(float(chill_portions_fishman(hourly)[-1]))
                hours.append(float(np.sum(chilling_hours(hourly))))
        if not portions:
            return None
        return float(np.mean(portions)), float(np.mean(hours))
