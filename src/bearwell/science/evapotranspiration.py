"""Reference evapotranspiration and the radiation that drives it, after FAO-56."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.science._arrays import Floats, at_least, daily_pair, floats, within
from bearwell.science._penman import daily_penman_monteith
from bearwell.science.humidity import (
    saturation_vapour_pressure,
)
from bearwell.science.sun import day_length_fao56, extraterrestrial_radiation_fao56

EVAPORATED: Final = 0.408  # mm per MJ m-2, 1/2.45, FAO-56 eq. 20
ALBEDO: Final = 0.23  # 1, the grass reference, FAO-56 eq. 38
STEFAN_BOLTZMANN: Final = 4.903e-9  # MJ K-4 m-2 d-1, FAO-56 eq. 39
KELVIN: Final = 273.16  # K at 0 degC as written in FAO-56 eq. 39


def saturation_slope_fao56(temperature: ArrayLike) -> Floats:
    """Slope of the saturation vapour pressure curve.

    Parameters
    ----------
    temperature : air temperature [degC]

    Returns
    -------
    slope at the temperature, shape of the input [kPa degC-1]

    Raises
    ------
    BadInput: when a temperature is outside -90 to 100

    Valid for
    ---------
    daily step with the daily mean

    Notes
    -----
    Equation 13: Delta = 4098 e0(T)/(T + 237.3)^2.

    References
    ----------
    allen-1998, equation 13
    """
    air = floats(temperature)
    return floats(4098.0 * saturation_vapour_pressure(air) / (air + 237.3) ** 2)  # FAO-56 eq. 13


def wind_speed_2m_fao56(wind_speed: ArrayLike, height: ArrayLike) -> Floats:
    """Wind speed at 2 m above grass from a gauge at another height.

    Parameters
    ----------
    wind_speed : wind speed at the gauge [m s-1]
    height : height of the gauge above the ground [m]

    Returns
    -------
    wind speed at 2 m, shape of the inputs [m s-1]

    Raises
    ------
    BadInput: when a speed is negative or a gauge is lower than 0.5 m

    Valid for
    ---------
    gauges over short grass

    Notes
    -----
    Equation 47: u2 = uz 4.87/ln(67.8 z - 5.42).

    References
    ----------
    allen-1998, equation 47
    """
    gauge = at_least(height, "height of the wind gauge", 0.5)
    speed = at_least(wind_speed, "wind speed", 0.0)
    return floats(speed * 4.87 / np.log(67.8 * gauge - 5.42))  # FAO-56 eq. 47


def solar_radiation_from_sunshine(
    sunshine: ArrayLike, latitude: ArrayLike, day_of_year: ArrayLike
) -> Floats:
    """Solar radiation of a day from its hours of bright sunshine, by Angstrom's line.

    Parameters
    ----------
    sunshine : hours of bright sunshine [h]
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    solar radiation, shape of the inputs [MJ m-2 d-1]

    Raises
    ------
    BadInput: when sunshine is negative, or the latitude or a day is out of range

    Valid for
    ---------
    daily step; sunshine beyond the length of the day counts as a full day

    Notes
    -----
    Equation 35: Rs = (0.25 + 0.50 n/N) Ra, the values where none were fitted for the place.

    References
    ----------
    allen-1998, equation 35
    """
    hours = at_least(sunshine, "sunshine", 0.0)
    length = day_length_fao56(latitude, day_of_year)
    share = np.minimum(hours / np.where(length > 0.0, length, np.inf), 1.0)
    radiation = extraterrestrial_radiation_fao56(latitude, day_of_year)
    return floats((0.25 + 0.50 * share) * radiation)  # FAO-56 eq. 35


def solar_radiation_from_temperature_hargreaves(
    tmin: ArrayLike,
    tmax: ArrayLike,
    latitude: ArrayLike,
    day_of_year: ArrayLike,
    coefficient: ArrayLike,
) -> Floats:
    """Solar radiation of a day from the spread between its minimum and maximum.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]
    coefficient : 0.16 inland, 0.19 at the coast, in the units of the formula [1]

    Returns
    -------
    solar radiation, at most that of a clear sky at sea level [MJ m-2 d-1]

    Raises
    ------
    BadInput: when a maximum is below its minimum, the coefficient is not between 0.05 and 0.3, or
        the latitude or a day is out of range

    Valid for
    ---------
    daily to monthly step; poor on islands and in mountains

    Notes
    -----
    Equation 50: Rs = k (Tmax - Tmin)^0.5 Ra, capped by equation 36: 0.75 Ra.

    References
    ----------
    allen-1998, equation 50
    """
    low, high = daily_pair(tmin, tmax)
    factor = within(coefficient, "radiation coefficient", 0.05, 0.3)
    radiation = extraterrestrial_radiation_fao56(latitude, day_of_year)
    share = np.minimum(factor * np.sqrt(high - low), 0.75)  # FAO-56 eq. 50, cap eq. 36
    return floats(share * radiation)


def clear_sky_radiation_fao56(
    latitude: ArrayLike, day_of_year: ArrayLike, elevation: ArrayLike
) -> Floats:
    """Solar radiation of a cloudless day.

    Parameters
    ----------
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]
    elevation : height above the sea [m]

    Returns
    -------
    clear-sky solar radiation, shape of the inputs [MJ m-2 d-1]

    Raises
    ------
    BadInput: when the latitude, a day or the elevation is out of range

    Valid for
    ---------
    daily step, elevations below 6000 m, air without much dust or smoke

    Notes
    -----
    Equation 37: Rso = (0.75 + 2e-5 z) Ra.

    References
    ----------
    allen-1998, equation 37
    """
    height = within(elevation, "elevation", -500.0, 9000.0)
    radiation = extraterrestrial_radiation_fao56(latitude, day_of_year)
    return floats((0.75 + 2e-5 * height) * radiation)  # FAO-56 eq. 37


def net_shortwave_radiation_fao56(solar_radiation: ArrayLike) -> Floats:
    """Solar radiation kept by the grass reference.

    Parameters
    ----------
    solar_radiation : solar radiation of the day [MJ m-2 d-1]

    Returns
    -------
    net shortwave radiation, shape of the input [MJ m-2 d-1]

    Raises
    ------
    BadInput: when a radiation is negative

    Valid for
    ---------
    the grass reference, which reflects 0.23

    Notes
    -----
    Equation 38: Rns = (1 - 0.23) Rs.

    References
    ----------
    allen-1998, equation 38
    """
    return floats((1.0 - ALBEDO) * at_least(solar_radiation, "solar radiation", 0.0))  # eq. 38


def net_longwave_radiation_fao56(
    tmin: ArrayLike,
    tmax: ArrayLike,
    vapour_pressure: ArrayLike,
    solar_radiation: ArrayLike,
    clear_sky_radiation: ArrayLike,
) -> Floats:
    """Heat radiated away by the grass reference, less what the sky returns.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    vapour_pressure : actual vapour pressure [kPa]
    solar_radiation : solar radiation of the day [MJ m-2 d-1]
    clear_sky_radiation : the same for a cloudless sky [MJ m-2 d-1]

    Returns
    -------
    net outgoing longwave radiation, shape of the inputs [MJ m-2 d-1]

    Raises
    ------
    BadInput: when a maximum is below its minimum, or a pressure or radiation is negative

    Valid for
    ---------
    daily step; the ratio of the radiations is held at 1 or less, and is 1 where the sun never rises

    Notes
    -----
    Equation 39: Rnl = sigma (Tmax^4 + Tmin^4)/2 (0.34 - 0.14 sqrt(ea)) (1.35 Rs/Rso - 0.35), in K.

    References
    ----------
    allen-1998, equation 39
    """
    low, high = daily_pair(tmin, tmax)
    vapour = at_least(vapour_pressure, "vapour pressure", 0.0)
    solar = at_least(solar_radiation, "solar radiation", 0.0)
    clear = at_least(clear_sky_radiation, "clear-sky radiation", 0.0)
    dark = clear <= 0.0
    share = np.where(dark, 1.0, np.minimum(solar / np.where(dark, 1.0, clear), 1.0))
    black = STEFAN_BOLTZMANN * ((high + KELVIN) ** 4 + (low + KELVIN) ** 4) / 2.0  # eq. 39
    emitted = 0.34 - 0.14 * np.sqrt(vapour)  # FAO-56 eq. 39
    return floats(black * emitted * (1.35 * share - 0.35))  # FAO-56 eq. 39


def net_radiation_fao56(
    tmin: ArrayLike,
    tmax: ArrayLike,
    vapour_pressure: ArrayLike,
    solar_radiation: ArrayLike,
    latitude: ArrayLike,
    elevation: ArrayLike,
    day_of_year: ArrayLike,
) -> Floats:
    """Radiation left to the grass reference over a day.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    vapour_pressure : actual vapour pressure [kPa]
    solar_radiation : solar radiation of the day [MJ m-2 d-1]
    latitude : latitude, north positive [deg]
    elevation : height above the sea [m]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    net radiation, shape of the inputs [MJ m-2 d-1]

    Raises
    ------
    BadInput: when an input is impossible, as in the parts

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 40: Rn = Rns - Rnl.

    References
    ----------
    allen-1998, equation 40
    """
    clear = clear_sky_radiation_fao56(latitude, day_of_year, elevation)
    lost = net_longwave_radiation_fao56(tmin, tmax, vapour_pressure, solar_radiation, clear)
    return floats(net_shortwave_radiation_fao56(solar_radiation) - lost)  # FAO-56 eq. 40


def soil_heat_flux_monthly_fao56(previous_mean: ArrayLike, next_mean: ArrayLike) -> Floats:
    """Heat stored in the soil over a month, from the months before and after it.

    Parameters
    ----------
    previous_mean : mean air temperature of the month before [degC]
    next_mean : mean air temperature of the month after [degC]

    Returns
    -------
    soil heat flux, negative when the soil cools [MJ m-2 d-1]

    Raises
    ------
    nothing

    Valid for
    ---------
    monthly step; over a day the flux is taken as 0

    Notes
    -----
    Equation 43: G = 0.07 (T(i+1) - T(i-1)).

    References
    ----------
    allen-1998, equation 43
    """
    return floats(0.07 * (floats(next_mean) - floats(previous_mean)))  # FAO-56 eq. 43


def soil_heat_flux_previous_month_fao56(previous_mean: ArrayLike, mean: ArrayLike) -> Floats:
    """Heat stored in the soil over a month when the month after it is not known yet.

    Parameters
    ----------
    previous_mean : mean air temperature of the month before [degC]
    mean : mean air temperature of the month [degC]

    Returns
    -------
    soil heat flux, negative when the soil cools [MJ m-2 d-1]

    Raises
    ------
    nothing

    Valid for
    ---------
    monthly step

    Notes
    -----
    Equation 44: G = 0.14 (T(i) - T(i-1)).

    References
    ----------
    allen-1998, equation 44
    """
    return floats(0.14 * (floats(mean) - floats(previous_mean)))  # FAO-56 eq. 44


def penman_monteith_fao56(
    temperature: ArrayLike,
    wind_speed: ArrayLike,
    net_radiation: ArrayLike,
    soil_heat_flux: ArrayLike,
    saturation_pressure: ArrayLike,
    vapour_pressure: ArrayLike,
    psychrometric_constant: ArrayLike,
) -> Floats:
    """The Penman-Monteith equation for the grass reference, from its terms.

    Parameters
    ----------
    temperature : daily mean air temperature [degC]
    wind_speed : wind speed at 2 m [m s-1]
    net_radiation : net radiation [MJ m-2 d-1]
    soil_heat_flux : soil heat flux, 0 for a day [MJ m-2 d-1]
    saturation_pressure : mean saturation vapour pressure [kPa]
    vapour_pressure : actual vapour pressure [kPa]
    psychrometric_constant : psychrometric constant [kPa degC-1]

    Returns
    -------
    reference evapotranspiration, negative where dew forms [mm d-1]

    Raises
    ------
    BadInput: when a wind speed is negative

    Valid for
    ---------
    daily step or longer

    Notes
    -----
    Equation 6: (0.408 Delta (Rn - G) + gamma 900/(T + 273) u2 (es - ea)) / (Delta + gamma (1 +
    0.34 u2)).

    References
    ----------
    allen-1998, equation 6
    """
    air, wind = floats(temperature), at_least(wind_speed, "wind speed", 0.0)
    slope, gamma = saturation_slope_fao56(air), floats(psychrometric_constant)
    energy = EVAPORATED * slope * (floats(net_radiation) - floats(soil_heat_flux))  # eq. 6
    deficit = floats(saturation_pressure) - floats(vapour_pressure)
    drying = gamma * 900.0 / (air + 273.0) * wind * deficit  # FAO-56 eq. 6
    return floats((energy + drying) / (slope + gamma * (1.0 + 0.34 * wind)))  # FAO-56 eq. 6


def reference_evapotranspiration_fao56(
    tmin: ArrayLike,
    tmax: ArrayLike,
    vapour_pressure: ArrayLike,
    solar_radiation: ArrayLike,
    wind_speed: ArrayLike,
    latitude: ArrayLike,
    elevation: ArrayLike,
    day_of_year: ArrayLike,
    soil_heat_flux: ArrayLike = 0.0,
) -> Floats:
    """Reference evapotranspiration of a day from its weather, by Penman-Monteith of FAO-56.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    vapour_pressure : actual vapour pressure [kPa]
    solar_radiation : solar radiation of the day [MJ m-2 d-1]
    wind_speed : wind speed at 2 m [m s-1]
    latitude : latitude, north positive [deg]
    elevation : height above the sea [m]
    day_of_year : number of the day, 1 January is 1 [d]
    soil_heat_flux : soil heat flux, 0 for a day [MJ m-2 d-1]

    Returns
    -------
    reference evapotranspiration, never negative: dew is not credited [mm d-1]

    Raises
    ------
    BadInput: when an input is impossible, as in the parts

    Valid for
    ---------
    daily step; monthly means with the middle day of the month. Where humidity is unknown, the
    vapour pressure saturated at tmin may stand in; where wind is unknown, 2 m s-1 (chapter 3)

    Notes
    -----
    Equation 6 with equations 7, 8, 11 to 13, 20, 21 and 37 to 40.

    References
    ----------
    allen-1998, equation 6 and box 11
    """
    return daily_penman_monteith(
        tmin,
        tmax,
        vapour_pressure,
        solar_radiation,
        wind_speed,
        latitude,
        elevation,
        day_of_year,
        soil_heat_flux,
    )


def reference_evapotranspiration_hargreaves(
    tmin: ArrayLike, tmax: ArrayLike, latitude: ArrayLike, day_of_year: ArrayLike
) -> Floats:
    """Reference evapotranspiration of a day from its temperatures alone, by Hargreaves.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    latitude : latitude, north positive [deg]
    day_of_year : number of the day, 1 January is 1 [d]

    Returns
    -------
    reference evapotranspiration, never negative [mm d-1]

    Raises
    ------
    BadInput: when a maximum is below its minimum, or the latitude or a day is out of range

    Valid for
    ---------
    periods of five days or longer; too low in wind, too high in humid places

    Notes
    -----
    Equation 52: 0.0023 (Tmean + 17.8) (Tmax - Tmin)^0.5 Ra, Ra in mm d-1 (0.408 of its MJ).

    References
    ----------
    allen-1998, equation 52
    hargreaves-1985, the method
    """
    low, high = daily_pair(tmin, tmax)
    radiation = EVAPORATED * extraterrestrial_radiation_fao56(latitude, day_of_year)  # eq. 20
    warmth = (low + high) / 2.0 + 17.8  # FAO-56 eq. 52
    return floats(np.maximum(0.0023 * warmth * np.sqrt(high - low) * radiation, 0.0))  # eq. 52


ET0_METHODS: Final[dict[str, Callable[..., Floats]]] = {
    "Penman-Monteith FAO-56": reference_evapotranspiration_fao56,
    "Hargreaves": reference_evapotranspiration_hargreaves,
}
"""Rival reference evapotranspirations; each asks for the weather it needs by parameter name."""
