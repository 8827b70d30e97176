"""A site's hours, worked out once and shared by every tree: temperature, chill and heat."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science.chill import chill_portion_gains_fishman, chilling_hours
from bearwell.science.heat import growing_degree_hours_anderson
from bearwell.science.hourly import hourly_temperature_linvill
from bearwell.weather.series import DailySeries, runs

Floats = NDArray[np.float64]
HOURS = 24


class Reckoned(NamedTuple):
    """Chill portions [CP], chilling hours [h] and growing degree hours [degC h] of a stretch of days."""

    portions: float
    chilling_hours: float
    heat: float


class SiteHours:
    """Hours of a daily record at a latitude. Sums over any stretch cost nothing once they are made."""

    def __init__(self, series: DailySeries, latitude: float) -> None:
        self.series = series
        self.latitude = latitude

    @cached_property
    def temperature(self) -> Floats:
        """Temperature at the hours of each day, shape (days, 24) [degC]; NaN where it cannot be made."""
        series = self.series
        return hourly_temperature_linvill(
            series.tmin, series.tmax, self.latitude, series.day_of_year()
        )

    @cached_property
    def _broken(self) -> Floats:
        """Days with an hour missing, counted up from the start, shape (days + 1,)."""
        lacking = ~np.isfinite(self.temperature).all(axis=1)
        return np.concatenate([[0.0], np.cumsum(lacking)])

    def _counted(self, hourly: Floats) -> Floats:
        """A sum by the end of each day, shape (days + 1,); missing hours add nothing."""
        daily = np.nan_to_num(hourly.reshape(-1, HOURS)).sum(axis=1)
        return np.concatenate([[0.0], np.cumsum(daily)])

    @cached_property
    def _portions(self) -> Floats:
        """Chill portions by the end of each day, each unbroken run from a fresh start."""
        hourly = self.temperature.ravel()
        gains = np.zeros(hourly.size)
        for first, stop in runs(np.isfinite(hourly)):
            gains[first:stop] = chill_portion_gains_fishman(hourly[first:stop])
        return self._counted(gains)

    @cached_property
    def _cold(self) -> Floats:
        return self._counted(chilling_hours(self.temperature))

    @cached_property
    def _warm(self) -> Floats:
        return self._counted(growing_degree_hours_anderson(self.temperature))

    def between(self, first: date, last: date) -> Reckoned | None:
        """Chill and heat from one day to another, both included; None where the record has a gap.

        Portions come from one run through the whole record, so that what is half made at the start
        counts: a fresh start on the first day gives up to one portion less or more. Raises BadInput
        when the days are in the wrong order.
        """
        if last < first:
            raise BadInput(said("{last} is before {first}", last=last, first=first))
        if first not in self.series or last not in self.series:
            return None
        begin, stop = self.series.index(first), self.series.index(last) + 1
        if self._broken[stop] > self._broken[begin]:
            return None
        sums = (self._portions, self._cold, self._warm)
        return Reckoned(*(float(sum_[stop] - sum_[begin]) for sum_ in sums))
