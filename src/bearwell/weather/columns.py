"""What the heading of a column means: which weather it holds, and in which unit."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

_NAMES = {
    "date": "date datum data fecha time datetime date_time timestamp yyyymmdd dates"
    " date_local valid_time",
    "year": "year yr yyyy ano anio annee jahr anno",
    "month": "month mo mes mois monat mese",
    "day": "day dy dia jour tag giorno day_of_month",
    "doy": "doy yday jday day_of_year julian_day",
    "hour": "hour hr hora_utc",
    "station": "station id station_id indicativo usaf",
    "element": "element attr attribute datatype parameter",
    "value": "value data_value",
    "qflag": "qflag q_flag",
    "filled": "filled",
    "air": "temp temperature air_temperature air_temp t2m tair t_air ta temperature_2m temperatura"
    " dry_bulb drybulb dry_bulb_temperature",
    "tmax": "tmax t_max maxt max_t tx maximum maxima max high max_temp temp_max maxtemp tempmax"
    " maximum_temperature max_temperature temperature_max temperature_2m_max t2m_max tasmax tmmx"
    " air_temperature_max high_temp temp_high temperatura_maxima temp_maxima tmaxima"
    " maximale hochst massima",
    "tmin": "tmin t_min mint min_t tn minimum minima min low min_temp temp_min mintemp tempmin"
    " minimum_temperature min_temperature temperature_min temperature_2m_min t2m_min tasmin tmmn"
    " air_temperature_min low_temp temp_low temperatura_minima temp_minima tminima"
    " minimale tiefst minima_temperatura",
    "rain": "rain prcp precip precipitation precipitation_sum prectotcorr prectot rainfall lluvia"
    " precipitacion prec rr niederschlag pluie pioggia ppt rain_sum",
    "rh_min": "rh_min rhmin min_rh rhmn relative_humidity_min relative_humidity_2m_min",
    "rh_max": "rh_max rhmax max_rh rhmx relative_humidity_max relative_humidity_2m_max",
    "dew_point": "dew_point dewpoint td tdew t2mdew adpt dew dew_point_2m_mean dewpoint_2m_mean",
    "wind": "wind wind_speed windspeed awnd ws2m u2 vel_media viento wind_speed_mean"
    " wind_speed_10m_mean windspeed_10m_mean",
    "day_seconds": "dayl",
    "sunshine": "sunshine sun sol tsun sunshine_hours sunshine_duration insolation",
    "solar": "solar srad solar_radiation radiation rs shortwave_radiation_sum allsky_sfc_sw_dwn",
}
_MEANING = {name: meaning for meaning, names in _NAMES.items() for name in names.split()}

WEATHER = (
    "tmin",
    "tmax",
    "rain",
    "rh_min",
    "rh_max",
    "dew_point",
    "wind",
    "sunshine",
    "solar",
)
TEMPERATURES = ("tmin", "tmax", "dew_point")

# Spellings of units in a heading, for the families a weather column can have.
_TEMPERATURE = {
    "c": "degC",
    "degc": "degC",
    "deg_c": "degC",
    "celsius": "degC",
    "degrees_celsius": "degC",
    "f": "degF",
    "degf": "degF",
    "deg_f": "degF",
    "fahrenheit": "degF",
    "degrees_fahrenheit": "degF",
    "k": "kelvin",
    "kelvin": "kelvin",
    "0_1_c": "tenths",
    "0_1_degc": "tenths",
    "tenths": "tenths",
    "tenths_c": "tenths",
    "tenths_degc": "tenths",
    "tenths_of_degc": "tenths",
}
_DEPTH = {
    "mm": "mm",
    "mm_day": "mm",
    "mm_d": "mm",
    "cm": "cm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "0_1_mm": "tenths",
    "tenths": "tenths",
    "tenths_mm": "tenths",
    "tenths_of_mm": "tenths",
    "mm_day_1": "mm",
}
_SPEED = {
    "m_s": "m s-1",
    "ms": "m s-1",
    "m_s_1": "m s-1",
    "km_h": "km/h",
    "kmh": "km/h",
    "mph": "mph",
    "mp_h": "mph",
    "kn": "knots",
    "knots": "knots",
    "tenths": "tenths",
}
_HUMIDITY = {"pct": "%", "percent": "%", "": "%"}
_SUN = {"h": "h", "hours": "h", "hour": "h", "hr": "h", "s": "s", "min": "min", "minutes": "min"}
_RADIATION = {
    "mj": "MJ",
    "mj_m2": "MJ",
    "mj_m_2": "MJ",
    "mj_m2_d": "MJ",
    "mj_m2_day": "MJ",
    "mj_m_2_d_1": "MJ",
    "mj_m_2_day": "MJ",
    "kw_hr_m_2_day": "kWh",
    "kwh": "kWh",
    "kwh_m2": "kWh",
    "wh": "Wh",
    "wh_m2": "Wh",
}
UNITS: dict[str, dict[str, str]] = {
    "tmin": _TEMPERATURE,
    "tmax": _TEMPERATURE,
    "air": _TEMPERATURE,
    "dew_point": _TEMPERATURE,
    "rain": _DEPTH,
    "wind": _SPEED,
    "rh_min": _HUMIDITY,
    "rh_max": _HUMIDITY,
    "sunshine": _SUN,
    "solar": _RADIATION,
}
_BRACKET = re.compile(r"[\[(]\s*([^\])]*?)\s*[\])]\s*$")


@dataclass(frozen=True, slots=True)
class Heading:
    """One column: its place, what it holds ("" when nothing we read), its unit as written or None.

    ``unknown_unit`` keeps a unit that was written but that we cannot read.
    """

    place: int
    text: str
    meaning: str
    unit: str | None = None
    unknown_unit: str = ""


def plain(text: str) -> str:
    """A heading in small letters without accents, other signs turned into underscores."""
    decomposed = unicodedata.normalize("NFKD", text.strip().lower())
    bare = "".join(letter for letter in decomposed if not unicodedata.combining(letter))
    return re.sub(r"[^a-z0-9%]+", "_", bare).strip("_")


def heading(place: int, text: str) -> Heading:
    """Read one heading, such as "tmin [degF]", "tmin_c", "T.Max" or "temperature_2m_max (°C)"."""
    written = _BRACKET.search(text)
    name = plain(text[: written.start()] if written else text)
    unit_text = written[1] if written else ""
    meaning = _MEANING.get(name, "")
    if not meaning and not written:
        for cut in range(1, min(4, name.count("_") + 1)):
            head, tail = name.rsplit("_", cut)[0], "_".join(name.rsplit("_", cut)[1:])
            if (found := _MEANING.get(head, "")) and tail in UNITS.get(found, {}):
                return Heading(place, text, found, UNITS[found][tail])
    if not meaning or meaning not in UNITS or not unit_text:
        return Heading(place, text, meaning)
    spelled = plain(unit_text.replace("°", " ").replace("º", " ")).replace("%", "")
    unit = UNITS[meaning].get(spelled)
    return Heading(place, text, meaning, unit, "" if unit else unit_text)


def headings(row: list[str]) -> list[Heading]:
    """Every heading of a row."""
    return [heading(place, text) for place, text in enumerate(row)]


def is_header(found: list[Heading]) -> bool:
    """Whether a row names a date and at least one kind of weather (or an element and its value)."""
    meanings = {one.meaning for one in found}
    dated = (
        "date" in meanings
        or {"year", "month", "day"} <= meanings
        or {"year", "doy"} <= meanings
        or "day" in meanings
    )
    return dated and (bool(meanings & set(WEATHER)) or {"element", "value"} <= meanings)
