"""Station archives that write one reading a row: GHCN-Daily by year, by station, and .dly files.

Layouts after NOAA's readme of the Global Historical Climatology Network - Daily. TMAX, TMIN,
ADPT, PRCP and AWND are in tenths, TSUN in minutes, RHMN and RHMX in per cent. A reading with a
quality flag failed one of the archive's own checks and is dropped.
"""

from __future__ import annotations

import gzip
import re
import zlib
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import numpy as np

from bearwell.said import said
from bearwell.weather import units
from bearwell.weather.cells import days, numbers
from bearwell.weather.columns import Heading, headings
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.quality import Column
from bearwell.weather.report import Station
from bearwell.weather.rules import rule
from bearwell.weather.text import Findings

ELEMENTS = {
    "TMIN": "tmin",
    "TMAX": "tmax",
    "PRCP": "rain",
    "ADPT": "dew_point",
    "AWND": "wind",
    "RHMN": "rh_min",
    "RHMX": "rh_max",
    "TSUN": "sunshine",
}
UNIT = {"wind": "tenths", "dew_point": "tenths", "rh_min": "%", "rh_max": "%", "sunshine": "min"}
_DLY = re.compile(r"^[A-Z]{2}[A-Z0-9_-]{9}\d{6}[A-Z0-9]{4}[ -]")
# The ordinal of 1 January 1970, where numpy counts days from.
_UNIX = date(1970, 1, 1).toordinal()
_BARE = re.compile(r"^[A-Z]{2}[A-Z0-9_-]{9}$")


def is_dly(text: str) -> bool:
    """Whether the first line is of the fixed-width layout."""
    return bool(_DLY.match(text))


def is_bare_long(row: list[str]) -> bool:
    """Whether a row is one of station, YYYYMMDD, element, value, three flags and an hour."""
    return (
        6 <= len(row) <= 9
        and bool(_BARE.match(row[0].strip()))
        and bool(re.match(r"^\d{8}$", row[1].strip()))
        and bool(re.match(r"^[A-Z0-9]{4}$", row[2].strip()))
    )


FAILED = "failed a check of its archive, left out"
# What the archive's quality flags say, after NOAA's readme of GHCN-Daily.
_CHECKS = {
    "D": "a duplicate",
    "G": "a gap in the distribution",
    "I": "inconsistent with itself",
    "K": "a streak of one value",
    "L": "a total of several days",
    "M": "an extreme beyond belief",
    "N": "a false nought",
    "O": "an outlier of the climate",
    "R": "out of step with its neighbours in time",
    "S": "out of step with its neighbours in space",
    "T": "out of step with the days around",
    "W": "too warm for snow",
    "X": "out of bounds",
    "Z": "found bad by hand",
}


def failed(flag: str) -> str:
    """The reason for leaving out a reading with this quality flag."""
    check = _CHECKS.get(flag)
    if check is None:
        return said("marked by the archive: flag {flag}", flag=flag)
    return said("marked by the archive: flag {flag}, {check}", flag=flag, check=said(check))


def flags_note(dropped: Counter[str], line: int, findings: Findings) -> None:
    """Tell how many readings the archive itself had marked bad."""
    if dropped:
        kinds = ", ".join(f"{flag} {count}" for flag, count in sorted(dropped.items()))
        findings.note(
            said(
                "{count} readings that the archive marks as failed checks were dropped (flag {flags})",
                count=sum(dropped.values()),
                flags=kinds,
            ),
            line=line,
        )


def one_station(found: set[str], wanted: str | None, findings: Findings) -> str | None:
    """The station to read; raises BadFile when the file holds several and none was named."""
    if wanted is not None:
        if found and wanted not in found:
            findings.refuse(
                said("the file has no station {name}", name=wanted),
                said("it has {listed}", listed=_some(found)),
            )
        return wanted if found else None
    if len(found) > 1:
        findings.refuse(
            said(
                "the file holds {count} stations: {listed}", count=len(found), listed=_some(found)
            ),
            "name the one to read, or cut the file to it",
        )
    return next(iter(found), None)


def _some(names: set[str]) -> str:
    ordered = sorted(names)
    return ", ".join(ordered[:6]) + (" ..." if len(ordered) > 6 else "")


@dataclass(slots=True)
class _Pile:
    """Raw cells of one element."""

    dates: list[str] = field(default_factory=list)
    cells: list[str] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)


