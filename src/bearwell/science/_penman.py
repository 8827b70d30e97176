"""Penman-Monteith of a day in one go: what reference_evapotranspiration_fao56 is made of, without detours.

A garden reckons a year of days for every site it looks at. Here every input is looked at once and every
common term is worked out once; the formulas one by one stand in their own functions, and a test holds the
two against each other.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, floats
from bearwell.science.sun import SOLAR_CONSTANT

# Below any radiation, so that the share of a polar night is that of nothing [MJ m-2 d-1].
_NOTHING = 1e-200


def _checked(values: ArrayLike, name: str, low: float, high: float = math.inf) -> Floats:
    array = floats(values)
    one: object = values
    if isinstance(one, float) and low <= one <= high:
        return array  # one place for many days
    if (array < low).any() or (high < math.inf and (array > high).any()):
        if high == math.inf:
            raise BadInput(said("{name} is below {low:g}", name=said(name), low=low))
        sentence = "{name} is outside {low:g} to {high:g}"
        raise BadInput(said(sentence, name=said(name), low=low, high=high))
    return array


def _saturated(air: Floats) -> Floats:
    return 0.6108 * np.exp(17.27 * air / (air + 237.3))  # FAO-56 eq. 11


def _extraterrestrial(phi: Floats, day: Floats) -> Floats:
    turn = (2.0 * math.pi / 365.0) * day
    delta = 0.409 * np.sin(turn - 1.39)  # FAO-56 eq. 24
    sine = np.sin(delta)
    cosine = np.sqrt(1.0 - sine * sine)  # the declination stays within a quarter turn
    reach = np.minimum(np.maximum(-np.tan(phi) * sine / cosine, -1.0), 1.0)  # eq. 25, its cosine
    arc = np.arccos(reach) * np.sin(phi) * sine  # FAO-56 eq. 21
    arc = arc + np.cos(phi) * cosine * np.sqrt(1.0 - reach * reach)  # the sine of eq. 25
    distance = 1.0 + 0.033 * np.cos(turn)  # FAO-56 eq. 23
    most = 1440.0 / math.pi * SOLAR_CONSTANT  # FAO-56 eq. 21, minutes of a day
    return floats(np.maximum(most * distance * arc, 0.0))


def daily_penman_monteith(
    tmin: ArrayLike,
    tmax: ArrayLike,
    vapour_pressure: ArrayLike,
    solar_radiation: ArrayLike,
    wind_speed: ArrayLike,
    latitude: ArrayLike,
    elevation: ArrayLike,
    day_of_year: ArrayLike,
    soil_heat_flux: ArrayLike,
) -> Floats:
    """FAO-56 equation 6 with all it rests on; never negative [mm d-1]."""
    low, high = _checked(tmin, "temperature", -90.0), _checked(tmax, "temperature", -90.0, 100.0)
    if (high < low).any():
        raise BadInput("a daily maximum temperature is below its minimum")
    vapour = _checked(vapour_pressure, "vapour pressure", 0.0)
    solar = _checked(solar_radiation, "solar radiation", 0.0)
    wind = _checked(wind_speed, "wind speed", 0.0)
    phi = np.deg2rad(_checked(latitude, "latitude", -90.0, 90.0))
    day = _checked(day_of_year, "day of year", 1.0, 366.0)
    height = _checked(elevation, "elevation", -500.0, 9000.0)

    clear = (0.75 + 2e-5 * height) * _extraterrestrial(phi, day)  # FAO-56 eq. 37
    share = np.minimum((solar + _NOTHING) / (clear + _NOTHING), 1.0)  # 1 where the sun never rises
    hot, cold = high + 273.16, low + 273.16  # FAO-56 eq. 39
    hot, cold = hot * hot, cold * cold
    black = (4.903e-9 / 2.0) * (hot * hot + cold * cold)  # FAO-56 eq. 39
    lost = black * (0.34 - 0.14 * np.sqrt(vapour)) * (1.35 * share - 0.35)  # FAO-56 eq. 39
    net = 0.77 * solar - lost - floats(soil_heat_flux)  # FAO-56 eq. 38 and 40

    mean = 0.5 * (low + high)  # FAO-56 eq. 9
    deficit = 0.5 * (_saturated(low) + _saturated(high)) - vapour  # FAO-56 eq. 12
    spread = mean + 237.3
    slope = 4098.0 * _saturated(mean) / (spread * spread)  # FAO-56 eq. 13
    pressure = 101.3 * ((293.0 - 0.0065 * height) / 293.0) ** 5.26  # FAO-56 eq. 7
    gamma = 0.665e-3 * pressure  # FAO-56 eq. 8
    drying = (900.0 * gamma) * wind * deficit / (mean + 273.0)  # FAO-56 eq. 6
    total = (0.408 * slope * net + drying) / (slope + gamma * (1.0 + 0.34 * wind))  # FAO-56 eq. 6
    return floats(np.maximum(total, 0.0))
