"""Hours into days: minimum, maximum and sums of each day from readings within it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np

from bearwell.said import said
from bearwell.weather import units
from bearwell.weather.cells import days, numbers
from bearwell.weather.columns import Heading
from bearwell.weather.curves import BoolArray, FloatArray, IntArray
from bearwell.weather.quality import Column, assemble
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

_DAY = 1440  # minutes
_UNIX = date(1970, 1, 1).toordinal()
_ISO = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?$")
_CLOCK = re.compile(r"^(\d{1,2}):(\d\d)(?::\d\d)?\s*([AaPp][Mm])?$")
_CLOCK_CHANGE = 2  # hours a day given twice that a change of clocks explains


@dataclass(slots=True, eq=False)
class Log:
    """Readings by the minute they were taken (from day 0 on), temperature and what came with it."""

    minutes: IntArray
    air: FloatArray
    lines: IntArray
    rain: FloatArray | None = None
    lows: dict[str, FloatArray] = field(default_factory=dict)


def fold(log: Log, findings: Findings, *, unit: str = "") -> dict[str, Column]:
    """Days of a log: lowest and highest reading, and the sum of rain.

    A day needs readings in ``day.hours`` different clock hours; others, and days on which the
    temperature never moves, are left out and told. An hour that clocks put back give twice counts
    twice, and one that clocks put forward leave out is not missed. ``unit`` is that of the
    temperatures, "" to tell it from the numbers.
    """
    order = np.argsort(log.minutes, kind="stable")
    minutes, air, lines = log.minutes[order], log.air[order].copy(), log.lines[order]
    air[_given_again(minutes, lines, findings)] = np.nan
    known = np.isfinite(air)
    if not known.any():
        findings.refuse("the log holds no temperature that can be used")
    day = minutes // _DAY
    which, first = np.unique(day[known], return_index=True)
    low = np.minimum.reduceat(air[known], first)
    high = np.maximum.reduceat(air[known], first)
    line = lines[known][first]
    hours = np.unique(minutes[known] // 60)
    held = np.bincount(np.searchsorted(which, hours // 24), minlength=which.size)
    enough = held >= rule("day.hours")
    _short(which, held, line, enough, findings)
    still = enough & (low == high)
    _flat(which, line, still, findings)
    _clocks(which, held, enough, findings)
    keep = enough & ~still
    if not keep.any():
        findings.refuse(
            said(
                "no day has readings in {hours:g} of its hours, so none has a minimum and a maximum to trust",
                hours=rule("day.hours"),
            ),
            "give a longer log, or one line a day with tmin and tmax",
        )
    stamps = (which[keep] - _UNIX).astype("datetime64[D]")
    month = stamps.astype("datetime64[M]").astype(np.int64) % 12 + 1
    if not unit:
        unit = units.decide_temperature(low[keep], high[keep], month, findings)
    findings.units["tmin"] = findings.units["tmax"] = said(
        "{unit}, of the readings", unit=said(units.SPOKEN[unit])
    )
    made = {
        "tmin": Column(which[keep], units.canonical(low[keep], unit), line[keep]),
        "tmax": Column(which[keep], units.canonical(high[keep], unit), line[keep]),
    }
    if log.rain is not None and np.isfinite(log.rain).any():
        rain = log.rain[order]
        total = np.zeros(which.size)
        at = np.searchsorted(which, day)
        inside = np.isin(day, which) & np.isfinite(rain)
        np.add.at(total, at[inside], rain[inside])
        made["rain"] = Column(which[keep], total[keep], line[keep])
    return made


def _given_again(minutes: IntArray, lines: IntArray, findings: Findings) -> BoolArray:
    """Readings of a minute already given, but for the few of a day on which clocks go back."""
    again: BoolArray = np.concatenate([[False], np.diff(minutes) == 0])
    if not again.any():
        return again
    hours = np.unique(minutes[again] // 60)
    day, count = np.unique(hours // 24, return_counts=True)
    back = np.isin(minutes // _DAY, day[count <= _CLOCK_CHANGE])
    if (again & back).any():
        findings.note(
            said(
                "an hour stands twice on {count} days, as when clocks are put back; both count",
                count=int((count <= _CLOCK_CHANGE).sum()),
            ),
            line=int(lines[again & back][0]),
        )
    twice = again & ~back
    if twice.any():
        findings.lose("hours given again", lines[twice].tolist())
        ordinals = np.unique(minutes[twice] // _DAY)
        findings.mark("hours given twice, the first kept", ordinals.tolist())
        findings.warn(
            said(
                "{count} readings of {days} days are given again; the first were kept",
                count=int(twice.sum()),
                days=ordinals.size,
            ),
            "remove the repeated lines",
            line=int(lines[twice][0]),
        )
    return twice


def _short(
    which: IntArray, held: IntArray, line: IntArray, enough: BoolArray, findings: Findings
) -> None:
    few = ~enough
    if few.any():
        reason = said("days with readings in fewer than {hours:g} hours", hours=rule("day.hours"))
        findings.lose(reason, line[few].tolist())
        findings.mark("too few hours, left out", which[few].tolist())
        spot = int(np.flatnonzero(few)[0])
        findings.warn(
            said(
                "{count} days with readings in fewer than {hours:g} hours were left out, the first {day} "
                "with {held}",
                count=int(few.sum()),
                hours=rule("day.hours"),
                day=date.fromordinal(int(which[spot])),
                held=int(held[spot]),
            ),
            "a minimum or maximum may be among the missing hours",
            line=int(line[spot]),
        )


def _flat(which: IntArray, line: IntArray, still: BoolArray, findings: Findings) -> None:
    if still.any():
        findings.lose("days on which the temperature never moves", line[still].tolist())
        findings.mark("one value all day, left out", which[still].tolist())
        findings.warn(
            said(
                "the temperature never moves on {count} days, the first {day}; they were left out",
                count=int(still.sum()),
                day=date.fromordinal(int(which[still][0])),
            ),
            "was the instrument stuck?",
            line=int(line[still][0]),
        )


def _clocks(which: IntArray, held: IntArray, enough: BoolArray, findings: Findings) -> None:
    """Note days one hour short: clocks put forward, or one lost reading."""
    short = enough & (held == 23)
    inner = short & (which > which.min()) & (which < which.max())
    if inner.any():
        findings.note(
            said(
                "{count} days lack one hour, the first {day}, as when clocks are put forward or a "
                "reading is lost; their minimum and maximum count",
                count=int(inner.sum()),
                day=date.fromordinal(int(which[inner][0])),
            )
        )


def read_log(
    named: Mapping[str, Heading],
    columns: Sequence[Sequence[str]],
    lines: IntArray,
    findings: Findings,
    place: tuple[float, float] | None,
) -> DailySeries:
    """A record from a log of a time and a temperature a line."""
    findings.layout = "a log of hours, folded into days"
    air = numbers(columns[named["air"].place], lines, "tmin", findings)
    unit = named["air"].unit or ""
    if named["air"].unknown_unit:
        findings.refuse(
            said(
                "'{unit}' in the heading of the temperature is no unit we read",
                unit=named["air"].unknown_unit,
            ),
            "write degC or degF",
            line=1,
        )
    minutes, shown = _minutes(named, columns, lines, findings, place)
    rain = (
        numbers(columns[named["rain"].place], lines, "rain", findings) if "rain" in named else None
    )
    good = minutes > 0
    if rain is not None:
        deep = named["rain"].unit
        if deep is None:
            findings.warn("the rain of the log has no unit; it was not read", line=1)
            rain = None
        else:
            rain = units.canonical(rain, deep)[good]
    findings.day = said("hours folded {span}", span=said(shown))
    log = Log(minutes[good], air[good], lines[good], rain)
    return assemble(fold(log, findings, unit=unit), None, findings)


def local_shift(place: tuple[float, float] | None) -> tuple[int, str]:
    """Minutes from universal time to the hour nearest to local solar time, and how that is said."""
    if place is None:
        return (
            0,
            "from midnight to midnight in universal time (UTC); no longitude was known to shift it",
        )
    hours = round(place[1] / 15.0)  # the sun crosses 15 degrees in an hour
    return (
        60 * hours,
        said(
            "from midnight to midnight in universal time moved by {hours:+d} h to the garden's",
            hours=hours,
        ),
    )


def _minutes(
    named: Mapping[str, Heading],
    columns: Sequence[Sequence[str]],
    lines: IntArray,
    findings: Findings,
    place: tuple[float, float] | None,
) -> tuple[IntArray, str]:
    """The minute of every line, 0 where it cannot be read, and what a day then is."""
    by_clock = "from midnight to midnight by the clock of the log"
    if "date" in named and not ({"year", "month", "day", "hour"} <= named.keys()):
        cells = [cell.strip() for cell in columns[named["date"].place]]
        zulu = sum(cell.endswith(("Z", "+00:00")) for cell in cells)
        if zulu > len(cells) // 2:
            cells = [cell.removesuffix("Z").removesuffix("+00:00") for cell in cells]
            shift, shown = local_shift(place)
            return _stamped(cells, lines, findings) + shift, shown
        if "hour" in named:
            cells = [
                f"{cell} {int(float(hour)):02d}:00" if hour.strip() else cell
                for cell, hour in zip(cells, columns[named["hour"].place], strict=True)
            ]
        return _stamped(cells, lines, findings), by_clock
    parts = [columns[named[name].place] for name in ("year", "month", "day", "hour")]
    made = np.zeros(len(lines), dtype=np.int64)
    for spot, words in enumerate(zip(*parts, strict=True)):
        try:
            year, month, day, hour = (int(float(word)) for word in words)
            made[spot] = date(year, month, day).toordinal() * _DAY + 60 * hour
        except ValueError:
            _no_time(" ".join(words), int(lines[spot]), findings)
    return made, by_clock


def _stamped(cells: list[str], lines: IntArray, findings: Findings) -> IntArray:
    """Minutes of a column of dates with times."""
    if all(_ISO.match(cell) for cell in cells):
        try:
            stamps = np.array(
                [cell[:16].replace(" ", "T") for cell in cells], dtype="datetime64[m]"
            )
            return stamps.astype(np.int64) + _UNIX * _DAY
        except ValueError:
            pass
    made = np.zeros(len(cells), dtype=np.int64)
    split = [cell.replace("T", " ", 1).split(" ", 1) for cell in cells]
    if sum(len(pair) == 2 for pair in split) < 0.5 * len(cells):
        findings.refuse(
            "the file has one temperature a line and no time of day: a mean is no minimum",
            "give the minimum and maximum of each day, or the time of each reading",
            line=int(lines[0]),
        )
    clock = [_of_clock(pair[1]) if len(pair) == 2 else None for pair in split]
    whole = days([pair[0] for pair in split], lines, findings)
    for spot, (day, time) in enumerate(zip(whole.tolist(), clock, strict=True)):
        if day and time is not None:
            made[spot] = day * _DAY + time
        elif day:
            _no_time(cells[spot], int(lines[spot]), findings)
    return made


def _of_clock(text: str) -> int | None:
    """Minutes after midnight of "14:05", "2:05 PM" or "14:05+01:00"."""
    if found := _CLOCK.match(text.strip()):
        hour, half = int(found[1]), (found[3] or "").lower()
        if half:
            hour = hour % 12 + (12 if half == "pm" else 0)
        return 60 * hour + int(found[2]) if hour < 24 and int(found[2]) < 60 else None
    try:
        stamp = datetime.fromisoformat(f"2000-01-01T{text.strip()}")
    except ValueError:
        return None
    return 60 * stamp.hour + stamp.minute


def _no_time(text: str, line: int, findings: Findings) -> None:
    findings.warn(
        said("'{text}' is not a time; the line was left out", text=text),
        "write times as 2026-01-31T14:00",
        line=line,
        sort="lines without a time that exists",
    )