def stream_station(path: Path, station: str, findings: Findings) -> dict[str, Column] | None:
    """The columns of one station from a file of one reading a line, however large, line by line.

    Only that station's lines are held, so a year of all the world's stations can be read. None where
    the file is of another layout, or has no such line; whoever reads it whole then tells why.
    """
    wanted = f"{station},".encode()
    try:
        with path.open("rb") as plain:
            packed = plain.read(2) == b"\x1f\x8b"
        with gzip.open(path) if packed else path.open("rb") as file:
            first = file.readline(200)
            named = first.upper().startswith(b"ID,DATE,ELEMENT,")
            if not (named or is_bare_long(first.decode("latin-1").split(","))):
                return None
            kept = [(1, first)] if first.startswith(wanted) else []
            every = 1
            for every, line in enumerate(file, start=2):
                if line.startswith(wanted):
                    kept.append((every, line))
    except (OSError, EOFError, zlib.error):
        return None
    if not kept:
        return None
    rows = [line.decode("latin-1").rstrip("\r\n").split(",") for _, line in kept]
    header = headings(first.decode("latin-1").strip().split(",")) if named else None
    others = every - len(kept) - named
    if others:
        findings.note(said("{count} lines of other stations were passed over", count=others))
    return read_long(rows, [line for line, _ in kept], header, station, findings)


def read_long(
    rows: list[list[str]],
    lines: list[int],
    header: list[Heading] | None,
    station: str | None,
    findings: Findings,
) -> dict[str, Column]:
    """Columns from rows of one reading each, with or without a header."""
    place = _places(header, rows)
    id_at, date_at, element_at, value_at, flag_at = place
    hour_at = None if flag_at is None else flag_at + 2
    findings.layout = "GHCN-Daily, one reading a line"
    findings.day = ARCHIVE_DAY
    stations = {row[id_at].strip() for row in rows if id_at is not None and len(row) > id_at}
    chosen = one_station(stations, station, findings)
    findings.station = Station(chosen) if chosen else None
    piles: dict[str, _Pile] = {}
    dropped: Counter[str] = Counter()
    marked: list[str] = []
    hours: Counter[str] = Counter()
    first_dropped = 0
    width = max(date_at, element_at, value_at) + 1
    for row, line in zip(rows, lines, strict=True):
        if len(row) < width:
            if row:
                findings.warn(
                    said(
                        "{count} fields where at least {least} are expected; left out",
                        count=len(row),
                        least=width,
                    ),
                    line=line,
                    sort="lines with fields missing",
                )
            continue
        if chosen is not None and id_at is not None and row[id_at].strip() != chosen:
            continue
        name = ELEMENTS.get(row[element_at].strip().upper())
        if name is None:
            continue
        flag = row[flag_at].strip() if flag_at is not None and len(row) > flag_at else ""
        if flag:
            dropped[flag] += 1
            first_dropped = first_dropped or line
            findings.lose(failed(flag), [line])
            marked.append(row[date_at])
            continue
        if hour_at is not None and len(row) > hour_at and name in ("tmin", "tmax"):
            hours[row[hour_at].strip()] += 1
        pile = piles.setdefault(name, _Pile())
        pile.dates.append(row[date_at])
        pile.cells.append(row[value_at])
        pile.lines.append(line)
    flags_note(dropped, first_dropped, findings)
    if marked:
        at = days(marked, np.zeros(len(marked), dtype=np.int64), Findings(findings.where))
        findings.mark(FAILED, at[at > 0].tolist())
    morning_note(hours, findings)
    columns = {}
    for name, pile in piles.items():
        at = np.array(pile.lines, dtype=np.int64)
        ordinals = days(pile.dates, at, findings)
        values = numbers(pile.cells, at, name, findings, trace=name == "rain")
        good = ordinals > 0
        columns[name] = Column(ordinals[good], values[good], at[good])
    return in_tenths(columns, findings)


def _places(
    header: list[Heading] | None, rows: list[list[str]]
) -> tuple[int | None, int, int, int, int | None]:
    """Where station, date, element, value and quality flag stand."""
    if header is None:
        return 0, 1, 2, 3, 5
    at = {one.meaning: one.place for one in reversed(header) if one.meaning}
    quality = at.get("qflag")
    if quality is None and at["value"] + 2 < len(header):
        # The flags follow the value in the archive's order: measurement, quality, source, hour.
        place = at["value"] + 2
        marks = {row[place].strip() for row in rows if len(row) > place}
        quality = place if all(len(mark) <= 1 for mark in marks) else None
    return at.get("station"), at["date"], at["element"], at["value"], quality


