"""Answers kept on disk beside the garden file: one file a service and sort, replaced whole or not at all."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np

from bearwell.errors import BadInput, BearwellError, Problem
from bearwell.said import kept_so, said, unkept
from bearwell.weather.online.services import SERVICES, Asked
from bearwell.weather.report import Left, Report, Station
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries
from bearwell.wholefile import SHARED, write_whole

FOLDER = "online-weather"
FORECAST_FLAG = "from a forecast, not measured"
_FORMAT = 1


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A service's answer as kept: its days, when it was fetched and for which place."""

    service: str
    sort: str
    fetched: datetime
    asked: Asked
    series: DailySeries


def kept_file(folder: Path, service: str, sort: str) -> Path:
    """Where an answer is kept."""
    return folder / FOLDER / f"{service}-{sort}.json"


def write_kept(folder: Path, kept: Kept) -> None:
    """Keep an answer. An older one stays until the new one is complete."""
    series, report = kept.series, kept.series.reports[0]
    station = report.station or Station()
    data = {
        "bearwell_weather": _FORMAT,
        "service": kept.service,
        "sort": kept.sort,
        "fetched": kept.fetched.isoformat(timespec="seconds"),
        "asked": {
            "latitude": kept.asked.latitude,
            "longitude": kept.asked.longitude,
            "elevation": kept.asked.elevation,
        },
        "cell": {
            "latitude": station.latitude,
            "longitude": station.longitude,
            "elevation": station.elevation,
        },
        "terms": SERVICES[kept.service].terms,
        "day": kept_so(report.day),
        "units": [[name, kept_so(unit)] for name, unit in report.units],
        "dropped": [[kept_so(one.reason), one.count] for one in report.dropped],
        "start": series.start.isoformat(),
        "columns": {
            "tmin": _listed(series.tmin),
            "tmax": _listed(series.tmax),
            "rain": _listed(series.rain),
            **{name: _listed(values) for name, values in series.extra.items()},
        },
    }
    target = kept_file(folder, kept.service, kept.sort)
    try:
        target.parent.mkdir(exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise BearwellError(
            said("{path}: cannot be made: {reason}", path=target.parent, reason=reason),
            "check the folder",
        ) from None
    write_whole(target, json.dumps(data, allow_nan=False).encode("utf-8"), SHARED)


def _listed(values: Any) -> list[float | None]:
    return [None if math.isnan(value) else round(value, 2) for value in values.tolist()]


def read_kept(
    folder: Path, service: str, sort: str, asked: Asked
) -> tuple[Kept | None, list[Problem]]:
    """A kept answer for this place, or None; what is wrong with the file is told."""
    path = kept_file(folder, service, sort)
    where = f"{FOLDER}/{path.name}"
    try:
        data = json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return None, []
    except (OSError, ValueError):
        return None, [_spoiled(where, "the kept weather cannot be read; it was not read")]
    try:
        found = _understood(data, service, sort, where)
    except (KeyError, TypeError, ValueError, AttributeError, BadInput):
        return None, [_spoiled(where, "the kept weather is not as we wrote it; it was not read")]
    near = rule("online.moved")
    moved = max(
        abs(found.asked.latitude - asked.latitude), abs(found.asked.longitude - asked.longitude)
    )
    if moved > near:
        return None, [
            Problem(
                where,
                said(
                    "it is for {latitude:g}, {longitude:g}, not for this garden; it was not read",
                    latitude=found.asked.latitude,
                    longitude=found.asked.longitude,
                ),
                "fetch anew: bearwell weather GARDEN --fetch",
                severity="warning",
            )
        ]
    return found, []


def _spoiled(where: str, message: str) -> Problem:
    return Problem(
        where, message,
        "fetch anew: bearwell weather GARDEN --fetch", severity="warning",
    )  # fmt: skip


def _understood(data: dict[str, Any], service: str, sort: str, where: str) -> Kept:
    if data["bearwell_weather"] != _FORMAT or (data["service"], data["sort"]) != (service, sort):
        raise ValueError("another format")
    start, fetched = date.fromisoformat(data["start"]), datetime.fromisoformat(data["fetched"])
    columns = {
        name: np.array([np.nan if one is None else float(one) for one in values])
        for name, values in data["columns"].items()
    }
    cell = data["cell"]
    title = SERVICES[service].title
    ahead = np.arange(len(columns["tmin"])) >= (fetched.date() - start).days
    report = Report(
        where,
        said(
            "{title}, forecast fetched {day}"
            if sort == "forecast"
            else "{title}, history fetched {day}",
            title=title,
            day=fetched.date(),
        ),
        unkept(data["day"]),
        Station(
            said("{service}'s grid cell", service=title),
            cell["latitude"],
            cell["longitude"],
            cell["elevation"],
        ),
        tuple((str(name), unkept(unit)) for name, unit in data["units"]),
        tuple(Left(unkept(reason), int(count)) for reason, count in data["dropped"]),
        days=len(columns["tmin"]),
        terms=SERVICES[service].terms,
    )
    series = DailySeries(
        start,
        columns.pop("tmin"),
        columns.pop("tmax"),
        columns.pop("rain"),
        columns,
        sources=(
            said(
                "{service} (forecast)" if sort == "forecast" else "{service} (history)",
                service=title,
            ),
        ),
        flags={FORECAST_FLAG: ahead} if sort == "forecast" else {},
        reports=(report,),
    )
    asked = Asked(data["asked"]["latitude"], data["asked"]["longitude"], data["asked"]["elevation"])
    return Kept(service, sort, fetched, asked, series)
