"""A record set against the garden it is to serve: how far away, how much higher, how much sea."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bearwell.errors import Problem
from bearwell.said import listed, said
from bearwell.weather.earth import distance
from bearwell.weather.normals import Normals
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries
from bearwell.weather.units import canonical

ADJUSTED = "moved to the garden's height"


def beside_garden(
    series: DailySeries,
    latitude: float,
    longitude: float,
    elevation: float | None,
    *,
    station_elevation: float | None = None,
    to_garden_height: bool = False,
) -> tuple[DailySeries, list[Problem]]:
    """One record with what is told of its place against the garden's.

    A difference of height is told from ``place.high`` on, and only with ``to_garden_height`` are
    temperatures moved by the mean fall with height; that is told as well. Never silently.
    """
    report = series.reports[0] if series.reports else None
    station = report.station if report else None
    where = report.where if report else listed(series.sources)
    told: list[Problem] = []
    if station and station.latitude is not None and station.longitude is not None:
        away = distance((latitude, longitude), (station.latitude, station.longitude))
        if away >= rule("place.far"):
            told.append(
                Problem(
                    where, said("it was measured {away:.0f} km from the garden", away=away),
                    "a nearer record serves better; a thermometer in the garden tells the difference",
                    severity="warning",
                )
            )  # fmt: skip
    high = station_elevation
    if high is None and station is not None:
        high = station.elevation
    if high is not None and elevation is not None:
        series, more = _height(series, where, high, elevation, to_garden_height)
        told += more
    elif to_garden_height:
        told.append(
            Problem(
                where, "it cannot be moved to the garden's height: one of the two heights is not known",
                'write [site] elevation = "35 m" and [weather] station_elevation = "397 m"',
                severity="warning",
            )
        )  # fmt: skip
    swing = series.tmax - series.tmin
    known = swing[np.isfinite(swing)]
    if known.size >= rule("doubt.stuck") and float(np.median(known)) < rule("day.flat"):
        told.append(
            Problem(
                where,
                said(
                    "day and night differ by {apart:.1f} K only, as over water: a grid cell of a coast "
                    "hides the garden's frosts and its heat",
                    apart=float(np.median(known)),
                ),
                "take a station on land, or another grid cell",
                severity="warning",
            )
        )
    return series, told


def _height(
    series: DailySeries, where: str, high: float, garden: float, move: bool
) -> tuple[DailySeries, list[Problem]]:
    apart = high - garden
    warmer = rule("place.lapse") * apart
    if abs(apart) < rule("place.high") and not move:
        return series, []
    if not move:
        return series, [
            Problem(
                where,
                said(
                    "its station lies {apart:.0f} m above the garden ({high:.0f} and {garden:.0f} m): at "
                    "{lapse:.1f} K a kilometre the garden is usually {usual:.1f} K warmer; nothing was changed"
                    if apart > 0
                    else "its station lies {apart:.0f} m below the garden ({high:.0f} and {garden:.0f} m): at "
                    "{lapse:.1f} K a kilometre the garden is usually {usual:.1f} K colder; nothing was changed",
                    apart=abs(apart),
                    high=high,
                    garden=garden,
                    lapse=1000 * rule("place.lapse"),
                    usual=abs(warmer),
                ),
                "to move the temperatures write [weather] to_garden_height = true",
                severity="warning",
            )
        ]
    moved = replace(
        series,
        tmin=series.tmin + warmer,
        tmax=series.tmax + warmer,
        extra={
            name: values + warmer if name == "dew_point" else values
            for name, values in series.extra.items()
        },
        reports=tuple(
            replace(one, units=(*one.units, (ADJUSTED, f"{warmer:+.1f} K")))
            for one in series.reports
        ),
    )
    return moved, [
        Problem(
            where,
            said(
                "its temperatures were moved by {warmer:+.1f} K, as the garden lies {apart:.0f} m lower and "
                "you asked for it; a mean over all weathers, on still clear nights it turns round"
                if apart > 0
                else "its temperatures were moved by {warmer:+.1f} K, as the garden lies {apart:.0f} m higher "
                "and you asked for it; a mean over all weathers, on still clear nights it turns round",
                warmer=warmer,
                apart=abs(apart),
            ),
            severity="note",
        )
    ]


def beside_normals(series: DailySeries, normals: Normals | None) -> list[Problem]:
    """What is wrong with a record that lies far from the monthly normals of its place.

    It is an error where the numbers fit the normals as degF: those were no degC. Else it is a warning.
    """
    if normals is None:
        return []
    day = series.day_of_year() - 1
    apart = []
    for unit in ("degC", "degF"):
        gaps = [
            canonical(getattr(series, name), unit) - normals.curve(name)[day]
            for name in ("tmin", "tmax")
        ]
        known = np.concatenate(gaps)
        apart.append(known[np.isfinite(known)])
    if apart[0].size < rule("doubt.stuck"):
        return []
    as_read, as_degf = (float(one.mean()) for one in apart)
    limit = rule("units.normals_apart")
    if abs(as_read) <= limit:
        return []
    where = listed(series.sources) or said("weather")
    if abs(as_degf) <= limit / 2:
        return [
            Problem(
                where,
                said(
                    "its temperatures lie {apart:+.0f} K off the monthly normals on average, and as degF "
                    "they fit: they are no degC",
                    apart=as_read,
                ),
                "correct the unit in the heading: the file was not used",
            )
        ]  # fmt: skip
    return [
        Problem(
            where,
            said("its temperatures lie {apart:+.0f} K off the monthly normals on average", apart=as_read),
            "are both of the same place, and in degC?", severity="warning",
        )
    ]  # fmt: skip
