"""Reckoners of light, air and water demand: daylight, humidity, reference-et."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bearwell.errors import BadInput
from bearwell.reasons import Because, Value, computed, phrase
from bearwell.reckon.chill import CHILL
from bearwell.reckon.model import (
    Answer,
    Option,
    Reckoner,
    day,
    humidity_percent,
    measured,
    number,
)
from bearwell.said import listed, said
from bearwell.science import evapotranspiration, humidity, sun

LATITUDE = Option(
    "latitude", number(-90, 90, said("latitude")), "deg", "latitude, negative in the south"
)


def cited(
    text: str,
    value: float | str | None,
    unit: str,
    source: str,
    locator: str,
    confidence: str = "read",
    **values: Value,
) -> Because:
    """A link that rests on a published formula."""
    return Because(phrase(text, **values), value, unit, source, locator, confidence)


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
            self.missing.append(said("humidity"))
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
                    said(
                        "solar radiation {value:g} is more than the sun sends, {extra:.1f} MJ",
                        value=value,
                        extra=self.extra,
                    ),
                    "in MJ/m2 a day",
                )
            self.links.append(computed("Solar radiation as given", value, "MJ m-2 d-1"))
            return value
        if given.get("sunshine") is not None:
            longest = float(sun.day_length_fao56(latitude, self.doy))
            if given["sunshine"] > longest + 0.25:
                raise BadInput(
                    said(
                        "{sunshine:g} h of sunshine in a day of {longest:.1f} h",
                        sunshine=given["sunshine"],
                        longest=longest,
                    ),
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
            self.missing.append(said("sunshine"))
            how = "No sun given: radiation from the day's range of temperature, inland coefficient 0.16"
            where = "equation 50"
        self.cite(how, round(value, 3), "MJ m-2 d-1", where)
        return value

    def wind(self) -> float:
        """Wind at 2 m [m s-1]."""
        given = self.given
        if given.get("wind") is None:
            self.missing.append(said("wind"))
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
        raise BadInput(
            said("tmin {tmin:g} is above tmax {tmax:g}", tmin=tmin, tmax=tmax), "check their order"
        )
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
        "method": said(
            "FAO-56 Penman-Monteith, {listed} estimated"
            if known.missing
            else "FAO-56 Penman-Monteith",
            listed=listed(known.missing, "{one} and {other}"),
        ),
        "ra_mj": round(known.extra, 3),
        "rs_mj": round(solar, 3),
        "rn_mj": round(net, 3),
    }
    return results, tuple(known.links), ()


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
    CHILL,
)
