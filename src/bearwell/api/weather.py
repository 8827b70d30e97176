"""A garden's weather: every record gathered, set against the garden, and what its thermometer teaches."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bearwell.errors import BadFile, BadInput, BearwellError, Problem
from bearwell.garden import load_garden
from bearwell.garden.cold import Lowest
from bearwell.garden.file import GardenFile
from bearwell.garden.model import Garden
from bearwell.knowledge import Knowledge, knowledge
from bearwell.reasons import amount, computed, from_fact, recorded
from bearwell.said import listed, said
from bearwell.season.site import Colder
from bearwell.weather.joining import merge
from bearwell.weather.place import beside_garden, beside_normals
from bearwell.weather.readers import read_daily, read_daily_content
from bearwell.weather.series import DailySeries

if TYPE_CHECKING:
    from bearwell.store.keeping import Store
    from bearwell.weather.normals import Normals
    from bearwell.weather.online.fetch import Outcome
    from bearwell.weather.online.services import Asked
    from bearwell.weather.report import Left

HOW_TO_FETCH = "bearwell weather GARDEN.toml --fetch"


def gather(
    read: GardenFile, more: Sequence[Path], today: date, normals: Normals | None = None
) -> tuple[DailySeries | None, list[Problem]]:
    """Every record of a garden joined into one: its files, those named beside it, then kept answers.

    Nothing is asked of the network. A record is held against ``normals``, where they are given.
    Raises BadFile with what is wrong in any of the files.
    """
    place, wanted = read.garden.site, read.garden.weather
    parts, errors, told = [], [], []
    names: list[str | Path] = [*wanted.daily, *more]
    for name in names:
        try:
            one = _daily(read, name)
        except BadFile as error:
            errors += error.problems
        except BadInput as error:
            errors.append(Problem(str(read.folder / name), error.message, error.hint))
        else:
            parts.append(one)
            off = beside_normals(one, normals)
            errors += [problem for problem in off if problem.severity == "error"]
            told += off
    if errors:
        raise BadFile(errors)
    kept, problems = _kept(read, today)
    parts += kept
    told += problems
    settled = []
    # A height that was not given is not one at the sea.
    elevation = place.elevation if "elevation" in place.model_fields_set else None
    for one in parts:
        moved, problems = beside_garden(
            one, place.latitude, place.longitude, elevation,
            station_elevation=wanted.station_elevation if one not in kept else None,
            to_garden_height=wanted.to_garden_height,
        )  # fmt: skip
        settled.append(moved)
        told += problems
    if not settled:
        return None, told
    own = len(settled) - len(kept)
    series = merge(settled[:own]) if own else settled[0]
    for one in settled[max(own, 1) :]:
        series = _completed(series, one)
    return series, [*series.problems, *told]


def _daily(read: GardenFile, name: str | Path) -> DailySeries:
    """One file of daily weather: kept whole with the garden, beside its file, or named from elsewhere."""
    place = read.garden.site.latitude, read.garden.site.longitude
    station = read.garden.weather.station
    if isinstance(name, str) and name in read.kept:
        return read_daily_content(name, read.kept[name], station=station, place=place)
    return read_daily(read.folder / name, station=station, place=place)


def _completed(series: DailySeries, kept: DailySeries) -> DailySeries:
    """A record completed with fetched days. That a grid cell differs from a station is only a note."""
    joined = merge([series, kept])
    before = {*series.problems, *kept.problems}
    noted = tuple(
        one if one in before else replace(one, severity="note") for one in joined.problems
    )
    return replace(joined, problems=noted)


def how_read(series: DailySeries | None) -> list[Problem]:
    """A note for every file of a record: what it was taken for, what a day in it is, what was left out."""
    notes = []
    for one in series.reports if series is not None else ():
        left = listed((_left_out(part) for part in one.dropped), "{one}; {other}")
        sentence = "read as {layout}; a day is {day}"
        if left:
            sentence = "read as {layout}; a day is {day}; left out: {left}"
        read = said(sentence, layout=said(one.layout), day=said(one.day), left=left)
        notes.append(
            Problem(one.where, read, "all of it: bearwell weather GARDEN.toml", severity="note")
        )
    return notes


def _left_out(part: Left) -> str:
    reason = said(part.reason)
    if not part.lines:
        return said("{count} {reason}", count=part.count, reason=reason)
    sentence = "{count} {reason}, first in line {line}"
    return said(sentence, count=part.count, reason=reason, line=part.lines[0])


def _kept(read: GardenFile, today: date) -> tuple[list[DailySeries], list[Problem]]:
    """What services answered before, from disk; histories first, then forecasts."""
    names = read.garden.weather.online
    if not names:
        return [], []
    from bearwell.weather.online.kept import read_kept
    from bearwell.weather.online.services import SERVICES
    from bearwell.weather.rules import rule

    asked = _asked(read.garden)
    found: dict[str, list[DailySeries]] = {"history": [], "forecast": []}
    told: list[Problem] = []
    for name in names:
        for sort, sentence in (
            ("history", "no history of {service} is kept yet"),
            ("forecast", "no forecast of {service} is kept yet"),
        ):
            if sort == "forecast" and SERVICES[name].forecast is None:
                continue
            kept, problems = read_kept(read.folder, name, sort, asked)
            told += problems
            if kept is None:
                if not problems:
                    told.append(
                        Problem(
                            read.name, said(sentence, service=SERVICES[name].title),
                            said("fetch it: {command}", command=HOW_TO_FETCH),
                            read.line("weather", "online"), "warning",
                        )
                    )  # fmt: skip
                continue
            found[sort].append(kept.series)
            age = (today - kept.fetched.date()).days
            if sort == "forecast" and age >= rule("online.stale"):
                told.append(
                    Problem(
                        read.name,
                        said(
                            "the forecast of {service} is {age} days old",
                            service=SERVICES[name].title,
                            age=age,
                        ),
                        said("fetch it anew: {command}", command=HOW_TO_FETCH),
                        read.line("weather", "online"),
                        "warning",
                    )
                )
    return [*found["history"], *found["forecast"]], told


def _asked(garden: Garden) -> Asked:
    from bearwell.weather.online.services import Asked

    return Asked(garden.site.latitude, garden.site.longitude, garden.site.elevation)


@dataclass(frozen=True)
class Fetched:
    """How asking the services went."""

    outcomes: tuple[Outcome, ...]

    @property
    def failed(self) -> bool:
        """Whether no request brought anything."""
        return not any(one.came for one in self.outcomes)


def fetch_weather(
    garden: str | Path | Store,
    today: date,
    *,
    now: datetime,
    sleep: Callable[[float], None],
    addresses: Mapping[str, str] | None = None,
) -> Fetched:
    """Ask the services a garden names for its history and forecast, and keep the answers beside it.

    ``now`` and ``sleep`` are the clock's. Raises BadInput when the file names no service.
    """
    from bearwell.weather.online.fetch import fetch

    if isinstance(garden, str | Path):
        read = load_garden(Path(garden), knowledge(), today)
    else:
        read = garden.garden(knowledge(), today).read
    wanted = read.garden.weather
    if not wanted.online:
        raise BadInput(
            said("{where}: no service to fetch from is named", where=read.name),
            'write [weather] online = "open-meteo"',
        )
    done = fetch(
        read.folder, wanted.online, _asked(read.garden), today, now=now, sleep=sleep,
        since=wanted.since, addresses=addresses,
    )  # fmt: skip
    return Fetched(tuple(done))


# ---------------------------------------------------------------- the grower's own thermometer


@dataclass(frozen=True)
class Nights:
    """Nights of one sort on which garden and station were both read, and their difference [K]."""

    sort: str
    count: int
    value: float
    low: float
    high: float

    @property
    def way(self) -> str:
        """Whether the garden is colder or warmer on these nights."""
        return "warmer" if self.value < 0 else "colder"


@dataclass(frozen=True)
class Learned:
    """What the grower's thermometer teaches: the figure the plan uses, and every sort of nights."""

    colder: Colder
    sorts: tuple[Nights, ...]


