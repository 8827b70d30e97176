"""Reference evapotranspiration of an hour, after FAO-56, chapter 4."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, at_least, floats, within
from bearwell.science.evapotranspiration import ALBEDO, EVAPORATED, KELVIN, saturation_slope_fao56
from bearwell.science.humidity import (
    atmospheric_pressure_fao56,
    psychrometric_constant_fao56,
    saturation_vapour_pressure,
)
from bearwell.science.sun import inverse_relative_distance_fao56, solar_declination_fao56

SOLAR: Final = 4.92  # MJ m-2 h-1, the solar constant 0.0820 a minute, FAO-56 eq. 28
STEFAN_BOLTZMANN_HOUR: Final = 2.043e-10  # MJ K-4 m-2 h-1, FAO-56 eq. 39 for an hour


def extraterrestrial_radiation_hourly_fao56(
    latitude: float,
    longitude: float,
    zone_longitude: float,
    day_of_year: ArrayLike,
    middle_hour: ArrayLike,
) -> Floats:
    """Solar radiation above the air over one hour of standard clock time.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    longitude : longitude, east positive [deg]
    zone_longitude : longitude of the middle of the time zone, east positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]
    middle_hour : standard clock time in the middle of the hour, 14.5 for 14 to 15 h [h]

    Returns
    -------
    extraterrestrial radiation, 0 while the sun is down [MJ m-2 h-1]

    Raises
    ------
    BadInput: when a latitude, longitude, day or hour is out of range

    Valid for
    ---------
    one hour; summer time is not standard time: take it off first

    Notes
    -----
    Equations 28 to 33. FAO-56 counts longitudes west of Greenwich as positive, here east is. Of an hour in
    which the sun rises or sets only the part with sun counts.

    References
    ----------
    allen-1998, equations 28 to 33
    """
    phi = np.deg2rad(within(latitude, "latitude", -90.0, 90.0))
    within(longitude, "longitude", -180.0, 180.0)
    day = within(day_of_year, "day of the year", 1.0, 366.0)
    clock = within(middle_hour, "hour", 0.0, 24.0)
    angle = 2.0 * np.pi * (day - 81.0) / 364.0  # FAO-56 eq. 33
    season = 0.1645 * np.sin(2.0 * angle) - 0.1255 * np.cos(angle) - 0.025 * np.sin(angle)  # eq. 32
    solar = clock + (longitude - zone_longitude) / 15.0 + season - 12.0  # FAO-56 eq. 31
    centre = np.pi / 12.0 * ((solar + 12.0) % 24.0 - 12.0)
    declination = solar_declination_fao56(day)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1.0, 1.0))  # FAO-56 eq. 25
    first = np.clip(centre - np.pi / 24.0, -sunset, sunset)  # FAO-56 eq. 29
    last = np.clip(centre + np.pi / 24.0, -sunset, sunset)  # FAO-56 eq. 30
    height = (last - first) * np.sin(phi) * np.sin(declination)
    height = height + np.cos(phi) * np.cos(declination) * (np.sin(last) - np.sin(first))
    distance = inverse_relative_distance_fao56(day)
    return floats(np.maximum(12.0 / np.pi * SOLAR * distance * height, 0.0))  # FAO-56 eq. 28


def net_radiation_hourly_fao56(
    temperature: ArrayLike,
    vapour_pressure: ArrayLike,
    solar_radiation: ArrayLike,
    clear_share: ArrayLike,
) -> Floats:
    """Radiation left to the grass reference over an hour.

    Parameters
    ----------
    temperature : mean air temperature of the hour [degC]
    vapour_pressure : actual vapour pressure [kPa]
    solar_radiation : solar radiation of the hour [MJ m-2 h-1]
    clear_share : solar over clear-sky radiation; at night that of the late afternoon [1]

    Returns
    -------
    net radiation, negative at night [MJ m-2 h-1]

    Raises
    ------
    BadInput: when a pressure, radiation or share is negative

    Valid for
    ---------
    one hour; a share above 1 counts as 1

    Notes
    -----
    Equations 38 to 40 with the constant of an hour.

    References
    ----------
    allen-1998, equations 38 to 40 and example 19
    """
    air = floats(temperature)
    vapour = at_least(vapour_pressure, "vapour pressure", 0.0)
    solar = at_least(solar_radiation, "solar radiation", 0.0)
    share = np.minimum(at_least(clear_share, "clear share", 0.0), 1.0)
    emitted = (
        STEFAN_BOLTZMANN_HOUR * (air + KELVIN) ** 4 * (0.34 - 0.14 * np.sqrt(vapour))
    )  # eq. 39
    lost = emitted * (1.35 * share - 0.35)  # FAO-56 eq. 39
    return floats((1.0 - ALBEDO) * solar - lost)  # FAO-56 eq. 38 and 40


def reference_evapotranspiration_hourly_fao56(
    temperature: ArrayLike,
    vapour_pressure: ArrayLike,
    net_radiation: ArrayLike,
    wind_speed: ArrayLike,
    elevation: float,
) -> Floats:
    """Reference evapotranspiration of an hour by Penman-Monteith of FAO-56.

    Parameters
    ----------
    temperature : mean air temperature of the hour [degC]
    vapour_pressure : actual vapour pressure [kPa]
    net_radiation : net radiation of the hour, negative at night [MJ m-2 h-1]
    wind_speed : wind speed at 2 m [m s-1]
    elevation : height above the sea [m]

    Returns
    -------
    reference evapotranspiration, never negative: dew is not credited [mm h-1]

    Raises
    ------
    BadInput: when a pressure or wind speed is negative

    Valid for
    ---------
    one hour

    Notes
    -----
    Equation 53, with a soil heat flux of 0.1 of the net radiation by day and 0.5 by night (equations 45
    and 46).

    References
    ----------
    allen-1998, equations 45, 46 and 53
    """
    air, net = floats(temperature), floats(net_radiation)
    wind = at_least(wind_speed, "wind speed", 0.0)
    vapour = at_least(vapour_pressure, "vapour pressure", 0.0)
    if np.any(np.isinf(net)):
        raise BadInput("net radiation must be a number")
    flux = np.where(net > 0.0, 0.1, 0.5) * net  # FAO-56 eq. 45 and 46
    slope = saturation_slope_fao56(air)
    gamma = psychrometric_constant_fao56(atmospheric_pressure_fao56(elevation))
    deficit = saturation_vapour_pressure(air) - vapour
    drying = gamma * 37.0 / (air + 273.0) * wind * deficit  # FAO-56 eq. 53
    lost = (EVAPORATED * slope * (net - flux) + drying) / (slope + gamma * (1.0 + 0.34 * wind))
    return floats(np.maximum(lost, 0.0))
