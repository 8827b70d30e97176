"""Reckoners of light, air and water demand: daylight, humidity, reference-et, chill."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bearwell.errors import BadInput
from bearwell.reasons import Because, computed, phrase
from bearwell.reckon.model import (
    Answer,
    Option,
    Reckoner,
    day,
    existing_file,
    humidity_percent,
    measured,
    month_day,
    number,
)
from bearwell.science import chill, evapotranspiration, humidity, sun
from bearwell.science.heat import growing_degree_hours_anderson
from bearwell.science.hourly import hourly_temperature_linvill
from bearwell.weather.readers import read_daily
from bearwell.weather.series import fill_gaps

LATITUDE = Option("latitude", number(-90, 90, "latitude"), "deg", "latitude, negative in the south")


def cited(
    text: str,
    value: float | str | None,
    unit: str,
    source: str,
    locator: str,
    confidence: str = "read",
) -> Because:
    """A link that rests on a published formula."""
    return Because(phrase(text), value, unit, source, locator, confidence)


def _daylight(given: Mapping[str, Any]) -> Answer:
    number_of_day = given["date"].timetuple().tm_yday
    hours = float(sun.day_length_spencer(given["latitude"], number_of_day))
    plain = float(sun.day_length_fao56(given["latitude"], number_of_day))
    return (
        {"day_length_h": round(hours, 3), "day_length_fao56_h": round(plain, 3)},
        (
            cited(
                "Sun's upper edge on the horizon, refraction counted (Spencer's declination)",
                round(hours, 3),
                "h",
                "spencer-1971",
                "declination series",
            ),
            cited(
                "FAO-56 leaves out refraction and the sun's width",
                round(plain, 3),
                "h",
                "allen-1998",
                "equations 24, 25 and 34",
            ),
        ),
        (),
    )


def _humidity(given: Mapping[str, Any]) -> Answer:
    air, relative = given["temperature"], given["relative_humidity"]
    pressure = given.get("pressure", 101.3)
    vapour = humidity.actual_vapour_pressure(air, relative / 100)
    if relative <= 0:
        raise BadInput("air without any moisture has no dew point", "relative humidity above 0 %")
    results = {
        "vapour_pressure_kpa": round(float(vapour), 4),
        "dew_point_c": round(float(humidity.dew_point(vapour)), 2),
        "frost_point_c": round(float(humidity.frost_point(vapour)), 2),
        "wet_bulb_c": round(float(humidity.wet_bulb(air, vapour, pressure)), 2),
    }
    because = (
        cited(
            "Vapour pressure: saturation pressure at the air's temperature times its relative humidity",
            results["vapour_pressure_kpa"],
            "kPa",
            "allen-1998",
            "equations 10 and 11",
        ),
        cited(
            "Wet bulb where evaporation and the air's heat balance, ventilated thermometer",
            results["wet_bulb_c"],
            "degC",
            "allen-1998",
            "equation 15",
        ),
    )
    notes = ("The frost point is meant for temperatures below freezing.",) if air > 5 else ()
    return results, because, notes


@dataclass
class _Day:
    """A day's inputs of reference evapotranspiration, with how each came about and what was missing."""

    given: Mapping[str, Any]
    extra: float
    doy: int
    links: list[Because]
    missing: list[str]

    def cite(self, text: str, value: float, unit: str, locator: str) -> None:
        self.links.append(cited(text, value, unit, "allen-1998", locator))

    def vapour(self) -> float:
        """Vapour pressure [kPa] from what is known of the day's moisture."""
        given, tmin = self.given, self.given["tmin"]
        if given.get("dew_point") is not None:
            value = float(humidity.actual_vapour_pressure_dew_point(given["dew_point"]))
            how, where = "Vapour pressure from the dew point", "equation 14"
        elif given.get("rh_min") is not None and given.get("rh_max") is not None:
            value = float(
                humidity.actual_vapour_pressure_extremes(
                    tmin, given["tmax"], given["rh_max"] / 100, given["rh_min"] / 100
                )
            )
            how, where = "Vapour pressure from the day's highest and lowest humidity", "equation 17"
        else:
            value = float(humidity.actual_vapour_pressure_dew_point(tmin))
            self.missing.append("humidity")
            how = (
                "No humidity given: the night is supposed to cool to its dew point (too moist in dry "
                "places)"
            )
            where = "equation 48"
        self.cite(how, round(value, 4), "kPa", where)
        return value

    def solar(self) -> float:
        """Solar radiation [MJ m-2 d-1] as given, from sunshine, or from the range of temperature."""
        given, latitude = self.given, self.given["latitude"]
        if given.get("solar") is not None:
            value = float(given["solar"])
            if value > self.extra:
                raise BadInput(
                    f"solar radiation {value:g} is more than the sun sends, {self.extra:.1f} MJ",
                    "in MJ/m2 a day",
                )
            self.links.append(computed("Solar radiation as given", value, "MJ m-2 d-1"))
            return value
        if given.get("sunshine") is not None:
            longest = float(sun.day_length_fao56(latitude, self.doy))
            if given["sunshine"] > longest + 0.25:
                raise BadInput(
                    f"{given['sunshine']:g} h of sunshine in a day of {longest:.1f} h",
                    "check the date",
                )
            value = float(
                evapotranspiration.solar_radiation_from_sunshine(
                    min(given["sunshine"], longest), latitude, self.doy
                )
            )
            how, where = "Solar radiation from hours of sunshine", "equation 35"
        else:
            value = float(
                evapotranspiration.solar_radiation_from_temperature_hargreaves(
                    given["tmin"], given["tmax"], latitude, self.doy, 0.16
                )
            )
            self.missing.append("sunshine")
            how = "No sun given: radiation from the day's range of temperature, inland coefficient 0.16"
            where = "equation 50"
        self.cite(how, round(value, 3), "MJ m-2 d-1", where)
        return value

    def wind(self) -> float:
        """Wind at 2 m [m s-1]."""
        given = self.given
        if given.get("wind") is None:
            self.missing.append("wind")
            self.cite("No wind given: 2 m/s, the mean of many stations", 2.0, "m s-1", "chapter 3")
            return 2.0
        value = float(
            evapotranspiration.wind_speed_2m_fao56(given["wind"], given.get("wind_height", 2.0))
        )
        self.cite("Wind at 2 m", round(value, 3), "m s-1", "equation 47")
        return value