def read_dly(text: str, station: str | None, findings: Findings) -> dict[str, Column]:
    """Columns from a fixed-width .dly file: one line a station, month and element, 31 days wide."""
    findings.layout = "GHCN-Daily, fixed width (.dly)"
    findings.day = ARCHIVE_DAY
    rows = text.splitlines()
    stations = {row[:11] for row in rows if _DLY.match(row)}
    chosen = one_station(stations, station, findings)
    findings.station = Station(chosen) if chosen else None
    piles: dict[str, tuple[list[int], list[float], list[int]]] = {}
    dropped: Counter[str] = Counter()
    first_dropped = 0
    for number, row in enumerate(rows, start=1):
        if not row.strip():
            continue
        if not _DLY.match(row):
            findings.warn(
                "the line is not of the fixed-width layout; left out",
                line=number,
                sort="lines of another layout",
            )
            continue
        name = ELEMENTS.get(row[17:21])
        if name is None or row[:11] != chosen:
            continue
        month_days, month_values, month_lines = piles.setdefault(name, ([], [], []))
        for day in range(1, 32):
            cell = row[13 + 8 * day : 18 + 8 * day]
            flag = row[19 + 8 * day : 20 + 8 * day].strip()
            if cell == "-9999" or not cell.strip():
                continue
            if flag:
                dropped[flag] += 1
                first_dropped = first_dropped or number
                findings.lose(failed(flag), [number])
                if (spot := _ordinal(row, day)) is not None:
                    findings.mark(FAILED, [spot])
                continue
            try:
                ordinal = date(int(row[11:15]), int(row[15:17]), day).toordinal()
                value = float(cell)
            except ValueError:
                findings.warn(
                    said(
                        "'{text}' on day {day} of {month} cannot be read",
                        text=cell.strip(),
                        day=day,
                        month=f"{row[11:15]}-{row[15:17]}",
                    ),
                    line=number,
                    sort="readings that cannot be read",
                )
                continue
            month_days.append(ordinal)
            month_values.append(value)
            month_lines.append(number)
    flags_note(dropped, first_dropped, findings)
    columns = {
        name: Column(
            np.array(ordinals, dtype=np.int64),
            np.array(values, dtype=np.float64),
            np.array(lines, dtype=np.int64),
        )
        for name, (ordinals, values, lines) in piles.items()
    }
    return in_tenths(columns, findings)


def _ordinal(row: str, day: int) -> int | None:
    try:
        return date(int(row[11:15]), int(row[15:17]), day).toordinal()
    except ValueError:
        return None


ARCHIVE_DAY = (
    "as the station keeps it; many volunteer stations read in the morning, so that a maximum, and"
    " often a minimum, belongs to the day before. Nothing is shifted"
)


def morning_note(hours: Counter[str], findings: Findings) -> None:
    """State at which hour the thermometers were read, where the file tells; nothing is shifted."""
    told = {hour: count for hour, count in hours.items() if hour.isdigit() and len(hour) <= 4}
    if not told:
        return
    every = sum(hours.values())
    early = sum(count for hour, count in told.items() if int(hour) <= int(rule("day.morning")))
    usual = max(told, key=lambda hour: told[hour])
    clock = f"{int(usual) // 100:02d}:{int(usual) % 100:02d}"
    findings.day = said(
        "read mostly at {clock} ({count} of {every} readings). Readings of a morning belong to the day that"
        " has just ended: the maximum is yesterday's, and the minimum may be. Nothing is shifted"
        if early
        else "read mostly at {clock} ({count} of {every} readings). Nothing is shifted",
        clock=clock,
        count=told[usual],
        every=every,
    )
    if early > every // 2:
        findings.note(
            said(
                "{early} of {every} temperatures were read in the morning, most at {clock}: a "
                "maximum then belongs to the day before; nothing was shifted",
                early=early,
                every=every,
                clock=clock,
            ),
            "for nights it matters little, as most minima fall just before the reading",
        )


def in_tenths(columns: dict[str, Column], findings: Findings) -> dict[str, Column]:
    """Turn an archive's columns into canonical units, after looking whether they are in tenths."""
    tmin, tmax, month = beside(columns)
    temperature = ""
    if np.isfinite(tmin).any() or np.isfinite(tmax).any():
        temperature = units.decide_temperature(tmin, tmax, month, findings, documented="tenths")
    made = {}
    for name, column in columns.items():
        if name in ("tmin", "tmax"):
            unit = temperature
        elif name == "rain":
            unit = units.decide_rain(column.values, temperature, findings, documented="tenths")
        else:
            unit = UNIT.get(name, "")
        findings.units[name] = units.spoken(name, unit, written=False, documented=unit)
        values = units.canonical(column.values, unit)
        made[name] = Column(column.days, values, column.lines)
    return made


def beside(columns: dict[str, Column]) -> tuple[FloatArray, FloatArray, IntArray]:
    """Tmin and tmax laid side by side on the days either has, with the month of each day."""
    pair = [columns.get("tmin"), columns.get("tmax")]
    every = np.unique(np.concatenate([np.zeros(0, np.int64), *(c.days for c in pair if c)]))
    laid = []
    for column in pair:
        values = np.full(len(every), np.nan)
        if column is not None:
            values[np.searchsorted(every, column.days)] = column.values
        laid.append(values)
    stamps = (every - _UNIX).astype("datetime64[D]")
    month = stamps.astype("datetime64[M]").astype(np.int64) % 12 + 1
    return laid[0], laid[1], month
