"""Layouts that are no plain table of days: hourly reports, five-minute lines, blocks, typical years."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable

import numpy as np

from bearwell.errors import BadFile
from bearwell.said import said
from bearwell.weather import units
from bearwell.weather.answers import by_name, record, zone_day
from bearwell.weather.cells import days, numbers
from bearwell.weather.columns import headings
from bearwell.weather.curves import FloatArray
from bearwell.weather.folding import Log, _stamped, fold
from bearwell.weather.layouts import number
from bearwell.weather.quality import Column, assemble
from bearwell.weather.report import OPEN_METEO_TERMS, Station
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

Place = tuple[float, float] | None
Reader = Callable[[str, Findings, Place], DailySeries]

_FIVE_MINUTES = re.compile(r"^\d{5}\s+\d{8}\s+\d{4}\s+\d{8}\s+\d{4}\s")


def typical_year(text: str, findings: Findings, place: Place) -> DailySeries:  # noqa: ARG001
    """Refuse an EPW file with the reason: its months come from different years."""
    findings.refuse(
        "this is an EPW file, a typical year pieced together for building design: its months come from"
        " different years, its cold nights are typical ones and its rain is often left out; it is no"
        " record",
        "bring the station's daily record; monthly means may be typed under [weather.normals]",
        line=1,
    )


def climatology(text: str, findings: Findings, place: Place) -> DailySeries:  # noqa: ARG001
    """Refuse POWER's table of monthly means with the reason."""
    findings.refuse(
        "this is POWER's climatology, means of twelve months over many years: it has no days",
        "ask for the daily values of the point; monthly means may be typed under [weather.normals]",
        line=1,
    )


# ---------------------------------------------------------------- NOAA's local climatological data

_Whole = dict[str, list[tuple[str, str, int]]]


def hourly_reports(text: str, findings: Findings, place: Place) -> DailySeries:  # noqa: ARG001
    """NOAA's local climatological data: hourly reports folded, its own daily summaries first."""
    rows = csv.reader(io.StringIO(text, newline=""))
    header = [cell.strip() for cell in next(rows)]
    at = {name: spot for spot, name in reversed(list(enumerate(header)))}
    findings.layout = "NOAA local climatological data, hourly reports"
    findings.day = "from midnight to midnight in local standard time, folded from the reports"
    stamps: list[str] = []
    air: list[str] = []
    lines: list[int] = []
    whole: _Whole = {name: [] for name in ("tmin", "tmax", "rain")}
    summary = {
        "tmin": at.get("DailyMinimumDryBulbTemperature"),
        "tmax": at.get("DailyMaximumDryBulbTemperature"),
        "rain": at.get("DailyPrecipitation"),
    }
    letters = False
    for row in rows:
        line = rows.line_num
        if len(row) < len(header):
            if any(row):
                findings.lose("lines that do not fit the heading", [line])
            continue
        letters = letters or row[at["STATION"]].strip()[:1].isalpha()
        stamp = row[at["DATE"]].strip()
        if row[at["REPORT_TYPE"]].strip().startswith("SOD"):
            for name, spot in summary.items():
                if spot is not None and row[spot].strip():
                    whole[name].append((stamp[:10], row[spot], line))
            continue
        value = row[at["HourlyDryBulbTemperature"]].strip()
        if not value or value == "*":
            continue
        if value.endswith("s"):
            findings.lose("marked suspect by the archive", [line])
            continue
        if stamps and stamp == stamps[-1]:
            continue  # one reading reported in two codes
        stamps.append(stamp)
        air.append(value)
        lines.append(line)
    degrees, deep = ("degC", "mm") if letters else ("degF", "in")
    daily = _summaries(whole, findings)
    if not stamps and not daily:
        findings.refuse("the reports hold no temperature")
    columns: dict[str, Column] = {}
    if stamps:
        where = np.array(lines, dtype=np.int64)
        log = Log(_stamped(stamps, where, findings), numbers(air, where, "tmin", findings), where)
        try:
            columns = fold(log, findings, unit=degrees)
        except BadFile:
            if not daily:
                raise
    written = {"tmin": degrees, "tmax": degrees, "rain": deep}
    for name, column in daily.items():
        columns[name] = _ahead(column, columns.get(name), written[name])
    findings.units |= {
        name: said(
            "{unit}, as version 2 of the archive writes"
            if letters
            else "{unit}, as version 1 of the archive writes",
            unit=unit,
        )
        for name, unit in written.items()
        if name in columns
    }
    return assemble(columns, None, findings)


def _summaries(whole: _Whole, findings: Findings) -> dict[str, Column]:
    made = {}
    for name, rows in whole.items():
        if rows:
            dates, cells, lines = zip(*rows, strict=True)
            at = np.array(lines, dtype=np.int64)
            plain = [cell.strip().removesuffix("s") for cell in cells]
            values = numbers(plain, at, name, findings, trace=name == "rain")
            made[name] = Column(days(dates, at, findings), values, at)
    return made


def _ahead(first: Column, then: Column | None, unit: str) -> Column:
    """The summary's readings in canonical units, with folded days where it has none."""
    values = units.canonical(first.values, unit)
    if then is None:
        return Column(first.days, values, first.lines)
    rest = ~np.isin(then.days, first.days[np.isfinite(values)])
    return Column(
        np.concatenate([first.days, then.days[rest]]),
        np.concatenate([values, then.values[rest]]),
        np.concatenate([first.lines, then.lines[rest]]),
    )


# ---------------------------------------------------------------- the climate reference network