def _reference_et(given: Mapping[str, Any]) -> Answer:
    latitude, elevation, tmin, tmax = (
        given[key] for key in ("latitude", "elevation", "tmin", "tmax")
    )
    if tmin > tmax:
        raise BadInput(f"tmin {tmin:g} is above tmax {tmax:g}", "check their order")
    doy = given["date"].timetuple().tm_yday
    known = _Day(
        given, float(sun.extraterrestrial_radiation_fao56(latitude, doy)), doy, links=[], missing=[]
    )
    vapour, solar, wind = known.vapour(), known.solar(), known.wind()
    net = float(
        evapotranspiration.net_radiation_fao56(tmin, tmax, vapour, solar, latitude, elevation, doy)
    )
    et0 = float(
        evapotranspiration.reference_evapotranspiration_fao56(
            tmin, tmax, vapour, solar, wind, latitude, elevation, doy
        )
    )
    estimated = f", {' and '.join(known.missing)} estimated" if known.missing else ""
    if len(known.missing) == 3:
        rough = float(
            evapotranspiration.reference_evapotranspiration_hargreaves(tmin, tmax, latitude, doy)
        )
        known.cite(
            "For comparison, Hargreaves from temperature alone",
            round(rough, 2),
            "mm d-1",
            "equation 52",
        )
    known.cite("Reference evapotranspiration", round(et0, 3), "mm d-1", "equation 6")
    results = {
        "et0_mm": round(et0, 3),
        "method": f"FAO-56 Penman-Monteith{estimated}",
        "ra_mj": round(known.extra, 3),
        "rs_mj": round(solar, 3),
        "rn_mj": round(net, 3),
    }
    return results, tuple(known.links), ()


