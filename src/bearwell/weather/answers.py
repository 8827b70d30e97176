"""Answers of weather services as JSON: Open-Meteo's and NASA POWER's, from a file or from the network."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from bearwell.said import Said, said
from bearwell.weather.cells import days
from bearwell.weather.columns import UNITS, WEATHER, Heading, heading
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.earth import distance
from bearwell.weather.folding import Log, _stamped, fold
from bearwell.weather.quality import Column, assemble
from bearwell.weather.report import LOCAL_SOLAR, OPEN_METEO_TERMS, POWER_TERMS, UTC_DAYS, Station
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

Place = tuple[float, float] | None
_UNIX = date(1970, 1, 1).toordinal()
_DAY = re.compile(r"^\d{8}$")
_NO_REASON = said("no reason given")


def read_answer(text: str, findings: Findings, place: Place) -> DailySeries:
    """A record from the JSON of a service, told by its fields. Raises BadFile where it is none."""
    try:
        answer = json.loads(text)
    except json.JSONDecodeError as error:
        cut = error.pos >= len(text.rstrip()) - 1 or "Unterminated" in error.msg
        findings.refuse(
            "the JSON is cut off: it ends in the middle"
            if cut
            else said("the JSON is broken: {reason}", reason=error.msg),
            "fetch or download it again",
            line=error.lineno,
        )
    if isinstance(answer, list):
        answer = _nearest(answer, place, findings)
    if not isinstance(answer, dict):
        findings.refuse("this JSON is no answer of a weather service that we know")
    if answer.get("error") is True:
        findings.refuse(
            said(
                "the service refused the request: {reason}",
                reason=answer.get("reason", _NO_REASON),
            )
        )
    if "daily_units" in answer or "hourly_units" in answer:
        return _open_meteo(answer, findings)
    if answer.get("type") == "FeatureCollection":
        answer = _nearest(answer.get("features", []), place, findings)
    if isinstance(answer, dict) and isinstance(answer.get("properties"), dict):
        return _power(answer, findings)
    messages = answer.get("messages") or answer.get("detail") if isinstance(answer, dict) else None
    if messages:
        findings.refuse(said("the service answered without data: {reason}", reason=_told(messages)))
    return findings.refuse(
        "this JSON is no answer of a weather service that we know",
        "Open-Meteo and NASA POWER are read; else bring a CSV of days",
    )


def _told(messages: object) -> str:
    if isinstance(messages, Said):
        return messages
    words = messages if isinstance(messages, list) else [messages]
    return "; ".join(str(one) for one in words)[:200]


def _nearest(answers: Sequence[Any], place: Place, findings: Findings) -> Any:
    """Of several places the one nearest to the garden."""
    if len(answers) == 1:
        return answers[0]
    if not answers:
        findings.refuse("the answer holds no place")
    if place is None:
        findings.refuse(
            said("the answer holds {count} places", count=len(answers)), "ask for one place"
        )
    spots = [_spot(one) for one in answers]
    if any(spot is None for spot in spots):
        findings.refuse("the answer holds several places and does not say where each lies")
    known = [spot for spot in spots if spot is not None]
    apart = [distance(place, spot) for spot in known]
    best = int(np.argmin(apart))
    findings.note(
        said(
            "of {count} places the nearest was read, {away:.0f} km away",
            count=len(answers),
            away=apart[best],
        )
    )
    return answers[best]


def _spot(one: Any) -> tuple[float, float] | None:
    try:
        if "geometry" in one:
            return float(one["geometry"]["coordinates"][1]), float(
                one["geometry"]["coordinates"][0]
            )
        return float(one["latitude"]), float(one["longitude"])
    except (KeyError, TypeError, ValueError, IndexError):
        return None


def zone_day(zone: str, offset: object) -> str:
    """What a day is where a service keeps one offset from universal time for all of an answer."""
    try:
        hours = float(str(offset)) / 3600.0
    except ValueError:
        return "from midnight to midnight as the service counts days"
    return said(
        "from midnight to midnight {hours:+g} h from universal time ({zone}): one fixed "
        "offset, so summer time moves no day",
        hours=hours,
        zone=zone or said("no zone named"),
    )


def by_name(header: Sequence[Heading], findings: Findings) -> dict[str, Heading]:
    """Headings by what they mean, the first of each; others of the same meaning are told."""
    named: dict[str, Heading] = {}
    for one in header:
        if one.meaning in named and one.meaning in WEATHER:
            findings.note(
                said(
                    "'{text}' was not read, as another column gives {meaning}",
                    text=one.text,
                    meaning=one.meaning,
                )
            )
        elif one.meaning:
            named.setdefault(one.meaning, one)
    return named


def record(
    named: Mapping[str, Heading],
    stamps: Sequence[str],
    values: Callable[[str], FloatArray],
    lines: IntArray,
    findings: Findings,
    *,
    hourly: bool,
) -> DailySeries:
    """A record from the columns of an answer, by days or by hours to be folded."""
    from bearwell.weather.tables import canonical

    if hourly:
        if "air" not in named:
            findings.refuse("the hours hold no temperature at 2 m", "ask for temperature_2m")
        unit = named["air"].unit
        if unit is None:
            findings.refuse("the temperature has no unit that we read")
        rain = None
        if "rain" in named and named["rain"].unit is not None:
            from bearwell.weather import units

            rain = units.canonical(values("rain"), named["rain"].unit)
        log = Log(_stamped(list(stamps), lines, findings), values("air"), lines, rain)
        return assemble(fold(log, findings, unit=unit), None, findings)
    if not {"tmin", "tmax", "rain"} & named.keys():
        findings.refuse(
            "the answer holds neither minimum and maximum temperature nor rain",
            "ask for temperature_2m_min, temperature_2m_max and precipitation_sum",
        )
    ordinals = days(stamps, lines, findings)
    good = ordinals > 0
    raw = {
        name: Column(ordinals[good], values(name)[good], lines[good])
        for name in WEATHER
        if name in named
    }
    return assemble(canonical(dict(named), raw, "", findings), None, findings)


# ---------------------------------------------------------------- Open-Meteo


def _open_meteo(answer: dict[str, Any], findings: Findings) -> DailySeries:
    findings.layout, findings.terms = "Open-Meteo, JSON", OPEN_METEO_TERMS
    findings.station = Station(
        "a grid cell",
        *(_real(answer.get(name)) for name in ("latitude", "longitude", "elevation")),
    )
    findings.day = zone_day(str(answer.get("timezone", "")), answer.get("utc_offset_seconds"))
    hourly = not isinstance(answer.get("daily"), dict)
    part = "hourly" if hourly else "daily"
    table, written = answer.get(part), answer.get(f"{part}_units")
    if not isinstance(table, dict) or not isinstance(written, dict):
        findings.refuse("the answer is cut off: it names units and holds no values")
    times = table.get("time")
    if not isinstance(times, list) or not times:
        findings.refuse("the answer holds no days")
    header = []
    for place_, (name, column) in enumerate(table.items()):
        if not isinstance(column, list) or len(column) != len(times):
            findings.refuse(
                said(
                    "half an answer: '{name}' does not hold a value for each of {count} times",
                    name=name,
                    count=len(times),
                ),
                "fetch it again",
            )
        unit = str(written.get(name, ""))
        found = heading(place_, f"{name} ({unit})" if unit and name != "time" else name)
        header.append(replace(found, text=name))
    offset = _real(answer.get("utc_offset_seconds")) or 0.0
    stamps = [_iso(one, offset, hourly=hourly) for one in times]
    named = by_name(
        [one for one in header if one.meaning in UNITS or one.meaning == "date"], findings
    )
    lists = list(table.values())
    lines = np.zeros(len(times), dtype=np.int64)

    def values(name: str) -> FloatArray:
        return _reals(lists[named[name].place], named[name].text, findings)

    return record(named, stamps, values, lines, findings, hourly=hourly)


def _iso(stamp: object, offset: float, *, hourly: bool) -> str:
    """A time as YYYY-MM-DD or with hours; seconds from 1970 are turned into the local clock."""
    if isinstance(stamp, int | float):
        minutes = int((float(stamp) + offset) // 60)
        day = date.fromordinal(_UNIX + minutes // 1440).isoformat()
        return f"{day}T{minutes % 1440 // 60:02d}:{minutes % 60:02d}" if hourly else day
    return str(stamp)


def _real(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value)


def _reals(values: Sequence[object], name: str, findings: Findings) -> FloatArray:
    """Numbers of a list, NaN for null; what is neither is told."""
    made = np.full(len(values), np.nan)
    for spot, value in enumerate(values):
        number = _real(value)
        if number is not None:
            made[spot] = number
        elif value is not None:
            findings.warn(
                said(
                    "'{value}' is not a number for {name}; it counts as missing",
                    value=value,
                    name=name,
                ),
                sort="cells that are no number",
            )
    missing = sum(value is None for value in values)
    if missing:
        findings.lose(said("{name} missing (null)", name=name), [0] * missing)
    return made


# ---------------------------------------------------------------- NASA POWER

# What the service documents where an answer leaves out its block of units. Radiation is in another
# unit for each community and is not read without one.
_DOCUMENTED = {
    "T2M_MIN": "C", "T2M_MAX": "C", "T2MDEW": "C", "PRECTOTCORR": "mm/day", "WS2M": "m/s",
}  # fmt: skip


def _power(answer: dict[str, Any], findings: Findings) -> DailySeries:
    from bearwell.weather.tables import canonical

    findings.layout, findings.terms = "NASA POWER, one point, JSON", POWER_TERMS
    parameters = answer["properties"].get("parameter")
    about = answer.get("header") or {}
    if not isinstance(parameters, dict) or not parameters:
        findings.refuse(
            said(
                "the answer holds no parameter: {reason}",
                reason=_told(answer.get("messages") or _NO_REASON),
            )
        )
    keys = [str(key) for one in parameters.values() if isinstance(one, dict) for key in one]
    _daily_only(keys, findings)
    spot = answer.get("geometry", {}).get("coordinates", [])
    findings.station = Station(
        "a grid cell of half a degree",
        *(_real(spot[at]) if len(spot) > at else None for at in (1, 0, 2)),
    )
    standard = str(about.get("time_standard", "")).upper()
    findings.day = LOCAL_SOLAR if standard == "LST" else UTC_DAYS if standard == "UTC" else (
        "from midnight to midnight; the answer does not say by which clock"
    )  # fmt: skip
    filler = _real(about.get("fill_value", about.get("fillValue")))
    described = answer.get("parameters") or {}
    named: dict[str, Heading] = {}
    raw: dict[str, Column] = {}
    for name, table in parameters.items():
        if not isinstance(table, dict):
            continue
        unit = str((described.get(name) or {}).get("units") or "")
        if not unit and name in _DOCUMENTED:
            unit = _DOCUMENTED[name]
        one = heading(0, f"{name} ({unit})" if unit else name)
        if one.meaning not in WEATHER or one.meaning in named:
            continue
        if one.unit is None and not one.unknown_unit:
            findings.note(said("{name} has no unit in the answer and was not read", name=name))
            continue
        values = _reals(list(table.values()), name, findings)
        if filler is not None:
            away = values == filler
            findings.lose(
                said("{name} missing (filler {filler:g})", name=name, filler=filler),
                [0] * int(away.sum()),
            )
            values[away] = np.nan
        at = np.zeros(len(values), dtype=np.int64)
        named[one.meaning] = replace(one, text=name)
        raw[one.meaning] = Column(days(list(table), at, findings), values, at)
    if not {"tmin", "tmax", "rain"} & raw.keys():
        findings.refuse(
            "the answer holds neither minimum and maximum temperature nor rain",
            "ask for T2M_MIN, T2M_MAX and PRECTOTCORR",
        )
    return assemble(canonical(named, raw, "", findings), None, findings)


def _daily_only(keys: Sequence[str], findings: Findings) -> None:
    """Refuse climatologies, months and hours, told by how the values are dated."""
    if any(key.upper() in ("JAN", "ANN") for key in keys):
        findings.refuse(
            "this is POWER's climatology, means of twelve months over many years: it has no days",
            "ask for the daily values of the point",
        )
    odd = [key for key in keys if not _DAY.match(key)]
    if len(odd) > len(keys) // 2:
        sentence = {
            6: "the values are monthly (stamps such as {stamp}); daily ones are needed",
            10: "the values are hourly (stamps such as {stamp}); daily ones are needed",
        }.get(
            len(odd[0]),
            "the values are not daily (stamps such as {stamp}); daily ones are needed",
        )
        findings.refuse(
            said(sentence, stamp=odd[0]),
            "ask for the daily values of the point",
        )
