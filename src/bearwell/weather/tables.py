"""Reading a table of days, whatever its headings, separators and units."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from datetime import date
from typing import NoReturn

import numpy as np

from bearwell.said import listed, said
from bearwell.science.evapotranspiration import wind_speed_2m_fao56
from bearwell.weather import archive, layouts, units
from bearwell.weather.cells import day_of_year, days, numbers
from bearwell.weather.columns import (
    TEMPERATURES,
    UNITS,
    WEATHER,
    Heading,
    heading,
    headings,
    is_header,
)
from bearwell.weather.curves import BoolArray, FloatArray, IntArray
from bearwell.weather.quality import Column, assemble
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

Place = tuple[float, float] | None
"""Latitude and longitude of the garden, where they are known."""

_SEARCHED = 60
_SAID = frozenset(units.SPOKEN)
_TEN_METRES = re.compile(r"_?10 ?m(_|\b)", re.IGNORECASE)
_EXPLAINED = re.compile(r"^(\w+)\s{2,}.*\(([^()]+)\)\s*$")


def read_table(text: str, station: str | None, findings: Findings, place: Place) -> DailySeries:
    """A record from a text of lines: one day, one reading or one hour a line."""
    rows, lines = split(text, findings)
    top = _header_at(rows)
    if top is None:
        first = next(row for row in rows if any(cell.strip() for cell in row))
        if archive.is_bare_long(first):
            return assemble(archive.read_long(rows, lines, None, station, findings), None, findings)
        hourly = _hourly(rows, lines, findings, place)
        if hourly is not None:
            return hourly
        _refuse_headless(rows, findings)
    header = _with_preamble_units(headings(rows[top]), rows[:top])
    body, at = rows[top + 1 :], lines[top + 1 :]
    meanings = {one.meaning for one in header}
    if {"element", "value", "date"} <= meanings:
        return assemble(archive.read_long(body, at, header, station, findings), None, findings)
    documented = layouts.recognise(rows[: top + 2], top, findings)
    return _wide(header, body, at, station, documented, findings)


def split(text: str, findings: Findings) -> tuple[list[list[str]], list[int]]:
    """Every row with the line it ends on, split at the separator the first lines agree on."""
    sample = [line for line in text.splitlines()[:_SEARCHED] if line.strip()]
    counts = {mark: _evenness(sample, mark) for mark in ";\t,"}
    mark = max(counts, key=lambda one: counts[one])
    if not counts[mark]:
        findings.refuse(
            "the lines are not separated by commas, semicolons or tabs",
            "save the table as CSV with a heading such as date,tmin_c,tmax_c,rain_mm",
            line=1,
        )
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, skipinitialspace=True)
    rows, lines = [], []
    try:
        for row in reader:
            rows.append(row)
            lines.append(reader.line_num)
    except csv.Error as problem:
        findings.refuse(
            said("the table cannot be read: {reason}", reason=problem), line=reader.line_num
        )
    return rows, lines


def _evenness(sample: list[str], mark: str) -> int:
    """How many separators most lines of a sample share; 0 when they do not agree on any."""
    counts = Counter(
        len(row) - 1 for row in csv.reader(sample, delimiter=mark, skipinitialspace=True)
    )
    best = max(counts, key=lambda count: (counts[count] * (count > 0), count))
    return best * counts[best]


def _header_at(rows: list[list[str]]) -> int | None:
    return next(
        (place for place, row in enumerate(rows[:_SEARCHED]) if is_header(headings(row))), None
    )


def _with_preamble_units(header: list[Heading], above: list[list[str]]) -> list[Heading]:
    """Headings with the units that lines above explain, such as "T2M_MAX  Maximum of ... (C)"."""
    explained = {}
    for row in above:
        if match := _EXPLAINED.match(",".join(row)):
            explained[match[1]] = match[2]
    return [
        heading(one.place, f"{one.text} ({explained[one.text.strip()]})")
        if one.meaning in UNITS and one.unit is None and one.text.strip() in explained
        else one
        for one in header
    ]


def _hourly(
    rows: list[list[str]], lines: list[int], findings: Findings, place: Place
) -> DailySeries | None:
    """A log with a time and a temperature on each line, folded into days; None when it is none."""
    for top, row in enumerate(rows[:_SEARCHED]):
        header = headings(row)
        named = {one.meaning: one for one in reversed(header) if one.meaning}
        dated = "date" in named or {"year", "month", "day", "hour"} <= named.keys()
        if dated and "air" in named:
            from bearwell.weather import folding

            body, at = _even(header, rows[top + 1 :], lines[top + 1 :], findings)
            columns = [list(cells) for cells in zip(*body, strict=True)]
            return folding.read_log(named, columns, np.array(at, np.int64), findings, place)
    return None


def _refuse_headless(rows: list[list[str]], findings: Findings) -> NoReturn:
    named = [headings(row) for row in rows[:_SEARCHED]]
    dated = next(
        (row for row in named if any(one.meaning in ("date", "year") for one in row)), None
    )
    if dated is not None:
        if any(one.meaning == "hour" for one in dated):
            findings.refuse(
                "this is an hourly table without a column of temperature",
                "name it, such as temperature_c",
                line=1,
            )
        seen = ", ".join(one.text.strip() for one in dated[:8])
        findings.refuse(
            said(
                "no column of minimum or maximum temperature or rain was found among: {listed}",
                listed=seen,
            ),
            "name the columns, such as date,tmin_c,tmax_c,rain_mm",
            line=1,
        )
    findings.refuse(
        "there is no heading that names the columns",
        "put one above the values, such as date,tmin_c,tmax_c,rain_mm",
        line=1,
    )


def _wide(
    header: list[Heading],
    rows: list[list[str]],
    lines: list[int],
    station: str | None,
    documented: str,
    findings: Findings,
) -> DailySeries:
    """A table with one day a line; ``documented`` is the unit its archive writes temperatures in."""
    rows, lines = _even(header, rows, lines, findings)
    place: dict[str, Heading] = {}
    for one in header:
        if one.meaning in place and one.meaning in WEATHER:
            findings.note(
                said(
                    "'{text}' was not read, as '{other}' already gives {meaning}",
                    text=one.text.strip(),
                    other=place[one.meaning].text.strip(),
                    meaning=one.meaning,
                )
            )
        if one.meaning:
            place.setdefault(one.meaning, one)
    if "station" in place:
        spot = place["station"].place
        chosen = archive.one_station({row[spot].strip() for row in rows}, station, findings)
        if station is not None and chosen is not None:
            keep = [index for index, row in enumerate(rows) if row[spot].strip() == chosen]
            rows, lines = [rows[index] for index in keep], [lines[index] for index in keep]
    cells = list(zip(*rows, strict=True))
    at = np.array(lines, dtype=np.int64)
    ordinals = _ordinals(place, cells, at, findings)
    good = ordinals > 0
    raw: dict[str, Column] = {}
    for name in WEATHER:
        if name in place:
            spot = place[name].place
            values = numbers(cells[spot], at, name, findings, trace=name == "rain")
            raw[name] = Column(ordinals[good], values[good], at[good])
    documented = _drop_flagged(header, cells, raw, good, at, findings) or documented
    layouts.weigh(place, cells, raw, ordinals, findings)
    columns = canonical(place, raw, documented, findings)
    filled = None
    if "filled" in place:
        marks = numbers(cells[place["filled"].place], at, "filled", findings)
        filled = Column(ordinals[good], marks[good], at[good])
    return assemble(columns, filled, findings)


def _even(
    header: list[Heading], rows: list[list[str]], lines: list[int], findings: Findings
) -> tuple[list[list[str]], list[int]]:
    """Rows as wide as the heading; empty ones dropped, uneven ones told and left out."""
    width = len(header)
    kept, at, uneven = [], [], 0
    longer = 0
    for row, line in zip(rows, lines, strict=True):
        if len(row) == width:
            kept.append(row)
            at.append(line)
        elif len(row) > width and not any(cell.strip() for cell in row[width:]):
            kept.append(row[:width])
            at.append(line)
        elif any(cell.strip() for cell in row):
            uneven += 1
            longer += len(row) > width
            findings.warn(
                said(
                    "{count} fields where the heading has {wanted}; the line was left out",
                    count=len(row),
                    wanted=width,
                ),
                line=line,
                sort="lines that do not fit the heading",
            )
    if uneven > len(kept):
        hint = (
            "decimal commas need semicolons between the columns"
            if longer > 0.5 * uneven
            else "check the heading and the separators"
        )
        findings.refuse(
            said("{count} lines do not fit the heading", count=uneven), hint, line=lines[0]
        )
    if not kept:
        findings.refuse("there is a heading but no values below it")
    return kept, at


def _ordinals(
    place: dict[str, Heading],
    cells: list[tuple[str, ...]],
    lines: IntArray,
    findings: Findings,
) -> IntArray:
    """The day of each line, from one column of dates or from year, month and day."""
    if "year" in place and ({"month", "day"} <= place.keys() or "doy" in place):
        names = ("year", "doy") if "doy" in place else ("year", "month", "day")
        parts = [cells[place[name].place] for name in names]
        ordinals = np.zeros(len(lines), dtype=np.int64)
        for index, words in enumerate(zip(*parts, strict=True)):
            try:
                values = [int(float(word)) for word in words]
                ordinals[index] = (
                    day_of_year(values[0], values[1])
                    if len(values) == 2
                    else date(values[0], values[1], values[2]).toordinal()
                )
            except (ValueError, OverflowError):
                findings.warn(
                    said("'{text}' is not a day; the line was left out", text=" ".join(words)),
                    line=int(lines[index]),
                    sort="lines without a date that exists",
                )
        if int((ordinals == 0).sum()) > 0.5 * len(lines):
            findings.refuse("most lines have no date that can be read", line=int(lines[0]))
        if "hour" in place and len(np.unique(ordinals)) < 0.6 * len(ordinals):
            findings.refuse(
                "the file has several readings a day; daily values are needed",
                "give the minimum and maximum of each day",
            )
        return ordinals
    dates = place.get("date") or place.get("day")
    if dates is None:
        findings.refuse("there is no column of dates", 'name it "date"', line=1)
    return days(cells[dates.place], lines, findings)


def _drop_flagged(
    header: list[Heading],
    cells: list[tuple[str, ...]],
    raw: dict[str, Column],
    good: BoolArray,
    lines: IntArray,
    findings: Findings,
) -> str:
    """Drop readings with a quality flag in their attributes; "tenths" when the file has any."""
    by_text = {one.text.strip().upper(): one for one in header}
    dropped: Counter[str] = Counter()
    first, found = 0, False
    for text, one in by_text.items():
        name = archive.ELEMENTS.get(text)
        marks = by_text.get(f"{text}_ATTRIBUTES")
        if name not in raw or marks is None or one.meaning != name:
            continue
        found = True
        marked = {cell: [*cell.split(","), ""][1].strip() for cell in set(cells[marks.place])}
        flags = [marked[cell] for cell in cells[marks.place]]
        flagged = np.array([bool(flag) for flag in flags]) & np.isfinite(
            _spread(raw[name].values, good)
        )
        for index in np.flatnonzero(flagged).tolist():
            dropped[flags[index]] += 1
            first = min(first or int(lines[index]), int(lines[index]))
            findings.lose(archive.failed(flags[index]), [int(lines[index])])
        findings.mark(archive.FAILED, raw[name].days[flagged[good]].tolist())
        raw[name].values[flagged[good]] = np.nan
    archive.flags_note(dropped, first, findings)
    if found:
        hours: Counter[str] = Counter()
        for name in ("TMAX", "TMIN"):
            marks = by_text.get(f"{name}_ATTRIBUTES")
            if marks is not None:
                for cell, count in Counter(cells[marks.place]).items():
                    if cell.count(",") > 2:
                        hours[cell.rsplit(",", 1)[1].strip()] += count
        archive.morning_note(hours, findings)
    return "tenths" if found else ""


def _spread(values: FloatArray, good: BoolArray) -> FloatArray:
    wide = np.full(len(good), np.nan)
    wide[good] = values
    return wide


def canonical(
    place: dict[str, Heading], raw: dict[str, Column], documented: str, findings: Findings
) -> dict[str, Column]:
    """Every column in its canonical unit: the one in its heading, or decided from the numbers."""
    for name in list(raw):
        written = place[name].unknown_unit
        if not written:
            continue
        if name in ("tmin", "tmax", "rain"):
            known = dict.fromkeys(units.SPOKEN[one] for one in UNITS[name].values() if one in _SAID)
            findings.refuse(
                said(
                    "'{unit}' in the heading of {name} is no unit we read", unit=written, name=name
                ),
                said("known: {listed}", listed=listed(said(one) for one in known)),
                line=1,
            )
        findings.warn(
            said(
                "'{unit}' in the heading of {name} is no unit we read; the column was not read",
                unit=written,
                name=name,
            ),
            line=1,
        )
        del raw[name]
    tmin, tmax, month = archive.beside(raw)
    labelled = [
        place[name].unit
        for name in ("tmin", "tmax")
        if name in raw and place[name].unit is not None
    ]
    temperature = ""
    if len(set(labelled)) == 1 and labelled[0] is not None:
        temperature = labelled[0]
        units.doubt_label(temperature, tmin, tmax, month, findings)
    elif not labelled and (np.isfinite(tmin).any() or np.isfinite(tmax).any()):
        temperature = units.decide_temperature(tmin, tmax, month, findings, documented=documented)
    made: dict[str, Column] = {}
    for name, column in raw.items():
        unit = place[name].unit
        if unit is None:
            unit = _unlabelled(name, column, place, temperature, documented, findings)
        findings.units[name] = units.spoken(name, unit, place[name].unit is not None, documented)
        values = units.canonical(column.values, unit)
        if name == "wind" and _TEN_METRES.search(place[name].text):
            values = wind_speed_2m_fao56(values, 10.0)
            findings.note("wind at 10 m was brought down to 2 m (FAO-56, equation 47)")
            findings.units[name] = said(
                "{unit}, brought from 10 m to 2 m", unit=findings.units[name]
            )
        made[name] = Column(column.days, values, column.lines)
    return made


def _unlabelled(
    name: str,
    column: Column,
    place: dict[str, Heading],
    temperature: str,
    documented: str,
    findings: Findings,
) -> str:
    """The unit of a column whose heading has none."""
    if name == "rain":
        return units.decide_rain(column.values, temperature, findings, documented=documented)
    if not np.isfinite(column.values).any():
        return ""
    if name in TEMPERATURES:
        if temperature and any(place[one].unit for one in TEMPERATURES if one in place):
            spoken = units.SPOKEN[temperature]
            findings.note(
                said(
                    "no unit is written for {name}; it was read as {unit}, like the others",
                    name=name,
                    unit=said(spoken),
                )
            )
        if not temperature:
            findings.refuse(
                said("{given} has no unit", given=name),
                said('write it in the heading, such as "{name}_c"', name=name),
                line=1,
            )
        return temperature
    if place[name].text.strip().upper() in archive.ELEMENTS and temperature == "tenths":
        return archive.UNIT.get(name, "")
    unit = {"wind": "m s-1", "sunshine": "h", "solar": "MJ", "rh_min": "%", "rh_max": "%"}[name]
    if name == "wind" and temperature == "degF":
        unit = "mph"
    findings.note(
        said("no unit is written for {name}; it was read as {unit}", name=name, unit=unit)
    )
    return unit
