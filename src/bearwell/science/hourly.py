"""Hours of a day from its minimum and maximum."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, daily_pair, series
from bearwell.science.sun import sunrise_sunset_spencer

LAG: Final = 4.0  # h, Linvill 1990: the sine's half period is four hours longer than the day
SHORT_NIGHT: Final = 4.0  # h, guard of ours: below it the pre-dawn divisor is mended, see Notes


def hourly_temperature_linvill(
    tmin: ArrayLike, tmax: ArrayLike, latitude: float, day_of_year: ArrayLike
) -> Floats:
    """Hourly air temperature: a sine while the sun is up, a logarithmic fall through the night.

    Parameters
    ----------
    tmin : daily minimum air temperature of consecutive days, shape (n,) [degC]
    tmax : daily maximum air temperature, shape (n,) [degC]
    latitude : latitude of the site, north positive [deg]
    day_of_year : number of each day, shape (n,) [d]

    Returns
    -------
    temperature at the solar hours 0 to 23 of each day, shape (n, 24) [degC]

    Raises
    ------
    BadInput: when the series differ in length, a maximum is below its minimum, or the latitude or
        a day is out of range

    Valid for
    ---------
    consecutive days, solar time. The first and last day take themselves as their missing
    neighbour. A missing minimum or maximum makes the hours that need it missing, in the neighbour
    nights too. A day without sunrise stands at its mean all day.

    Notes
    -----
    With DL the day length, SR and SS sunrise and sunset, N the night in hours:
    day, SR < h <= SS: T = Tmin + (Tmax - Tmin) sin(pi (h - SR) / (DL + 4));
    evening: T = Ts - (Ts - Tmin of tomorrow) ln(h - SS + 1) / ln(N + 1), Ts the sine at sunset;
    before dawn: T = Ts of yesterday - (Ts of yesterday - Tmin) ln(t + 1) / ln(N), t hours since
    yesterday's sunset. The pre-dawn divisor is the one in general use in chill work and lacks the
    + 1 of its numerator, so the last hours before sunrise pass below Tmin by at most
    (Ts - Tmin) (ln(N + 1) / ln(N) - 1): 2.6 % of the fall in a night of 14 hours. With + 1 in both
    places the fall would end at Tmin; chill portions published for daily records were made without
    it. For nights shorter than 4 h, where the quotient runs away, + 1 is used in both places.

    References
    ----------
    linvill-1990, pages 14 to 16
    luedeling-chillr, hourly temperatures: the divisors as used in chill work
    """
    low, high = daily_pair(series(tmin, "tmin"), series(tmax, "tmax"))
    days = series(day_of_year, "day of year")
    if not low.shape == high.shape == days.shape:
        raise BadInput("tmin, tmax and day of year differ in length")
    if low.size == 0:
        return np.empty((0, 24))
    sunrise, sunset = sunrise_sunset_spencer(latitude, days)
    length = sunset - sunrise
    at_sunset = low + (high - low) * np.sin(np.pi * length / (length + LAG))  # Linvill 1990, day

    def yesterday(values: Floats) -> Floats:
        return np.concatenate((values[:1], values[:-1]))

    def tomorrow(values: Floats) -> Floats:
        return np.concatenate((values[1:], values[-1:]))

    hour = np.arange(24.0)
    rise, fall = sunrise[:, None], sunset[:, None]
    wave = np.sin(np.pi * (hour - rise) / (length[:, None] + LAG))  # Linvill 1990, day
    day = low[:, None] + (high - low)[:, None] * wave

    night = 24.0 - sunset + tomorrow(sunrise)
    since = np.log(np.maximum(hour - fall, 0.0) + 1.0)
    # A sun that never sets leaves no night: its divisor ln(1) is never used but must not be 0.
    evening_drop = (at_sunset - tomorrow(low)) / np.log(np.maximum(night, 1e-9) + 1.0)  # night
    evening = at_sunset[:, None] - evening_drop[:, None] * since

    last_night = 24.0 - yesterday(sunset) + sunrise
    divisor = np.where(last_night < SHORT_NIGHT, last_night + 1.0, last_night)  # see Notes
    since = np.log(hour + 24.0 - yesterday(sunset)[:, None] + 1.0)
    start = yesterday(at_sunset)
    dawn_drop = (start - low) / np.log(np.maximum(divisor, 1.0 + 1e-9))
    dawn = start[:, None] - dawn_drop[:, None] * since

    hours = np.where(hour <= rise, dawn, np.where(hour <= fall, day, evening))
    hours = np.where(length[:, None] >= 24.0, day, hours)
    mean = ((low + high) / 2.0)[:, None]
    return np.where(length[:, None] <= 0.0, mean, hours)
