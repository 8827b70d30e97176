"""What a table of days is by its headings, what its maker documents, and where it was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from bearwell.said import said
from bearwell.weather import archive
from bearwell.weather.columns import Heading
from bearwell.weather.curves import IntArray
from bearwell.weather.quality import Column
from bearwell.weather.report import LOCAL_SOLAR, POWER_TERMS, UTC_DAYS, Station
from bearwell.weather.text import Findings

_MJ = 1e-6  # MJ in a joule


def number(text: str) -> float | None:
    """A number, or None where the text is none or a filler for missing."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return None
    return value if np.isfinite(value) and value > -999 else None


def recognise(rows: Sequence[Sequence[str]], top: int, findings: Findings) -> str:
    """Name the layout of a table in the report; the unit its temperatures are documented in, or "".

    ``rows`` reach to the first line of values, ``top`` is the heading's place in them. Raises
    BadFile for tables that look daily and are not.
    """
    header = [cell.strip() for cell in rows[top]]
    above = [",".join(row).strip() for row in rows[:top]]
    first = rows[top + 1] if len(rows) > top + 1 else []
    values = dict(zip(header, (cell.strip() for cell in first), strict=False))
    if any(line.startswith("-BEGIN HEADER-") for line in above):
        return _power(above, header, findings)
    if header[:3] == ["Indicativo", "Nombre", "Provincia"]:
        findings.layout = "AEMET daily climatological values"
        findings.day = "as the station keeps it; hours in the file are in universal time"
        findings.station = Station(
            values["Nombre"].title(), elevation=number(values.get("Altitud", ""))
        )
        return "degC"
    if any(line.startswith("Tile:") for line in above) and "yday" in header:
        _daymet(above, findings)
        return "degC"
    if header[:2] == ["STATION", "DATE"]:
        exported = not any(one.endswith("_ATTRIBUTES") for one in header)
        findings.layout = "GHCN-Daily, one day a line" + (
            ", exported without flags" if exported else ""
        )
        findings.day = archive.ARCHIVE_DAY
        findings.station = Station(
            values.get("NAME", "") or values["STATION"],
            *(number(values.get(name, "")) for name in ("LATITUDE", "LONGITUDE", "ELEVATION")),
        )
    return ""


def _after(lines: Sequence[str], word: str) -> float | None:
    """The number that follows a word in the first line that has it."""
    for line in lines:
        parts = line.lower().replace("=", " ").replace(":", " ").split()
        if word in parts[:-1]:
            return number(parts[parts.index(word) + 1])
    return None


def _power(above: Sequence[str], header: Sequence[str], findings: Findings) -> str:
    findings.layout, findings.terms = "NASA POWER, one point, CSV", POWER_TERMS
    high = next((line for line in above if "elevation" in line.lower() and "=" in line), "")
    words = high.partition("=")[2].split()
    findings.station = Station(
        "a grid cell of half a degree",
        _after(above, "latitude"),
        _after(above, "longitude"),
        number(words[0]) if words else None,
    )
    dates = next((line for line in above if line.lower().startswith("dates")), "")
    findings.day = LOCAL_SOLAR if dates.endswith("LST") else UTC_DAYS
    if "HR" in header:
        findings.refuse(
            "this is POWER's hourly table", "ask for the daily values of the point", line=1
        )
    return ""


def _daymet(above: Sequence[str], findings: Findings) -> None:
    findings.layout = "Daymet, one pixel"
    findings.day = (
        "a calendar day of local time; every year has 365 of them, so 31 December of leap years is"
        " missing and is a gap"
    )
    findings.terms = next((line for line in above if line.lower().startswith("how to cite")), "")
    findings.station = Station(
        "a cell of one kilometre",
        _after(above, "latitude"),
        _after(above, "longitude"),
        _after(above, "elevation"),
    )


def weigh(
    place: dict[str, Heading],
    cells: Sequence[Sequence[str]],
    raw: dict[str, Column],
    ordinals: IntArray,
    findings: Findings,
) -> None:
    """What a layout needs beyond its headings: Daymet's sun is a mean of the lit hours only."""
    if findings.layout != "Daymet, one pixel":
        return
    _leap_days(ordinals, findings)
    spot = next((one.place for one in place.values() if one.text.strip() == "srad (W/m^2)"), None)
    length = place.get("day_seconds")
    if spot is None or length is None or "solar" not in raw:
        return
    seconds = np.array([number(cell) or np.nan for cell in cells[length.place]])[ordinals > 0]
    column = raw["solar"]
    # A mean over the lit part of the day, W m-2, times its seconds.
    place["solar"] = replace(place["solar"], unit="MJ", unknown_unit="")
    raw["solar"] = Column(column.days, column.values * seconds * _MJ, column.lines)


def _leap_days(ordinals: IntArray, findings: Findings) -> None:
    """Flag the last day of leap years, which a calendar of 365 days leaves out."""
    known = ordinals[ordinals > 0]
    if known.size == 0:
        return
    first, last = int(known.min()), int(known.max())
    years = range(date.fromordinal(first).year, date.fromordinal(last).year + 1)
    ends = [date(year, 12, 31).toordinal() for year in years if year % 4 == 0]
    lacking = [day for day in ends if first < day < last and day not in set(known.tolist())]
    if lacking:
        findings.note(
            said(
                "31 December of {count} leap years is missing, as Daymet's years have 365 days",
                count=len(lacking),
            )
        )
        findings.mark("left out by a calendar of 365 days", lacking)
