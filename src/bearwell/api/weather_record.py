"""The weather record of a garden as its page shows it: year by year, gaps, flags, sources and terms."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bearwell.api.gardens import LoadedGarden
from bearwell.api.weather import Learned
from bearwell.weather.report import Report
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries, runs

STATES = ("measured", "flagged", "filled", "forecast", "usual")
"""What a day stands on: the usual weather where nothing is known of it."""
FROM_FORECAST = "from a forecast, not measured"
_FIRST = 3  # days named of a flag


@dataclass(frozen=True)
class Stretch:
    """Days in a row that stand on the same, within one year."""

    state: str
    first: date
    last: date

    @property
    def days(self) -> int:
        """How many days."""
        return (self.last - self.first).days + 1


@dataclass(frozen=True)
class YearOfRecord:
    """One calendar year: its stretches in order, and its days by what they stand on."""

    year: int
    stretches: tuple[Stretch, ...]
    days: dict[str, int]


@dataclass(frozen=True)
class Gap:
    """Days without a measured minimum and maximum, and what the plan uses for them."""

    first: date
    last: date
    used: str

    @property
    def days(self) -> int:
        """How many days."""
        return (self.last - self.first).days + 1


@dataclass(frozen=True)
class Flagged:
    """Days flagged for one reason."""

    reason: str
    days: int
    first: tuple[date, ...]


@dataclass(frozen=True)
class Record:
    """The weather record. ``known`` counts the days on which each column was read."""

    start: date | None
    end: date | None
    years: tuple[YearOfRecord, ...]
    gaps: tuple[Gap, ...]
    flags: tuple[Flagged, ...]
    reports: tuple[Report, ...]
    known: dict[str, int]
    nights: Learned | None
    online: tuple[str, ...]

    @property
    def terms(self) -> tuple[str, ...]:
        """What the makers of the data ask to be said."""
        return tuple(dict.fromkeys(one.terms for one in self.reports if one.terms))

    @property
    def days(self) -> dict[str, int]:
        """Days of all years by what they stand on."""
        total: Counter[str] = Counter()
        for one in self.years:
            total.update(one.days)
        return {state: total[state] for state in STATES}


def weather_record(opened: LoadedGarden) -> Record:
    """The weather record of an opened garden."""
    series, online = opened.site.series, opened.garden.weather.online
    if series is None:
        return Record(None, None, (), (), (), (), {}, opened.nights, online)
    state = states(series, opened.today)
    known = {
        name: int(np.isfinite(getattr(series, name)).sum()) for name in ("tmin", "tmax", "rain")
    } | {name: int(np.isfinite(values).sum()) for name, values in series.extra.items()}
    for name in ("tmin", "tmax"):
        known[name] -= int((series.filled & np.isfinite(getattr(series, name))).sum())
    return Record(
        series.start,
        series.end,
        _years(series, state),
        _gaps(series),
        _flags(series),
        series.reports,
        known,
        opened.nights,
        online,
    )


def states(series: DailySeries, today: date) -> NDArray[np.int64]:
    """What each day stands on, as a place in :data:`STATES`."""
    here = np.isfinite(series.tmin) & np.isfinite(series.tmax)
    ahead = np.arange(len(series)) > (today - series.start).days
    told = series.flags.get(FROM_FORECAST, np.zeros(len(series), dtype=np.bool_))
    doubted = np.zeros(len(series), dtype=np.bool_)
    for reason, days in series.flags.items():
        if reason != FROM_FORECAST:
            doubted |= days
    made = np.full(len(series), STATES.index("usual"), dtype=np.int64)
    made[here] = STATES.index("measured")
    made[here & series.filled] = STATES.index("filled")
    made[here & (ahead | (told & ~series.filled))] = STATES.index("forecast")
    made[doubted & ~ahead] = STATES.index("flagged")
    return made


def _years(series: DailySeries, state: NDArray[np.int64]) -> tuple[YearOfRecord, ...]:
    found = []
    for year in series.years():
        first, last = date(year, 1, 1), date(year, 12, 31)
        begin, stop = max(first, series.start), min(last, series.end)
        part = state[series.index(begin) : series.index(stop) + 1]
        cuts = np.flatnonzero(np.diff(part)) + 1
        edges = [0, *cuts.tolist(), len(part)]
        stretches = [
            Stretch(STATES[int(part[a])], begin + timedelta(days=a), begin + timedelta(days=b - 1))
            for a, b in pairwise(edges)
        ]
        if begin > first:
            stretches.insert(0, Stretch("usual", first, begin - timedelta(days=1)))
        if stop < last:
            stretches.append(Stretch("usual", stop + timedelta(days=1), last))
        count: Counter[str] = Counter()
        for one in stretches:
            count[one.state] += one.days
        found.append(YearOfRecord(year, tuple(stretches), {name: count[name] for name in STATES}))
    return tuple(found)


def _gaps(series: DailySeries) -> tuple[Gap, ...]:
    """Stretches whose temperature was filled, or is not known at all."""
    gaps = []
    unknown = ~(np.isfinite(series.tmin) & np.isfinite(series.tmax))
    bridge = int(rule("gap.longest"))
    for first, stop in runs(series.filled & ~unknown):
        inner = first > 0 and stop < len(series) and stop - first <= bridge
        used = (
            "a straight line between its neighbours" if inner else "the usual of the time of year"
        )
        gaps.append(Gap(series.day(first), series.day(stop - 1), used))
    for first, stop in runs(unknown):
        used = "not known: the plan uses the usual weather"
        gaps.append(Gap(series.day(first), series.day(stop - 1), used))
    return tuple(sorted(gaps, key=lambda one: one.first))


def _flags(series: DailySeries) -> tuple[Flagged, ...]:
    return tuple(
        Flagged(
            reason,
            int(days.sum()),
            tuple(series.day(int(at)) for at in np.flatnonzero(days)[:_FIRST]),
        )
        for reason, days in sorted(series.flags.items(), key=lambda pair: -int(pair[1].sum()))
        if reason != FROM_FORECAST and days.any()
    )