def _hourly_from_file(path: Path) -> tuple[list[datetime], NDArray[np.float64]]:
    """Hourly temperatures from a CSV of time and temperature, in order, one row an hour."""
    times: list[datetime] = []
    values: list[float] = []
    with path.open(newline="", encoding="utf-8-sig") as file:
        rows = csv.reader(file)
        header = [cell.strip().lower() for cell in next(rows, [])]
        if len(header) < 2 or not header[0].startswith(("time", "date")):
            raise BadInput(f"{path}:1: an hourly file starts with a header", "time,temperature")
        fahrenheit = "f" in header[1].split("[")[-1].replace("degf", "f") and "[" in header[1]
        for line, row in enumerate(rows, start=2):
            try:
                times.append(datetime.fromisoformat(row[0].strip()))
                value = float(row[1])
            except (ValueError, IndexError):
                raise BadInput(
                    f"{path}:{line}: not a time and a temperature", "2025-11-01T00:00,8.4"
                ) from None
            values.append((value - 32) / 1.8 if fahrenheit else value)
            if not -60 <= values[-1] <= 60:
                raise BadInput(
                    f"{path}:{line}: {value:g} is not an air temperature",
                    "in degC, or head it [degF]",
                )
    steps = {(after - before) for before, after in pairwise(times)}
    if steps - {timedelta(hours=1)}:
        raise BadInput(
            f"{path}: the rows are not one hour apart", "fill the gaps first; nothing is guessed"
        )
    return times, np.array(values)


_NORTHERN_COLD = ((11, 1), (2, 28))
_SOUTHERN_COLD = ((5, 1), (8, 31))


