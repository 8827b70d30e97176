"""The cell of a CF grid nearest to the garden, with the optional package for NetCDF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from bearwell.said import said
from bearwell.weather import units
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.earth import distance, distances
from bearwell.weather.folding import Log, fold
from bearwell.weather.quality import Column, assemble
from bearwell.weather.report import Station
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

Place = tuple[float, float] | None

_NAMES = {
    "tmin": ("tasmin", "tmin", "tn", "tmmn", "t2m_min", "Temperature_Air_2m_Min_24h", "mn2t"),
    "tmax": ("tasmax", "tmax", "tx", "tmmx", "t2m_max", "Temperature_Air_2m_Max_24h", "mx2t"),
    "rain": ("pr", "prcp", "rr", "ppt", "precip", "precipitation", "tp"),
    "air": ("tas", "t2m", "tg", "air"),
}
_TEMPERATURE = {
    "k": "kelvin", "kelvin": "kelvin", "degc": "degC", "c": "degC", "celsius": "degC",
    "degree_celsius": "degC", "degrees_celsius": "degC", "degrees c": "degC", "degree_c": "degC",
    "degf": "degF", "f": "degF", "degrees_fahrenheit": "degF",
}  # fmt: skip
# Millimetres a day in one unit: a kg of water on a square metre is a millimetre.
_RAIN = {
    "kg m-2 s-1": 86400.0, "kg/m2/s": 86400.0, "kg m**-2 s**-1": 86400.0, "mm s-1": 86400.0, "mm/s": 86400.0,
    "mm": 1.0, "mm/day": 1.0, "mm d-1": 1.0, "mm day-1": 1.0, "kg m-2": 1.0, "kg m-2 d-1": 1.0,
    "m s-1": 86400.0e3, "m": 1000.0, "m d-1": 1000.0,
}  # fmt: skip
_PACKING = 0.05  # mm
_STANDARD = ("standard", "gregorian", "proleptic_gregorian")
_NO_LEAP = ("noleap", "365_day")


def read_grid(grid_or_path: bytes | Path, findings: Findings, place: Place) -> DailySeries:
    """A record from the grid cell nearest to ``place`` that holds readings.

    Raises BadFile when the package that reads grids is not installed, when the garden's place is not
    known, and when the grid holds nothing that is read.
    """
    try:
        import netCDF4
    except ImportError:
        findings.refuse(
            "this is a NetCDF grid, and the package that reads grids is not installed",
            "install it with: pip install 'bearwell[grids]'; or export the place you need as CSV",
        )
    if place is None:
        findings.refuse(
            "this is a NetCDF grid, and which of its cells to read is not known",
            "name it under [weather] daily of a garden file, whose latitude and longitude choose",
        )
    try:
        grid = (
            netCDF4.Dataset("grid", memory=grid_or_path)
            if isinstance(grid_or_path, bytes)
            else netCDF4.Dataset(grid_or_path)
        )
    except OSError:
        findings.refuse("the NetCDF grid is damaged or cut off", "download it again")
    findings.layout = "a CF grid, the nearest cell"
    try:
        return _cell(grid, findings, place)
    finally:
        grid.close()


def _cell(grid: Any, findings: Findings, place: tuple[float, float]) -> DailySeries:
    found = {meaning: one for meaning, names in _NAMES.items() if (one := _first(grid, names))}
    if not found:
        findings.refuse(
            said(
                "the grid holds no temperature or rain that we know among: {listed}",
                listed=", ".join(grid.variables),
            ),
            "tasmin, tasmax and pr are read",
        )
    if {"tmin", "tmax"} & found.keys():
        found.pop("air", None)
    stamps, calendar = _times(grid, next(iter(found.values())), findings)
    where, spot = _spot(grid, next(iter(found.values())), place, findings)
    findings.station = Station(
        said("the cell at {north:.2f}, {east:.2f}", north=spot[0], east=spot[1]), *spot
    )
    away = distance(place, spot)
    findings.note(
        said(
            "of the grid the cell at {north:.3f} N, {east:.3f} E was read, {away:.0f} km from the garden; "
            "a cell is a mean over land and sea, hill and valley",
            north=spot[0],
            east=spot[1],
            away=away,
        )
    )
    day = stamps // 1440
    findings.day = said(
        "a day of the grid, calendar '{calendar}'; the grid does not tell its clock, whose years all have "
        "365 days"
        if calendar in _NO_LEAP
        else "a day of the grid, calendar '{calendar}'; the grid does not tell its clock",
        calendar=calendar,
    )
    if calendar in _NO_LEAP:
        findings.note("the grid's calendar has no 29 February; those days are gaps")
    lines = np.zeros(stamps.size, dtype=np.int64)
    several = np.unique(day).size < stamps.size
    if several and "air" in found:
        air = _values(found["air"], where)
        log = Log(stamps, air, lines)
        return assemble(fold(log, findings, unit=_unit_of(found["air"], findings)), None, findings)
    columns: dict[str, Column] = {}
    for meaning, variable in found.items():
        if meaning == "air":
            continue
        values = _values(variable, where)
        written = str(getattr(variable, "units", "")).strip()
        findings.units[meaning] = said("{unit}, as the grid says", unit=written or said("none"))
        if meaning == "rain":
            factor = _RAIN.get(written)
            if factor is None:
                findings.warn(
                    said(
                        "'{unit}' is no unit of rain that we read; rain was left out", unit=written
                    )
                )
                continue
            depth = values * factor
            # Packed numbers return a little less than nothing for a dry day.
            depth[(depth < 0) & (depth > -_PACKING)] = 0.0
            columns[meaning] = Column(day, depth, lines)
        else:
            columns[meaning] = Column(
                day, units.canonical(values, _unit_of(variable, findings)), lines
            )
    if not columns:
        findings.refuse("the grid holds a mean temperature only; a mean is no minimum")
    return assemble(columns, None, findings)


def _first(grid: Any, names: tuple[str, ...]) -> Any:
    lower = {name.lower(): one for name, one in grid.variables.items()}
    return next((lower[name.lower()] for name in names if name.lower() in lower), None)


def _unit_of(variable: Any, findings: Findings) -> str:
    written = str(getattr(variable, "units", "")).strip()
    unit = _TEMPERATURE.get(written.lower())
    if unit is None:
        findings.refuse(
            said(
                "the unit of {name} is '{unit}', which we do not read",
                name=variable.name,
                unit=written or said("not written"),
            ),
            "K, degC and degF are read",
        )
    return unit


def _times(grid: Any, variable: Any, findings: Findings) -> tuple[IntArray, str]:
    """Minutes of each step, and the calendar."""
    import cftime

    axis = next(
        (grid.variables[name] for name in ("time", "valid_time") if name in grid.variables), None
    )
    if axis is None or axis.dimensions[0] not in variable.dimensions:
        findings.refuse("the grid has no axis of time")
    calendar = str(getattr(axis, "calendar", "standard")).lower()
    if calendar not in (*_STANDARD, *_NO_LEAP):
        findings.refuse(
            said(
                "the grid's calendar is '{calendar}', whose days are no days of ours",
                calendar=calendar,
            ),
            "ask for the same data in a real calendar",
        )
    dates = cftime.num2date(
        np.ma.filled(axis[:], np.nan), axis.units, calendar, only_use_cftime_datetimes=True
    )
    from datetime import date

    made = [
        date(one.year, one.month, one.day).toordinal() * 1440 + 60 * one.hour + one.minute
        for one in np.atleast_1d(dates)
    ]
    return np.array(made, dtype=np.int64), calendar


def _axis(grid: Any, names: tuple[str, ...]) -> Any:
    return next((grid.variables[name] for name in names if name in grid.variables), None)


def _spot(
    grid: Any, variable: Any, place: tuple[float, float], findings: Findings
) -> tuple[dict[str, int], tuple[float, float]]:
    """Where the nearest cell with readings stands along each axis but time, and its place."""
    north = _axis(grid, ("lat", "latitude", "y"))
    east = _axis(grid, ("lon", "longitude", "x"))
    if north is None or east is None:
        findings.refuse("the grid does not say its latitudes and longitudes")
    lat = np.ma.filled(north[:], np.nan).astype(np.float64)
    lon = np.ma.filled(east[:], np.nan).astype(np.float64)
    lon = (lon + 180.0) % 360.0 - 180.0  # 0 to 360 as well as -180 to 180
    if lat.ndim == 0 or (lat.ndim == 1 and north.dimensions == east.dimensions):
        lat, lon, names = np.atleast_1d(lat), np.atleast_1d(lon), north.dimensions
    elif lat.ndim == 1:
        names = (north.dimensions[0], east.dimensions[0])
        lat, lon = np.meshgrid(lat, lon, indexing="ij")
    else:
        names = north.dimensions
    apart = distances(place, lat, lon)
    apart[~np.isfinite(apart)] = np.inf
    for best in np.argsort(apart, axis=None)[:_TRIED].tolist():
        spot = np.unravel_index(best, lat.shape)
        at = dict(zip(names, (int(one) for one in spot), strict=False))
        if np.isfinite(_values(variable, at)).any():
            return at, (float(lat[spot]), float(lon[spot]))
    return findings.refuse(
        "no cell near the garden holds a reading", "is it all sea, or another region?"
    )


_TRIED = 9  # cells looked at, from the nearest: a coast's nearest may be sea


def _values(variable: Any, at: dict[str, int]) -> FloatArray:
    """The readings of one cell over time, NaN where missing."""
    pick = tuple(
        slice(None) if name in ("time", "valid_time") else at.get(name, 0)
        for name in variable.dimensions
    )
    values = np.ma.filled(np.ma.asarray(variable[pick], dtype=np.float64), np.nan)
    return np.asarray(values, dtype=np.float64).ravel()
