"""One daily weather record: always continuous days, NaN where a reading is missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from bearwell.errors import BadInput, Problem
from bearwell.said import listed, said
from bearwell.weather.curves import BoolArray, FloatArray, IntArray, smooth_year
from bearwell.weather.report import Report
from bearwell.weather.rules import rule

if TYPE_CHECKING:
    from bearwell.weather.normals import Normals

EXTRAS: Mapping[str, str] = MappingProxyType(
    {
        "rh_min": "%",
        "rh_max": "%",
        "dew_point": "degC",
        "wind": "m s-1",
        "sunshine": "h",
        "solar": "MJ m-2 d-1",
    }
)
"""What a record may hold beside temperature and rain, with its unit."""


def unchanging(name: str) -> str:
    """The flag of days on which a stuck instrument is suspected of a minimum or maximum."""
    return said("{name} unchanging", name=name)


@dataclass(frozen=True, slots=True, eq=False)
class DailySeries:
    """Daily weather of one place: one value a day in every array, from ``start`` on, none left out.

    tmin, tmax [degC], rain [mm], ``extra`` by name in the units of :data:`EXTRAS`. ``filled`` marks
    days whose tmin or tmax was made by :func:`fill_gaps`. ``flags`` marks, by reason, days on which
    a reading was left out or doubted. ``sources`` names the files or services, ``reports`` tells how
    each was read, ``problems`` is everything found doubtful on the way. The arrays cannot be
    written to.
    """

    start: date
    tmin: FloatArray
    tmax: FloatArray
    rain: FloatArray
    extra: Mapping[str, FloatArray] = field(default_factory=dict)
    filled: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    sources: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    flags: Mapping[str, BoolArray] = field(default_factory=dict)
    reports: tuple[Report, ...] = ()

    def __post_init__(self) -> None:
        days = len(self.tmin)
        if days == 0:
            raise BadInput("a weather record needs at least one day")
        if self.filled.size == 0:
            object.__setattr__(self, "filled", np.zeros(days, dtype=np.bool_))
        for name in ("tmin", "tmax", "rain"):
            object.__setattr__(self, name, np.array(getattr(self, name), dtype=np.float64))
        object.__setattr__(self, "filled", np.array(self.filled, dtype=np.bool_))
        extra = {name: np.array(values, dtype=np.float64) for name, values in self.extra.items()}
        for name in extra:
            if name not in EXTRAS:
                raise BadInput(
                    said("'{name}' is not weather we keep", name=name),
                    said("known: {listed}", listed=", ".join(EXTRAS)),
                )
        object.__setattr__(self, "extra", MappingProxyType(extra))
        flags = {reason: np.array(days, dtype=np.bool_) for reason, days in self.flags.items()}
        object.__setattr__(self, "flags", MappingProxyType(flags))
        everything: list[NDArray[Any]] = [self.tmin, self.tmax, self.rain, self.filled]
        for array in (*everything, *extra.values(), *flags.values()):
            if array.shape != (days,):
                raise BadInput("the columns of a weather record must be of one length")
            array.setflags(write=False)

    def __len__(self) -> int:
        return len(self.tmin)

    @property
    def end(self) -> date:
        """The last day."""
        return self.start + timedelta(days=len(self) - 1)

    @property
    def days(self) -> int:
        """How many days the record spans."""
        return len(self)

    @property
    def tmean(self) -> FloatArray:
        """Half of minimum plus maximum, a day [degC]."""
        mean: FloatArray = 0.5 * (self.tmin + self.tmax)
        return mean

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.start <= day <= self.end

    def day(self, index: int) -> date:
        """The date of an index; a negative index counts from the end."""
        place = index + len(self) if index < 0 else index
        if not 0 <= place < len(self):
            raise IndexError(f"day {index} of a record of {len(self)} days")
        return self.start + timedelta(days=place)

    def index(self, day: date) -> int:
        """Where a date stands in the arrays; raises BadInput outside the record."""
        if day not in self:
            raise BadInput(
                said("{day} is outside the weather record", day=day),
                said("it runs from {first} to {last}", first=self.start, last=self.end),
            )
        return (day - self.start).days

    def dates(self) -> NDArray[np.datetime64]:
        """Every date as a numpy day stamp."""
        return np.datetime64(self.start, "D") + np.arange(len(self))

    def iter_dates(self) -> Iterator[date]:
        """Every date as a plain Python date."""
        first = self.start.toordinal()
        return map(date.fromordinal, range(first, first + len(self)))

    def day_of_year(self) -> IntArray:
        """Day of the year of each day, 1 to 366; 29 February is day 60."""
        dates = self.dates()
        first: IntArray = (dates - dates.astype("datetime64[Y]")).astype(np.int64)
        return first + 1

    def year(self) -> IntArray:
        """Calendar year of each day."""
        return self.dates().astype("datetime64[Y]").astype(np.int64) + 1970

    def month(self) -> IntArray:
        """Month of each day, 1 to 12."""
        return self.dates().astype("datetime64[M]").astype(np.int64) % 12 + 1

    def years(self) -> tuple[int, ...]:
        """Every calendar year the record touches, whole or not."""
        return tuple(range(self.start.year, self.end.year + 1))

    def between(self, first: date, last: date) -> DailySeries:
        """The part from ``first`` to ``last``, both included, cut to what there is.

        Raises BadInput when no day of the record lies between them.
        """
        begin, stop = max(first, self.start), min(last, self.end)
        if begin > stop:
            raise BadInput(
                said(
                    "the weather record has no day from {first} to {last}", first=first, last=last
                ),
                said("it runs from {first} to {last}", first=self.start, last=self.end),
            )
        part = slice(self.index(begin), self.index(stop) + 1)
        return replace(
            self,
            start=begin,
            tmin=self.tmin[part],
            tmax=self.tmax[part],
            rain=self.rain[part],
            extra={name: values[part] for name, values in self.extra.items()},
            filled=self.filled[part],
            flags={reason: days[part] for reason, days in self.flags.items()},
        )

    @property
    def flagged(self) -> BoolArray:
        """Days with a flag of any sort."""
        none = np.zeros(len(self), dtype=np.bool_)
        marked: BoolArray = np.logical_or.reduce([none, *self.flags.values()])
        return marked

    def measured(self, name: str) -> FloatArray:
        """Minima or maxima fit for odds and learning: NaN where filled or from a stuck instrument."""
        stuck = self.flags.get(unchanging(name), np.zeros(len(self), dtype=np.bool_))
        fit: FloatArray = np.where(self.filled | stuck, np.nan, getattr(self, name))
        return fit

    def with_problems(self, *problems: Problem) -> DailySeries:
        """The same record with more problems told."""
        return replace(self, problems=(*self.problems, *problems))


def runs(flags: BoolArray) -> list[tuple[int, int]]:
    """Stretches of True as (first, past the last) pairs."""
    padded = np.concatenate([[False], flags, [False]]).astype(np.int8)
    steps = np.diff(padded)
    starts, stops = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
    return [(int(a), int(b)) for a, b in zip(starts, stops, strict=True)]


def own_curve(series: DailySeries, values: FloatArray) -> FloatArray | None:
    """The record's smoothed day-of-year mean, or None when it is too short to have one.

    It is long enough when every month of the year has readings in ``gap.years`` different years.
    """
    known = np.isfinite(values) & ~series.filled
    pairs = np.unique(np.stack([series.month()[known], series.year()[known]]), axis=1)
    held = np.bincount(pairs[0], minlength=13)[1:]
    if int(held.min()) < rule("gap.years"):
        return None
    clean = np.where(known, values, np.nan)
    return smooth_year(series.day_of_year(), clean, int(rule("climate.harmonics")))


def fill_gaps(
    series: DailySeries, normals: Normals | None = None, longest: int | None = None
) -> DailySeries:
    """The record with its missing temperatures filled by the stated policy, every gap told.

    Gaps of up to ``longest`` days (``gap.longest``) between two known days: a straight line. Longer
    ones and those at either end: the record's own smoothed day-of-year mean when it has enough
    years, else the monthly normals, else they stay missing. Rain and ``extra`` are never filled;
    days of unknown rain are counted in one note. More than three short gaps are told together, and a
    record that lacks its minima or its maxima altogether is told as such, with what then rests on what.
    """
    bridge = int(rule("gap.longest")) if longest is None else longest
    where = listed(series.sources) or said("weather")
    told: Told = {}
    made: dict[str, FloatArray] = {}
    day_of_year = series.day_of_year()
    for name in ("tmin", "tmax"):
        values: FloatArray = np.array(getattr(series, name))
        curve, basis = _fallback(series, name, normals)
        for first, stop in runs(np.isnan(values)):
            inner = first > 0 and stop < len(values)
            if inner and stop - first <= bridge:
                ends = (values[first - 1], values[stop])
                values[first:stop] = np.linspace(*ends, stop - first + 2)[1:-1]
                how = _BRIDGED
            elif curve is not None:
                values[first:stop] = curve[day_of_year[first:stop] - 1]
                how = basis
            else:
                how = _LEFT
            told.setdefault((first, stop), {}).setdefault(how, []).append(name)
        made[name] = values
    tmin, tmax = made["tmin"], made["tmax"]
    new = (np.isnan(series.tmin) & np.isfinite(tmin)) | (np.isnan(series.tmax) & np.isfinite(tmax))
    crossed = new & (tmin > tmax)
    own_tmin = np.isfinite(series.tmin)
    tmax[crossed & own_tmin] = tmin[crossed & own_tmin]
    tmin[crossed & ~own_tmin] = tmax[crossed & ~own_tmin]
    problems = _gap_problems(series, where, told, normals is not None)
    unknown = int(np.isnan(series.rain).sum())
    if unknown:
        problems.append(
            Problem(
                where,
                said(
                    "rain is unknown on {count} of {days} days; it is never made up, and watering counts "
                    "these days as dry",
                    count=unknown,
                    days=len(series),
                ),
                "add a rain column or a nearby station's record",
                severity="note",
            )
        )
    return replace(
        series,
        tmin=tmin,
        tmax=tmax,
        filled=series.filled | new,
        problems=(*series.problems, *problems),
    )


def _fallback(
    series: DailySeries, name: str, normals: Normals | None
) -> tuple[FloatArray | None, str]:
    """The curve that fills long gaps of one column, and what is told of them."""
    own = own_curve(series, getattr(series, name))
    if own is not None:
        return own, "filled with the record's own mean for the time of year"
    if normals is not None:
        return normals.curve(name), "filled with the monthly normals"
    return None, ""


_BRIDGED = "filled by a straight line between its neighbours"
_LEFT = "left missing"
_DATES_TOLD = 3  # short gaps that are told each by itself; of more the first dates
Told = dict[tuple[int, int], dict[str, list[str]]]


def _gap_problems(series: DailySeries, where: str, told: Told, normals: bool) -> list[Problem]:
    """What became of every gap: a column that is lacking whole, the short ones in one line, the long ones."""
    whole = (0, len(series))
    problems = [
        _lacking(where, name, normals) for names in told.get(whole, {}).values() for name in names
    ]
    short = [(gap, ways[_BRIDGED]) for gap, ways in sorted(told.items()) if _BRIDGED in ways]
    if len(short) <= _DATES_TOLD:
        problems += [_gap_problem(series, where, gap, names, _BRIDGED) for gap, names in short]
    else:
        days = sum(stop - first for (first, stop), _ in short)
        dates = ", ".join(str(series.day(first)) for (first, _), _ in short[:_DATES_TOLD])
        lacking = (name for name in ("tmin", "tmax") if any(name in n for _, n in short))
        problems.append(
            Problem(
                where,
                said(
                    "{names} missing on {days} days in {count} short gaps, the first {dates}: each {how}",
                    names=listed(lacking, "{one} or {other}"),
                    days=days,
                    count=len(short),
                    dates=dates,
                    how=said(_BRIDGED),
                ),
                severity="warning",
            )
        )
    problems += [
        _gap_problem(series, where, gap, names, how)
        for gap, ways in sorted(told.items())
        for how, names in ways.items()
        if gap != whole and how != _BRIDGED
    ]
    return problems


def _lacking(where: str, name: str, normals: bool) -> Problem:
    """A record without any minimum or any maximum, and what stands in for it."""
    rests = said("the monthly normals" if normals else "the calendar of the tables")
    return Problem(
        where,
        said(
            "the record lacks a daily maximum, so dates and chill rest on {rests}; its minima still serve "
            "frost"
            if name == "tmax"
            else "the record lacks a daily minimum, so dates and chill rest on {rests}, and nothing is known "
            "of frost in its years",
            rests=rests,
        ),
        said(
            "add a {name} column or a second record of a nearby station"
            if normals
            else "add a {name} column or a second record of a nearby station, or give monthly normals",
            name=name,
        ),
        severity="warning",
    )


def _gap_problem(
    series: DailySeries, where: str, gap: tuple[int, int], names: list[str], how: str
) -> Problem:
    first, last = series.day(gap[0]), series.day(gap[1] - 1)
    count = gap[1] - gap[0]
    hint = "give monthly normals, or a second record of a nearby station" if how == _LEFT else ""
    return Problem(
        where,
        said(
            "{names} missing on {first}: {how}"
            if count == 1
            else "{names} missing from {first} to {last} ({count} days): {how}",
            names=listed(names, "{one} and {other}"),
            first=first,
            last=last,
            count=count,
            how=said(how),
        ),
        hint,
        severity="warning",
    )