def _hours(
    given: Mapping[str, Any], links: list[Because]
) -> tuple[list[date], NDArray[np.float64]]:
    """The day of every hour and its temperature [degC], read or made from daily extremes."""
    if given.get("hourly") is not None:
        times, temperatures = _hourly_from_file(given["hourly"])
        return [time.date() for time in times], temperatures
    if given.get("weather") is None or given.get("latitude") is None:
        raise BadInput(
            "chill needs --weather and --latitude, or --hourly", "daily or hourly temperatures"
        )
    series = fill_gaps(read_daily(given["weather"]))
    known = np.isfinite(series.tmin) & np.isfinite(series.tmax)
    if not known.all():
        raise BadInput(
            f"{given['weather']}: {int((~known).sum())} days have no temperature and cannot be filled",
            "give a record with fewer gaps",
        )
    temperatures = hourly_temperature_linvill(
        series.tmin, series.tmax, given["latitude"], series.day_of_year()
    ).ravel()
    how = ("Hours from daily extremes", None, "degC", "linvill-1990")
    links.append(cited(*how, "sine day, logarithmic night"))
    made = int(series.filled.sum())
    if made:
        links.append(computed(f"{made} days were filled by the gap policy", made, "d"))
    return [series.day(index // 24) for index in range(24 * len(series))], temperatures


def _chill(given: Mapping[str, Any]) -> Answer:
    links = [
        cited(
            "Chill portions: the Dynamic Model, run through each season from a fresh start",
            None,
            "CP",
            "fishman-1987",
            "two-step model with the published constants",
        ),
        cited(
            "Utah units fall when it is warm; positive Utah does not let them",
            None,
            "Utah unit",
            "richardson-1974",
            "unit table",
        ),
        computed(
            "These units do not convert into one another: eight warm hours a day can undo the portions while "
            "the hours still add up"
        ),
    ]
    stamps, temperatures = _hours(given, links)
    usual = _SOUTHERN_COLD if (given.get("latitude") or 0.0) < 0 else _NORTHERN_COLD
    begin, stop = given.get("from") or usual[0], given.get("to") or usual[1]
    seasons = _seasons(stamps, temperatures, begin, stop)
    if not seasons:
        raise BadInput(
            "the record holds no whole season",
            f"from {begin[0]:02d}-{begin[1]:02d} to {stop[0]:02d}-{stop[1]:02d}",
        )
    return {"seasons": seasons}, tuple(links), ()


def _seasons(
    stamps: list[date],
    temperatures: NDArray[np.float64],
    begin: tuple[int, int],
    stop: tuple[int, int],
) -> list[dict[str, Any]]:
    first_day, last_day = stamps[0], stamps[-1]
    found = []
    for ending in range(first_day.year, last_day.year + 1):
        try:
            last = date(ending, *stop)
        except ValueError:
            last = date(ending, stop[0], 28)
        start_year = ending if begin <= stop else ending - 1
        try:
            start = date(start_year, *begin)
        except ValueError:
            start = date(start_year, begin[0], 28)
        if start < first_day or last > last_day:
            continue
        days = np.array([start <= stamp <= last for stamp in stamps])
        part = temperatures[days]
        found.append(
            {
                "ending": ending,
                "portions": round(float(chill.chill_portions_fishman(part)[-1]), 2),
                "utah": round(float(np.sum(chill.chill_units_utah(part))), 1),
                "positive_utah": round(float(np.sum(chill.chill_units_positive_utah(part))), 1),
                "hours": round(float(np.sum(chill.chilling_hours(part)))),
                "gdh": round(float(np.sum(growing_degree_hours_anderson(part)))),
            }
        )
    return found


RECKONERS = (
    Reckoner(
        "daylight",
        "Hours of daylight at a latitude on a date.",
        (LATITUDE, Option("date", day, "date", "the day")),
        _daylight,
        ("day_length_h", "day_length_fao56_h"),
        "--latitude 41.7 --date 2026-06-21",
    ),
    Reckoner(
        "humidity",
        "Dew point, frost point and wet bulb of moist air.",
        (
            Option("temperature", measured("air_temperature"), "degC", "air temperature"),
            Option("relative-humidity", humidity_percent, "%", "relative humidity"),
            Option(
                "pressure",
                measured("air_pressure"),
                "kPa",
                "air pressure; 101.3 if left out",
                required=False,
            ),
        ),
        _humidity,
        ("vapour_pressure_kpa", "dew_point_c", "frost_point_c", "wet_bulb_c"),
        "--temperature 2 --relative-humidity 60",
    ),
    Reckoner(
        "reference-et",
        "Reference evapotranspiration of a day (FAO-56 Penman-Monteith).",
        (
            LATITUDE,
            Option("elevation", measured("elevation"), "m", "height above the sea"),
            Option("date", day, "date", "the day"),
            Option("tmin", measured("air_temperature"), "degC", "lowest temperature of the day"),
            Option("tmax", measured("air_temperature"), "degC", "highest temperature of the day"),
            Option("rh-min", humidity_percent, "%", "lowest relative humidity", required=False),
            Option("rh-max", humidity_percent, "%", "highest relative humidity", required=False),
            Option("dew-point", measured("air_temperature"), "degC", "dew point", required=False),
            Option("wind", measured("wind_speed"), "m s-1", "wind speed", required=False),
            Option(
                "wind-height",
                measured("instrument_height"),
                "m",
                "height of the wind gauge; 2 m if left out",
                required=False,
            ),
            Option(
                "sunshine", measured("sunshine"), "h", "hours of bright sunshine", required=False
            ),
            Option(
                "solar",
                measured("solar"),
                "MJ m-2 d-1",
                "solar radiation of the day",
                required=False,
            ),
        ),
        _reference_et,
        ("et0_mm", "method", "ra_mj", "rs_mj", "rn_mj"),
        "--latitude 50.8 --elevation 100 --date 2026-07-06 --tmin 12.3 --tmax 21.5 --rh-min 63 --rh-max 84 "
        '--wind "10 km/h" --wind-height 10 --sunshine 9.25',
    ),
    Reckoner(
        "chill",
        "Winter chill of each season in a record, by four models, with growing degree hours.",
        (
            Option("weather", existing_file, "file", "daily weather file", required=False),
            Option(
                "latitude",
                number(-90, 90, "latitude"),
                "deg",
                "latitude, for daily weather",
                required=False,
            ),
            Option(
                "from",
                month_day,
                "month-day",
                "first day of the season; 11-01 if left out (05-01 in the south)",
                required=False,
            ),
            Option(
                "to",
                month_day,
                "month-day",
                "last day of the season; 02-28 if left out (08-31 in the south)",
                required=False,
            ),
            Option(
                "hourly",
                existing_file,
                "file",
                "hourly CSV of time,temperature instead of daily weather",
                required=False,
            ),
        ),
        _chill,
        ("seasons",),
        "--weather weather.csv --latitude 41.7",
    ),
)