_FIELDS = 23
_HALF_STEP = 5  # minutes: a line is stamped at the end of its five


def five_minutes(text: str, findings: Findings, place: Place) -> DailySeries:  # noqa: ARG001
    """Five-minute lines of the US Climate Reference Network, folded into days of local standard time."""
    findings.layout = "US Climate Reference Network, five-minute lines folded into days"
    findings.day = "from midnight to midnight in local standard time"
    stamps: list[str] = []
    air: list[str] = []
    rain: list[str] = []
    lines: list[int] = []
    for line, row in enumerate(text.splitlines(), start=1):
        cells = row.split()
        if not cells:
            continue
        if len(cells) != _FIELDS or not _FIVE_MINUTES.match(row):
            findings.warn(
                said(
                    "{count} fields where a five-minute line has {wanted}; the line was left out",
                    count=len(cells),
                    wanted=_FIELDS,
                ),
                "only the subhourly files of this network are read, and its daily ones not yet",
                line=line,
                sort="lines of another layout",
            )
            continue
        if not stamps:
            findings.station = Station(
                said("station {number}", number=cells[0]), number(cells[7]), number(cells[6]), None
            )
        stamps.append(
            f"{cells[3][:4]}-{cells[3][4:6]}-{cells[3][6:]}T{cells[4][:2]}:{cells[4][2:]}"
        )
        air.append(cells[8])
        rain.append(cells[9])
        lines.append(line)
    if not stamps:
        findings.refuse("no line has the fields of a five-minute line", line=1)
    at = np.array(lines, dtype=np.int64)
    fallen = numbers(rain, at, "rain", findings)
    log = Log(
        _stamped(stamps, at, findings) - _HALF_STEP, numbers(air, at, "tmin", findings), at, fallen
    )
    columns = fold(log, findings, unit="degC")
    findings.units["rain"] = "mm, as the archive documents"
    return assemble(columns, None, findings)


# ---------------------------------------------------------------- Open-Meteo's blocks


def blocks(text: str, findings: Findings, place: Place) -> DailySeries:  # noqa: ARG001
    """Open-Meteo's CSV: a block about the place, then hours, days or both, with empty lines between."""
    findings.layout, findings.terms = "Open-Meteo, CSV", OPEN_METEO_TERMS
    rows = list(csv.reader(io.StringIO(text, newline="")))
    parts: list[tuple[int, list[list[str]]]] = []
    for line, row in enumerate(rows, start=1):
        if not any(cell.strip() for cell in row):
            parts.append((line + 1, []))
        else:
            if not parts:
                parts.append((line, []))
            parts[-1][1].append(row)
    about = dict(zip(parts[0][1][0], parts[0][1][1], strict=False)) if len(parts[0][1]) > 1 else {}
    if len(parts[0][1]) > 2:
        findings.refuse(
            said("the file holds {count} places", count=len(parts[0][1]) - 1),
            "download one place",
            line=2,
        )
    findings.station = Station(
        "a grid cell",
        *(number(about.get(name, "")) for name in ("latitude", "longitude", "elevation")),
    )
    findings.day = zone_day(about.get("timezone", ""), about.get("utc_offset_seconds", ""))
    tables = [(line, block) for line, block in parts[1:] if len(block) > 1]
    daily = [one for one in tables if "T" not in one[1][1][0]]
    chosen = daily or tables
    if not chosen:
        findings.refuse("the file is cut off: there are no values below its place")
    line, block = chosen[0]
    header = headings(block[0])
    body = [row for row in block[1:] if len(row) == len(header)]
    kept = [spot for spot, row in enumerate(block[1:]) if len(row) == len(header)]
    for spot, row in enumerate(block[1:]):
        if len(row) != len(header):
            findings.warn(
                said(
                    "{count} fields where the heading has {wanted}; the line was left out",
                    count=len(row),
                    wanted=len(header),
                ),
                "is the download cut off?",
                line=line + 1 + spot,
                sort="lines that do not fit the heading",
            )
    if not body:
        findings.refuse("the file is cut off: there are no values below its heading", line=line)
    at = np.array([line + 1 + spot for spot in kept], dtype=np.int64)
    columns = [list(cells) for cells in zip(*body, strict=True)]
    named = by_name(header, findings)
    if "date" not in named:
        findings.refuse("there is no column of times", line=line)
    stamps = [cell.strip() for cell in columns[named["date"].place]]

    def values(name: str) -> FloatArray:
        kind = "tmin" if name == "air" else name
        return numbers(columns[named[name].place], at, kind, findings)

    return record(named, stamps, values, at, findings, hourly=not daily)


def _five(start: str) -> bool:
    return bool(_FIVE_MINUTES.match(start))


def _reports(start: str) -> bool:
    head = start.partition("\n")[0]
    return "REPORT_TYPE" in head and "HourlyDryBulbTemperature" in head


def _epw(start: str) -> bool:
    return start.startswith("LOCATION,") and "DESIGN CONDITIONS" in start[:4096]


def _means(start: str) -> bool:
    return start.startswith("-BEGIN HEADER-") and "PARAMETER,JAN," in start[:65536]


def _blocks(start: str) -> bool:
    head = start.partition("\n")[0]
    return "utc_offset_seconds" in head and "latitude" in head


LAYOUTS: tuple[tuple[Callable[[str], bool], Reader], ...] = (
    (_epw, typical_year),
    (_means, climatology),
    (_reports, hourly_reports),
    (_five, five_minutes),
    (_blocks, blocks),
)
"""How each special layout is known from the beginning of its text, and what reads it."""
