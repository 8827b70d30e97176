"""The winters of a record at a garden: coldest nights, their odds, frost dates, nights below a limit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np

from bearwell.errors import BadInput
from bearwell.science.risk import (
    Gumbel,
    gumbel_minima_moments,
    gumbel_quantile,
    gumbel_refits_moments,
    plotting_position_weibull,
)
from bearwell.season.madewinters import MadeWinters
from bearwell.season.site import Floats, SiteSeason
from bearwell.weather.normals import CoolSeason

REFITS = 600  # records drawn to see how far a fit may be off
SEED = 20
_YEAR = 366
TENTH, MOST = 0.1, 0.9


@dataclass(frozen=True)
class Winter:
    """One winter at the garden: its coldest night [degC], when it was, and its chance by rank."""

    label: int
    coldest: float
    date: date
    position: float


@dataclass(frozen=True)
class Level:
    """The coldest night of a return period [yr]: best and eight cases in ten [degC]."""

    years: int
    temperature: float
    low: float
    high: float


@dataclass(frozen=True)
class Chance:
    """A yearly chance: best, eight cases in ten, and how often it was counted."""

    best: float | None
    low: float
    high: float
    counted: int
    winters: int
    nights: float


@dataclass(frozen=True)
class FrostDate:
    """First or last night of frost of a season: middle, early and late, and winters without any."""

    middle: date
    early: date
    late: date
    winters: int
    without: int


class WinterRecord:
    """The winters of a site, moved to the garden by what it runs colder than the station [K].

    They are the measured ones; where there is none, those ``made`` up from its normals.
    """

    def __init__(
        self, site: SiteSeason, colder: float, least: int, made: MadeWinters | None = None
    ) -> None:
        self.site, self.colder, self.least, self.made = site, colder, least, made
        self._error = 0.0 if made is None else made.error
        measured = site.climate.seasons if site.climate is not None else ()
        seasons = measured if made is None else made.seasons
        self.seasons: tuple[CoolSeason, ...] = tuple(
            one for one in seasons if np.isfinite(one.tmin).any() and self._over(one)
        )

    def _over(self, season: CoolSeason) -> bool:
        """Whether the cool part of a season lies behind us: half a winter has no coldest night yet."""
        months = 9 if self.site.southern else 3
        year = season.start.year + (0 if self.site.southern else 1)
        return self.site.today > date(year, months, 31 if months == 3 else 30)

    @cached_property
    def lows(self) -> list[Floats]:
        """Nights of each winter at the garden in the open [degC]."""
        return [season.tmin - self.colder for season in self.seasons]

    @cached_property
    def _doys(self) -> list[np.ndarray]:
        return [
            np.array(
                [
                    (season.start + timedelta(days=step)).timetuple().tm_yday - 1
                    for step in range(len(season.tmin))
                ]
            )
            for season in self.seasons
        ]

    @cached_property
    def coldest(self) -> Floats:
        """The coldest night of each winter [degC]."""
        return np.array([float(np.nanmin(one)) for one in self.lows])

    @cached_property
    def winters(self) -> tuple[Winter, ...]:
        """Every winter with its rank."""
        if not len(self.coldest):
            return ()
        positions = plotting_position_weibull(self.coldest)
        return tuple(
            Winter(season.label, float(low), season.coldest_date, float(place))
            for season, low, place in zip(self.seasons, self.coldest, positions, strict=True)
        )

    @cached_property
    def fit(self) -> Gumbel | None:
        """The distribution of coldest nights; None with too few winters."""
        return self._fit(self.coldest)

    def _fit(self, minima: Floats) -> Gumbel | None:
        if len(minima) < self.least:
            return None
        try:
            return gumbel_minima_moments(minima)
        except BadInput:
            return None

    @cached_property
    def standard_refits(self) -> Floats:
        """Refits of a distribution with location 0 and scale 1: how far a fit may be off, in scales."""
        return gumbel_refits_moments(0.0, 1.0, max(len(self.coldest), 3), REFITS, SEED)

    def levels(self, years: tuple[int, ...]) -> tuple[Level, ...]:
        """Coldest nights of return periods with their intervals."""
        if self.fit is None:
            return ()
        place, scale = self.fit
        found = []
        for period in years:
            best = gumbel_quantile(place, scale, period)
            reduced = gumbel_quantile(0.0, 1.0, period)
            off = self.standard_refits[:, 0] + self.standard_refits[:, 1] * reduced - reduced
            shifts = self._error * np.random.default_rng(SEED).standard_normal(len(off))
            low, high = np.quantile(best - scale * off + shifts, [TENTH, MOST])
            found.append(Level(period, best, float(low), float(high)))
        return tuple(found)

    def margins(self, limits: Floats, lift: float) -> Floats:
        """How near each winter came to limits by day of the year, NaN where none holds [K]."""
        found = []
        for lows, doys in zip(self.lows, self._doys, strict=True):
            gaps = lows + lift - limits[doys]
            found.append(float(np.nanmin(gaps)) if np.isfinite(gaps).any() else np.nan)
        margins = np.array(found)
        return np.asarray(margins[np.isfinite(margins)])

    def nights(self, limits: Floats, lift: float) -> list[int]:
        """Nights of each winter at or below limits by day of the year."""
        return [
            int(np.nansum(lows + lift <= limits[doys]))
            for lows, doys in zip(self.lows, self._doys, strict=True)
        ]

    def chance(self, limits: Floats, lift: float, spread: float) -> Chance | None:
        """Yearly chance that a night falls to limits that are honest to ``spread`` [K]; None unrecorded.

        The range takes in the few winters of the record, the spread of the limits, and the error of made
        winters.
        """
        margins = self.margins(limits, lift)
        if not len(margins):
            return None
        counted = int(np.sum(margins <= 0))
        nights = float(np.mean(self.nights(limits, lift)))
        fit = self._fit(margins)
        if fit is None:
            low, high = _counted_range(counted, len(margins))
            return Chance(None, low, high, counted, len(margins), nights)
        spread = float(np.hypot(spread, self._error))
        shifts = spread * np.random.default_rng(SEED).standard_normal(REFITS)
        places = fit.location + fit.scale * (0.0 - self.standard_refits[:, 0])
        scales = fit.scale / np.maximum(self.standard_refits[:, 1], 0.2)
        best = float(_below(0.0, fit.location, fit.scale))
        low, high = np.quantile(_below(shifts, places, scales), [TENTH, MOST])
        return Chance(
            best, min(float(low), best), max(float(high), best), counted, len(margins), nights
        )

    def frost_dates(
        self, threshold: float, season: int
    ) -> tuple[FrostDate | None, FrostDate | None]:
        """First and last night at or below a threshold, as dates of a season [degC]."""
        firsts, lasts, without = [], [], 0
        for lows in self.lows:
            cold = np.flatnonzero(lows <= threshold)
            if cold.size:
                firsts.append(int(cold[0]))
                lasts.append(int(cold[-1]))
            else:
                without += 1
        if not firsts:
            return None, None
        begin = date(season, 1, 1) if self.site.southern else date(season - 1, 7, 1)

        def dated(offsets: list[int]) -> FrostDate:
            early, middle, late = (
                begin + timedelta(days=round(float(day)))
                for day in np.quantile(offsets, [TENTH, 0.5, MOST])
            )
            return FrostDate(middle, early, late, len(self.seasons), without)

        return dated(firsts), dated(lasts)


def _below(level: Floats | float, place: Floats | float, scale: Floats | float) -> Floats:
    """Gumbel probability of a minimum at or below a level, for arrays."""
    reduced = np.clip((np.asarray(level) - place) / scale, -700.0, 50.0)
    return np.asarray(-np.expm1(-np.exp(reduced)))


def _counted_range(counted: int, winters: int) -> tuple[float, float]:
    """Eight cases in ten of a share counted in a few winters: Wilson's interval."""
    z = 1.2816
    share = counted / winters
    middle = (share + z**2 / (2 * winters)) / (1 + z**2 / winters)
    reach = (
        z / (1 + z**2 / winters) * np.sqrt(share * (1 - share) / winters + z**2 / (4 * winters**2))
    )
    return max(float(middle - reach), 0.0), min(float(middle + reach), 1.0)


def every_day(limit: float) -> Floats:
    """The same limit on every day of the year."""
    return np.full(_YEAR, limit)


def on_days(limits: dict[date, float]) -> Floats:
    """Limits by date as limits by day of the year, NaN on other days; the tenderest of two counts."""
    found = np.full(_YEAR, np.nan)
    for day, limit in limits.items():
        place = day.timetuple().tm_yday - 1
        found[place] = np.fmax(found[place], limit)
    return found
