"""Position of the sun, day length and radiation at the top of the atmosphere."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.science._arrays import Floats, floats, within

SOLAR_CONSTANT: Final = 0.0820  # MJ m-2 min-1, FAO-56 eq. 21
RISING_SUN: Final = -0.8333  # deg, upper limb on the horizon with refraction, Almorox et al. (2005)


class SunTimes(NamedTuple):
    """Sunrise and sunset in hours of solar time."""

    sunrise: Floats
    sunset: Floats


def _latitude(latitude: ArrayLike) -> Floats:
    return np.deg2rad(within(latitude, "latitude", -90.0, 90.0))


def _day(day_of_year: ArrayLike) -> Floats:
    return within(day_of_year, "day of year", 1.0, 366.0)


def _arc(cosine: Floats) -> Floats:
    """Half the day's arc; a cosine beyond 1 is a night, beyond -1 a day without end."""
    return floats(np.arccos(np.clip(cosine, -1.0, 1.0)))


def solar_declination_fao56(day_of_year: ArrayLike) -> Floats:
    """Declination of the sun on a day, by the one-term series of FAO-56.

    Parameters
    ----------
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    solar declination, shape of the input [rad]

    Raises
    ------
    BadInput: when a day is outside 1 to 366

    Valid for
    ---------
    any day of any year; up to 0.026 rad away from the series of Spencer, at the end of September

    Notes
    -----
    Equation 24: delta = 0.409 sin(2 pi J / 365 - 1.39); J is day_of_year.

    References
    ----------
    allen-1998, equation 24
    """
    return floats(0.409 * np.sin(2.0 * np.pi * _day(day_of_year) / 365.0 - 1.39))  # eq. 24


def solar_declination_spencer(day_of_year: ArrayLike) -> Floats:
    """Declination of the sun on a day, by the Fourier series of Spencer.

    Parameters
    ----------
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    solar declination, shape of the input [rad]

    Raises
    ------
    BadInput: when a day is outside 1 to 366

    Valid for
    ---------
    any day of any year; the series is closer to the almanac than the one of FAO-56

    Notes
    -----
    gamma = 2 pi (J - 1) / 365 is the day angle; J is day_of_year.

    References
    ----------
    spencer-1971, series for declination
    """
    angle = 2.0 * np.pi * (_day(day_of_year) - 1.0) / 365.0  # Spencer 1971, day angle
    return floats(
        0.006918  # Spencer 1971, declination series, this and the next six terms
        - 0.399912 * np.cos(angle)
        + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2.0 * angle)
        + 0.000907 * np.sin(2.0 * angle)
        - 0.002697 * np.cos(3.0 * angle)
        + 0.00148 * np.sin(3.0 * angle)
    )


def inverse_relative_distance_fao56(day_of_year: ArrayLike) -> Floats:
    """Inverse of the distance from earth to sun, relative to its mean.

    Parameters
    ----------
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    inverse relative distance, shape of the input [1]

    Raises
    ------
    BadInput: when a day is outside 1 to 366

    Valid for
    ---------
    any day of any year

    Notes
    -----
    Equation 23: d_r = 1 + 0.033 cos(2 pi J / 365).

    References
    ----------
    allen-1998, equation 23
    """
    return floats(1.0 + 0.033 * np.cos(2.0 * np.pi * _day(day_of_year) / 365.0))  # eq. 23


def sunset_hour_angle(latitude: ArrayLike, declination: ArrayLike) -> Floats:
    """Hour angle of the geometric sunset: the centre of the sun on a flat horizon.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    declination : solar declination [rad]

    Returns
    -------
    sunset hour angle, 0 in the polar night, pi in the polar day [rad]

    Raises
    ------
    BadInput: when a latitude is outside -90 to 90

    Valid for
    ---------
    every latitude, the polar circles included

    Notes
    -----
    Equation 25: omega_s = arccos(-tan(phi) tan(delta)).

    References
    ----------
    allen-1998, equation 25
    """
    return _arc(floats(-np.tan(_latitude(latitude)) * np.tan(floats(declination))))  # eq. 25


def extraterrestrial_radiation_fao56(latitude: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Solar radiation of a day on a horizontal plane at the top of the atmosphere.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    extraterrestrial radiation, shape of the inputs broadcast together [MJ m-2 d-1]

    Raises
    ------
    BadInput: when a latitude or a day is out of range

    Valid for
    ---------
    daily step, every latitude; 0 in the polar night

    Notes
    -----
    Equation 21: R_a = 24*60/pi G_sc d_r (omega_s sin(phi) sin(delta)
    + cos(phi) cos(delta) sin(omega_s)); G_sc is the solar constant.

    References
    ----------
    allen-1998, equation 21
    """
    phi = _latitude(latitude)
    delta = solar_declination_fao56(day_of_year)
    omega = sunset_hour_angle(latitude, delta)
    arc = omega * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(omega)
    minutes = 24.0 * 60.0  # eq. 21, minutes of a day
    distance = inverse_relative_distance_fao56(day_of_year)
    return floats(np.maximum(minutes / np.pi * SOLAR_CONSTANT * distance * arc, 0.0))  # eq. 21


def day_length_fao56(latitude: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Hours of daylight from the geometric sunset, as FAO-56 sets them against sunshine hours.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    day length, 0 in the polar night, 24 in the polar day [h]

    Raises
    ------
    BadInput: when a latitude or a day is out of range

    Valid for
    ---------
    daily step, every latitude; 7 to 14 minutes shorter than a day that counts refraction

    Notes
    -----
    Equation 34: N = 24 omega_s / pi.

    References
    ----------
    allen-1998, equation 34
    """
    return floats(24.0 / np.pi * sunset_hour_angle(latitude, solar_declination_fao56(day_of_year)))


def day_length_spencer(latitude: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Hours from sunrise to sunset, the sun's upper limb seen through the refracting air.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    day length, 0 in the polar night, 24 in the polar day [h]

    Raises
    ------
    BadInput: when a latitude or a day is out of range

    Valid for
    ---------
    daily step, every latitude, a level horizon

    Notes
    -----
    cos(omega) = (sin(-0.8333 deg) - sin(phi) sin(delta)) / (cos(phi) cos(delta)), delta by Spencer;
    the day is 2 omega / 15 with omega in degrees.

    References
    ----------
    spencer-1971, series for declination
    almorox-2005, the horizon of -0.8333 degrees
    """
    phi = _latitude(latitude)
    delta = solar_declination_spencer(day_of_year)
    horizon = np.sin(np.deg2rad(RISING_SUN))
    cosine = (horizon - np.sin(phi) * np.sin(delta)) / (np.cos(phi) * np.cos(delta))  # Almorox 2005
    return floats(24.0 / np.pi * _arc(floats(cosine)))


def sunrise_sunset_spencer(latitude: ArrayLike, day_of_year: ArrayLike) -> SunTimes:
    """Sunrise and sunset in solar time, half the day before and after noon.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    sunrise, 12 in the polar night, 0 in the polar day [h]
    sunset, 12 in the polar night, 24 in the polar day [h]

    Raises
    ------
    BadInput: when a latitude or a day is out of range

    Valid for
    ---------
    local solar time (the sun is highest at 12); not clock time

    Notes
    -----
    12 -/+ half of the day length of Spencer.

    References
    ----------
    spencer-1971, series for declination
    """
    half = day_length_spencer(latitude, day_of_year) / 2.0
    return SunTimes(floats(12.0 - half), floats(12.0 + half))
