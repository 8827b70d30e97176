"""Columns of text into days and numbers, with every cell that cannot be read told by its line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

import numpy as np

from bearwell.said import said
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.text import Findings

_MISSING = frozenset(
    ("", "na", "nan", "n/a", "null", "none", "m", "-", "--", "---", "*", "?", "nd", "s/d", "///")
)
_TRACE = frozenset(("t", "ip", "tr", "trace", "<0.1", "<0,1"))
_COMMA = re.compile(r"^[+-]?\d*,\d+$")
_PARTS = re.compile(r"^(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})(?:[T ]+(.*))?$")
_MONTH = re.compile(r"^\d{4}[-/]?(0?[1-9]|1[0-2])$")
_PACKED = re.compile(r"^\d{8}$|^\d{7}$")


def days(cells: Sequence[str], lines: IntArray, findings: Findings) -> IntArray:
    """Ordinal days of a column of dates, 0 where one cannot be read.

    Reads YYYY-MM-DD, YYYYMMDD, YYYYDDD, and dates with slashes, points or dashes and the year first
    or last. Whether day or month comes first is taken from the whole column and noted. Raises
    BadFile for monthly or hourly stamps, two-digit years and dates that could be either.
    """
    try:
        return np.array([date.fromisoformat(cell).toordinal() for cell in cells], dtype=np.int64)
    except ValueError:
        pass
    clean = [cell.strip() for cell in cells]
    filled = [cell for cell in clean if cell]
    if filled and sum(1 for cell in filled if _MONTH.match(cell)) > 0.5 * len(filled):
        findings.refuse(
            said(
                "the values are monthly (dates such as {date}); daily ones are needed",
                date=filled[0],
            ),
            "download the daily summaries of the station, not its monthly summary",
            line=int(lines[0]),
        )
    parts = [_PARTS.match(cell) for cell in clean]
    order = _order(parts, lines, findings)
    _no_hours(parts, findings)
    ordinals = np.zeros(len(clean), dtype=np.int64)
    for place, (cell, part) in enumerate(zip(clean, parts, strict=True)):
        try:
            ordinals[place] = _ordinal(cell, part, order)
        except ValueError:
            findings.warn(
                said("'{text}' is not a date; the line was left out", text=cell)
                if cell
                else "there is no date; the line was left out",
                "write dates as YYYY-MM-DD",
                line=int(lines[place]),
                sort="lines without a date that exists",
            )
    bad = int((ordinals == 0).sum())
    if bad > 0.5 * len(clean):
        findings.refuse(
            said("{bad} of {count} lines have no date that can be read", bad=bad, count=len(clean)),
            "write dates as YYYY-MM-DD",
            line=int(lines[0]),
        )
    return ordinals


def _ordinal(cell: str, part: re.Match[str] | None, order: str) -> int:
    if part is None:
        if not _PACKED.match(cell):
            return date.fromisoformat(cell).toordinal()
        if len(cell) == 8:
            return date(int(cell[:4]), int(cell[4:6]), int(cell[6:])).toordinal()
        return day_of_year(int(cell[:4]), int(cell[4:]))
    first, second, third = int(part[1]), int(part[3]), int(part[4])
    if len(part[1]) == 4:
        return date(first, second, third).toordinal()
    month, day = (second, first) if order == "day" else (first, second)
    return date(third, month, day).toordinal()


def day_of_year(year: int, day: int) -> int:
    """Ordinal of the n-th day of a year; raises ValueError when the year has no such day."""
    first = date(year, 1, 1).toordinal()
    if not 1 <= day <= date(year, 12, 31).toordinal() - first + 1:
        raise ValueError(f"{year} has no day {day}")
    return first + day - 1


def _order(parts: list[re.Match[str] | None], lines: IntArray, findings: Findings) -> str:
    """Whether "day" or "month" comes first in dates that end in the year."""
    ending = [part for part in parts if part is not None and len(part[1]) < 4]
    if not ending:
        return "day"
    if any(len(part[4]) != 4 for part in ending):
        findings.refuse(
            said("'{text}' has a year of two digits", text=ending[0][0]),
            "write dates as YYYY-MM-DD",
        )
    firsts = np.array([int(part[1]) for part in ending])
    seconds = np.array([int(part[3]) for part in ending])
    years = np.array([int(part[4]) for part in ending])
    # Judge by many cells, so that one mistyped date does not decide.
    over_first, over_second = int((firsts > 12).sum()), int((seconds > 12).sum())
    if over_first != over_second and min(over_first, over_second) <= 0.02 * len(ending):
        order = "day" if over_first > over_second else "month"
        why = "as no other order gives real dates"
    else:
        steps = {
            "day": _even_steps(years, seconds, firsts),
            "month": _even_steps(years, firsts, seconds),
        }
        order = max(steps, key=lambda name: steps[name])
        other = "month" if order == "day" else "day"
        if over_first + over_second or steps[order] < 0.8 or steps[other] > 0.5:
            findings.refuse(
                said("'{text}' could be day/month or month/day", text=ending[0][0]),
                "write dates as YYYY-MM-DD",
                line=int(lines[0]),
            )
        why = "as only so the days follow each other"
    findings.note(
        said(
            "dates were read as day/month/year, {why}"
            if order == "day"
            else "dates were read as month/day/year, {why}",
            why=said(why),
        )
    )
    return order


def _even_steps(years: IntArray, months: IntArray, days_: IntArray) -> float:
    """Share of neighbouring dates that are one day apart."""
    ordinals = []
    for year, month, day in zip(years.tolist(), months.tolist(), days_.tolist(), strict=True):
        try:
            ordinals.append(date(year, month, day).toordinal())
        except ValueError:
            ordinals.append(-1)
    steps = np.abs(np.diff(np.array(ordinals)))
    return float((steps == 1).mean()) if len(steps) else 0.0


def _no_hours(parts: list[re.Match[str] | None], findings: Findings) -> None:
    times = {part[5] for part in parts if part is not None and part[5]}
    stamped = [part[0][: part.start(5)] for part in parts if part is not None and part[5]]
    if len(times) > 1 and len(set(stamped)) < 0.6 * len(stamped):
        findings.refuse(
            "the file has several readings a day; daily values are needed",
            "give the minimum and maximum of each day",
        )


def numbers(
    cells: Sequence[str], lines: IntArray, name: str, findings: Findings, *, trace: bool = False
) -> FloatArray:
    """Numbers of a column, NaN where missing. With ``trace`` a "T" or "Ip" counts as nothing.

    Decimal commas are read and noted; what is no number is told by its line and left out. Filler
    values of -999 and below, and temperatures of 999 and above, are missing.
    """
    try:
        values = np.array([float(cell) if cell else np.nan for cell in cells], dtype=np.float64)
    except ValueError:
        values = _careful(cells, lines, name, findings, trace=trace)
    values[~np.isfinite(values)] = np.nan
    with np.errstate(invalid="ignore"):
        filler = values <= -999
        if name in ("tmin", "tmax", "dew_point"):
            filler |= values >= 999
    if filler.any():
        first = int(np.flatnonzero(filler)[0])
        findings.note(
            said(
                "{count} cells of {name} hold a filler such as {filler} and count as missing",
                count=int(filler.sum()),
                name=name,
                filler=cells[first].strip(),
            ),
            line=int(lines[first]),
        )
        values[filler] = np.nan
    return values


def _careful(
    cells: Sequence[str], lines: IntArray, name: str, findings: Findings, *, trace: bool
) -> FloatArray:
    values = np.full(len(cells), np.nan)
    commas: list[int] = []
    traces: list[int] = []
    for place, raw in enumerate(cells):
        cell = raw.strip().replace("\u2212", "-")
        if cell.lower() in _MISSING:
            continue
        if trace and cell.lower() in _TRACE:
            values[place] = 0.0
            traces.append(place)
            continue
        if _COMMA.match(cell):
            commas.append(place)
            cell = cell.replace(",", ".")
        try:
            values[place] = float(cell)
        except ValueError:
            findings.warn(
                said(
                    "'{value}' is not a number for {name}; it counts as missing",
                    value=cell,
                    name=name,
                ),
                line=int(lines[place]),
                sort="cells that are no number",
            )
    if commas:
        findings.note(
            said(
                "{count} values of {name} have a decimal comma and were read so",
                count=len(commas),
                name=name,
            ),
            line=int(lines[commas[0]]),
        )
    if traces:
        findings.note(
            said("a trace of rain on {count} days counts as none", count=len(traces)),
            line=int(lines[traces[0]]),
        )
    return values
