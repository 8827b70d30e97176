"""Reference evapotranspiration from what a station measured, by the rules of FAO-56 for what it did not."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.science._arrays import Floats, daily_pair, floats
from bearwell.science.evapotranspiration import (
    reference_evapotranspiration_fao56,
    reference_evapotranspiration_hargreaves,
    solar_radiation_from_sunshine,
    solar_radiation_from_temperature_hargreaves,
    wind_speed_2m_fao56,
)
from bearwell.science.humidity import (
    actual_vapour_pressure_dew_point,
    actual_vapour_pressure_extremes,
)
from bearwell.science.sun import extraterrestrial_radiation_fao56

USUAL_WIND = 2.0  # m s-1, mean of over 2000 stations, FAO-56 chapter 3
INLAND = 0.16  # 1, radiation from the range of temperature inland, FAO-56 eq. 50


class _Known(NamedTuple):
    """What was measured beside temperature, NaN where it was not; every array of one length."""

    dew_point: Floats
    rh_min: Floats
    rh_max: Floats
    wind: Floats
    sunshine: Floats
    solar: Floats


class BestReference(NamedTuple):
    """Reference evapotranspiration [mm d-1], how many of humidity, wind and sun were known, wind at 2 m."""

    et0: Floats
    known: Floats
    wind: Floats


def best_reference_evapotranspiration_fao56(
    tmin: ArrayLike,
    tmax: ArrayLike,
    latitude: float,
    elevation: float,
    day_of_year: ArrayLike,
    dew_point: ArrayLike,
    humidity_min: ArrayLike,
    humidity_max: ArrayLike,
    wind_speed: ArrayLike,
    sunshine: ArrayLike,
    solar_radiation: ArrayLike,
    wind_height: float = 2.0,
) -> BestReference:
    """Reference evapotranspiration by Penman-Monteith where enough is known, else by Hargreaves.

    Parameters
    ----------
    tmin : daily minimum air temperature, shape (n,) [degC]
    tmax : daily maximum air temperature, shape (n,) [degC]
    latitude : latitude, north positive [deg]
    elevation : height above the sea [m]
    day_of_year : number of the day, 1 January is 1, shape (n,) [d]
    dew_point : dew point, NaN where unknown, as all that follow, shape (n,) or one value [degC]
    humidity_min : lowest relative humidity of the day, 0 to 1 [1]
    humidity_max : highest relative humidity of the day, 0 to 1 [1]
    wind_speed : wind speed at the gauge [m s-1]
    sunshine : hours of bright sunshine [h]
    solar_radiation : solar radiation [MJ m-2 d-1]
    wind_height : height of the wind gauge [m]

    Returns
    -------
    et0 : reference evapotranspiration, NaN where a temperature is missing [mm d-1]
    known : how many of humidity, wind and sun were measured, 0 to 3 [count]
    wind : wind at 2 m, the usual one where unknown [m s-1]

    Raises
    ------
    BadInput: when a maximum is below its minimum, or a latitude, day or elevation is out of range

    Valid for
    ---------
    daily step. Two of the three measured are taken for enough; with fewer, Hargreaves stands in

    Notes
    -----
    FAO-56 chapter 3: without humidity the night is taken to cool to its dew point (equation 48), without
    wind 2 m s-1 stand in, without sun the range of temperature does (equation 50).

    References
    ----------
    allen-1998, chapter 3, equations 6, 14, 17, 35, 47, 48, 50 and 52
    """
    low, high = (np.atleast_1d(one) for one in daily_pair(tmin, tmax))
    day = np.broadcast_to(floats(day_of_year), low.shape)
    weather = _Known(
        *(
            np.broadcast_to(floats(one), low.shape)
            for one in (
                dew_point, humidity_min, humidity_max, wind_speed, sunshine, solar_radiation,
            )
        )
    )  # fmt: skip
    rough = reference_evapotranspiration_hargreaves(low, high, latitude, day)
    humid = np.isfinite(weather.dew_point) | (
        np.isfinite(weather.rh_min) & np.isfinite(weather.rh_max)
    )
    sunny = np.isfinite(weather.solar) | np.isfinite(weather.sunshine)
    windy = np.isfinite(weather.wind)
    known = humid.astype(float) + sunny + windy
    wind = np.full(low.shape, USUAL_WIND)
    if windy.any():
        wind[windy] = wind_speed_2m_fao56(weather.wind[windy], wind_height)
    enough = known >= 2
    if not enough.any():
        return BestReference(rough, known, wind)
    vapour = _vapour(low, high, weather)
    solar = _solar(low, high, latitude, day, weather)
    fine = reference_evapotranspiration_fao56(
        low, high, vapour, solar, wind, latitude, elevation, day
    )
    return BestReference(np.where(enough, fine, rough), known, wind)


def _vapour(low: Floats, high: Floats, weather: _Known) -> Floats:
    """Vapour pressure [kPa] of each day by the best that is known."""
    vapour = actual_vapour_pressure_dew_point(low)  # FAO-56 eq. 48
    both = np.isfinite(weather.rh_min) & np.isfinite(weather.rh_max)
    if both.any():
        vapour[both] = actual_vapour_pressure_extremes(
            low[both],
            high[both],
            np.clip(weather.rh_max[both], 0, 1),
            np.clip(weather.rh_min[both], 0, 1),
        )
    dew = np.isfinite(weather.dew_point)
    if dew.any():
        # No air is moister than saturated at the day's mean: a dew point above it is a slip of the record.
        most = (low[dew] + high[dew]) / 2
        vapour[dew] = actual_vapour_pressure_dew_point(np.minimum(weather.dew_point[dew], most))
    return vapour


def _solar(low: Floats, high: Floats, latitude: float, day: Floats, weather: _Known) -> Floats:
    """Solar radiation [MJ m-2 d-1] of each day by the best that is known."""
    solar = solar_radiation_from_temperature_hargreaves(low, high, latitude, day, INLAND)
    sunny = np.isfinite(weather.sunshine)
    if sunny.any():
        solar[sunny] = solar_radiation_from_sunshine(weather.sunshine[sunny], latitude, day[sunny])
    measured = np.isfinite(weather.solar)
    if measured.any():
        most = extraterrestrial_radiation_fao56(latitude, day[measured])
        solar[measured] = np.minimum(weather.solar[measured], most)
    return solar