def _own_nights(read: GardenFile, named: str | None, rows: Sequence[Lowest]) -> DailySeries:
    """The nights that were read in the garden: those of its file, and those written down one by one."""
    found = []
    if rows:
        lines = {one.date: f"{one.date},{one.tmin}\n" for one in rows}
        text = "date,tmin_c\n" + "".join(lines[day] for day in sorted(lines))
        place = read.garden.site.latitude, read.garden.site.longitude
        found.append(
            read_daily_content("[cold] lowest.csv", text.encode(), station=None, place=place)
        )
    if named is not None:
        found.append(_daily(read, named))
    return merge(found) if len(found) > 1 else found[0]


def learn(read: GardenFile, series: DailySeries | None) -> tuple[Learned | None, list[Problem]]:
    """How much colder the garden runs than its station, from the readings the garden file names.

    The figure is drawn from what the grower said (or from no difference, loosely) towards the readings
    by how many and how even they are. Clear nights of the cool half-year count where there are enough,
    else clear nights, else all.
    """
    named, rows = read.garden.weather.thermometer, read.garden.cold.lowest
    if named is None and not rows:
        return None, []
    file = read.folder / named if named else read.name
    line = read.line("weather", "thermometer") if named else read.line("cold", "lowest")
    try:
        own = _own_nights(read, named, rows)
    except BadFile:
        raise
    except BearwellError as error:
        raise BadFile([Problem(read.name, error.message, error.hint, line)]) from None
    if series is None:
        return None, [_no_nights(read, line, "there is no record of a station to set it against")]
    first, last = max(own.start, series.start), min(own.end, series.end)
    if first > last:
        return None, [_no_nights(read, line, "it shares no day with the record")]
    here, there = own.between(first, last), series.between(first, last)
    ahead = there.flags.get("from a forecast, not measured", np.zeros(len(there), dtype=np.bool_))
    apart = np.where(ahead, np.nan, there.measured("tmin") - here.measured("tmin"))
    if not np.isfinite(apart).any():
        return None, [_no_nights(read, line, "it shares no measured night with the record")]
    book, site = read.knowledge, read.garden.site
    limit = book.constant("offset beyond belief").number
    middle = float(np.nanmedian(apart))
    if abs(middle) > limit:
        return None, [
            Problem(
                str(file),
                said(
                    "the garden's nights differ from the record's by {middle:.1f} K in the middle: that "
                    "is no garden, so they were not used",
                    middle=middle,
                ),
                "does the thermometer hang in the sun, or is it in another unit?",
                severity="warning",
            )
        ]
    stated = "colder_than_station" in site.model_fields_set
    learned = _learned(
        book, apart, there, site.colder_than_station, stated=stated, southern=site.southern
    )
    # A file of nights has no highest temperatures, and that is no fault of it.
    told = [one for one in own.problems if "lack a minimum or maximum" not in one.message]
    return learned, told


def _no_nights(read: GardenFile, line: int | None, why: str) -> Problem:
    return Problem(
        read.name, said("nothing is learned from your thermometer: {why}", why=why),
        "its file needs nights (date,tmin_c) that the record holds too", line, "warning",
    )  # fmt: skip


def _learned(
    book: Knowledge,
    apart: NDArray[np.float64],
    there: DailySeries,
    prior: float,
    *,
    stated: bool,
    southern: bool,
) -> Learned:
    from bearwell.science.offset import difference_of_places

    spread = book.constant("offset spread said" if stated else "offset spread unsaid")
    alike, error = book.constant("offset nights alike"), book.constant("offset thermometer")
    varies, weighs = (
        book.constant("offset nights vary"),
        book.constant("offset nights it weighs").number,
    )
    enough = book.constant("offset nights of a sort").number
    sorts = []
    for sort, nights in sorts_of_nights(there, southern).items():
        taken = apart[nights & np.isfinite(apart)]
        if taken.size and (sort == "all nights" or taken.size >= enough):
            found = difference_of_places(
                taken, prior, spread.number, varies.number, weighs, alike.number, error.number
            )
            sorts.append(Nights(sort, int(taken.size), *found))
    used = next(
        one
        for name in ("clear nights of the cool half-year", "clear nights", "all nights")
        for one in sorts
        if one.sort == name
    )
    before = (
        recorded(
            "You said it runs {colder} warmer" if prior < 0 else "You said it runs {colder} colder",
            prior,
            "K",
            colder=amount(abs(prior), "K"),
        )
        if stated
        else computed("Before any reading no difference was supposed", 0.0, "K")
    )
    because = (
        before,
        from_fact("give or take {value}", spread),
        from_fact(
            "Nights in a row are alike by {value}, so {count} tell less than they seem",
            alike,
            count=used.count,
        ),
        from_fact("usually the difference varies by {value} from night to night", varies),
        from_fact("and a thermometer may be off by {value}", error),
        recorded(
            "Your thermometer on {count} {nights}: your spot runs {colder} warmer than the station"
            if used.way == "warmer"
            else "Your thermometer on {count} {nights}: your spot runs {colder} colder than the station",
            round(used.value, 2),
            "K",
            count=used.count,
            nights=said(used.sort),
            colder=amount(round(abs(used.value), 1), "K", *_span(used.value, used.low, used.high)),
        ),
    )
    colder = Colder(round(used.value, 2), round(used.low, 2), round(used.high, 2), because)
    return Learned(colder, tuple(sorts))


def _span(value: float, low: float, high: float) -> tuple[float, float]:
    """A range beside a difference told without its sign."""
    ends = (-high, -low) if value < 0 else (low, high)
    return round(ends[0], 1), round(ends[1], 1)


def sorts_of_nights(there: DailySeries, southern: bool) -> dict[str, NDArray[np.bool_]]:
    """Nights of a record by season and sky: a dry day of more than its month's usual swing is clear."""
    swing = there.tmax - there.tmin
    month = there.month()
    usual = np.full(len(there), np.nan)
    for one in np.unique(month):
        within = swing[month == one]
        if np.isfinite(within).any():
            usual[month == one] = np.nanmedian(within)
    with np.errstate(invalid="ignore"):
        dry = ~(there.rain > 0)
        clear, cloudy = (swing >= usual) & dry, (swing < usual) | (there.rain > 0)
    cool = np.isin(month, (4, 5, 6, 7, 8, 9)) if southern else np.isin(month, (10, 11, 12, 1, 2, 3))
    return {
        "all nights": np.ones(len(there), dtype=np.bool_),
        "clear nights": clear,
        "cloudy nights": cloudy,
        "clear nights of the cool half-year": clear & cool,
        "cloudy nights of the cool half-year": cloudy & cool,
        "nights of the cool half-year": cool,
        "nights of the warm half-year": ~cool,
    }
