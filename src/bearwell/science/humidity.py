"""Water vapour in the air: pressures, dew point, frost point and wet bulb."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, at_least, floats, within

E_ZERO: Final = 0.6108  # kPa, saturation vapour pressure at 0 degC, FAO-56 eq. 11
WATER: Final = (17.27, 237.3)  # 1 and degC, over water, FAO-56 eq. 11 (Tetens 1930)
ICE: Final = (21.875, 265.5)  # 1 and degC, over ice, Tetens form with Murray's (1967) coefficients
VENTILATED: Final = 0.000662  # degC-1, Asmann psychrometer, FAO-56 eq. 16
WET_BULB: Final = (0.000665, 0.00115)  # degC-1 each, psychrometer with its heat term, see wet_bulb


def atmospheric_pressure_fao56(elevation: ArrayLike) -> Floats:
    """Mean air pressure at a height above the sea.

    Parameters
    ----------
    elevation : height above the sea [m]

    Returns
    -------
    atmospheric pressure, shape of the input [kPa]

    Raises
    ------
    BadInput: when an elevation is outside -500 to 9000

    Valid for
    ---------
    a standard atmosphere of 20 degC at the sea

    Notes
    -----
    Equation 7: P = 101.3 ((293 - 0.0065 z)/293)^5.26.

    References
    ----------
    allen-1998, equation 7
    """
    height = within(elevation, "elevation", -500.0, 9000.0)
    return floats(101.3 * ((293.0 - 0.0065 * height) / 293.0) ** 5.26)  # FAO-56 eq. 7


def psychrometric_constant_fao56(pressure: ArrayLike) -> Floats:
    """Psychrometric constant of the energy balance at an air pressure.

    Parameters
    ----------
    pressure : atmospheric pressure [kPa]

    Returns
    -------
    psychrometric constant, shape of the input [kPa degC-1]

    Raises
    ------
    BadInput: when a pressure is negative

    Valid for
    ---------
    average air; latent heat 2.45 MJ kg-1

    Notes
    -----
    Equation 8: gamma = 0.665e-3 P.

    References
    ----------
    allen-1998, equation 8
    """
    return floats(0.665e-3 * at_least(pressure, "air pressure", 0.0))  # FAO-56 eq. 8


def _tetens(air: Floats, factor: float, offset: float) -> Floats:
    return floats(E_ZERO * np.exp(factor * air / (air + offset)))  # FAO-56 eq. 11


def _tetens_inverse(vapour: Floats, factor: float, offset: float) -> Floats:
    if np.any(vapour <= 0.0):
        raise BadInput("vapour pressure must be more than zero")
    share = np.log(vapour / E_ZERO) / factor  # FAO-56 eq. 11 solved for the temperature
    return floats(offset * share / (1.0 - share))


def saturation_vapour_pressure(temperature: ArrayLike) -> Floats:
    """Vapour pressure of air saturated over water.

    Parameters
    ----------
    temperature : air temperature [degC]

    Returns
    -------
    saturation vapour pressure, shape of the input [kPa]

    Raises
    ------
    BadInput: when a temperature is outside -90 to 100

    Valid for
    ---------
    -40 to 50 degC within half a percent; over supercooled water below 0

    Notes
    -----
    Equation 11: e0(T) = 0.6108 exp(17.27 T/(T + 237.3)).

    References
    ----------
    allen-1998, equation 11
    """
    return _tetens(within(temperature, "temperature", -90.0, 100.0), *WATER)


def saturation_vapour_pressure_ice(temperature: ArrayLike) -> Floats:
    """Vapour pressure of air saturated over ice.

    Parameters
    ----------
    temperature : air temperature at or below 0 [degC]

    Returns
    -------
    saturation vapour pressure over ice, shape of the input [kPa]

    Raises
    ------
    BadInput: when a temperature is outside -90 to 100

    Valid for
    ---------
    -50 to 0 degC; above 0 there is no ice, and the curve is only a continuation

    Notes
    -----
    0.6108 exp(21.875 T/(T + 265.5)).

    References
    ----------
    murray-1967, coefficients over ice
    """
    return _tetens(within(temperature, "temperature", -90.0, 100.0), *ICE)


def mean_saturation_vapour_pressure(tmin: ArrayLike, tmax: ArrayLike) -> Floats:
    """Saturation vapour pressure of a day: the mean of its two ends, since the curve is bent.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]

    Returns
    -------
    mean saturation vapour pressure, shape of the inputs [kPa]

    Raises
    ------
    BadInput: when a temperature is outside -90 to 100

    Valid for
    ---------
    daily step or longer

    Notes
    -----
    Equation 12: e_s = (e0(Tmax) + e0(Tmin))/2.

    References
    ----------
    allen-1998, equation 12
    """
    return floats((saturation_vapour_pressure(tmax) + saturation_vapour_pressure(tmin)) / 2.0)


def actual_vapour_pressure(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Vapour pressure from relative humidity at one temperature.

    Parameters
    ----------
    temperature : air temperature [degC]
    relative_humidity : relative humidity, 0 to 1 [1]

    Returns
    -------
    actual vapour pressure, shape of the inputs [kPa]

    Raises
    ------
    BadInput: when a humidity is outside 0 to 1.05

    Valid for
    ---------
    readings taken together; up to 1.05 is let pass for gauges that read high

    Notes
    -----
    Definition of relative humidity (equation 10): e_a = RH e0(T).

    References
    ----------
    allen-1998, equation 10
    """
    share = within(relative_humidity, "relative humidity", 0.0, 1.05)
    return floats(share * saturation_vapour_pressure(temperature))


def actual_vapour_pressure_extremes(
    tmin: ArrayLike, tmax: ArrayLike, humidity_max: ArrayLike, humidity_min: ArrayLike
) -> Floats:
    """Vapour pressure of a day from its highest and lowest relative humidity.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    humidity_max : highest relative humidity, taken with tmin, 0 to 1 [1]
    humidity_min : lowest relative humidity, taken with tmax, 0 to 1 [1]

    Returns
    -------
    actual vapour pressure, shape of the inputs [kPa]

    Raises
    ------
    BadInput: when a humidity is outside 0 to 1.05

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 17: e_a = (e0(Tmin) RHmax + e0(Tmax) RHmin)/2.

    References
    ----------
    allen-1998, equation 17
    """
    night = actual_vapour_pressure(tmin, humidity_max)
    noon = actual_vapour_pressure(tmax, humidity_min)
    return floats((night + noon) / 2.0)  # FAO-56 eq. 17


def actual_vapour_pressure_mean_humidity(
    tmin: ArrayLike, tmax: ArrayLike, humidity_mean: ArrayLike
) -> Floats:
    """Vapour pressure of a day when only its mean relative humidity is known.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    humidity_mean : mean relative humidity, 0 to 1 [1]

    Returns
    -------
    actual vapour pressure, shape of the inputs [kPa]

    Raises
    ------
    BadInput: when a humidity is outside 0 to 1.05

    Valid for
    ---------
    daily step; less desirable than the highest and lowest humidity

    Notes
    -----
    Equation 19: e_a = RHmean (e0(Tmax) + e0(Tmin))/2.

    References
    ----------
    allen-1998, equation 19
    """
    share = within(humidity_mean, "relative humidity", 0.0, 1.05)
    return floats(share * mean_saturation_vapour_pressure(tmin, tmax))  # FAO-56 eq. 19


def actual_vapour_pressure_dew_point(dew_point: ArrayLike) -> Floats:
    """Vapour pressure from the dew point.

    Parameters
    ----------
    dew_point : dew point temperature [degC]

    Returns
    -------
    actual vapour pressure, shape of the input [kPa]

    Raises
    ------
    BadInput: when a dew point is outside -90 to 100

    Valid for
    ---------
    any step; the minimum of the night may stand in for a missing dew point in humid places only

    Notes
    -----
    Equation 14: e_a = e0(Tdew).

    References
    ----------
    allen-1998, equation 14
    """
    return saturation_vapour_pressure(dew_point)


def actual_vapour_pressure_wet_bulb(
    dry_bulb: ArrayLike, wet_bulb: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Vapour pressure from a ventilated pair of dry and wet thermometers.

    Parameters
    ----------
    dry_bulb : temperature of the dry thermometer [degC]
    wet_bulb : temperature of the wet thermometer [degC]
    pressure : atmospheric pressure [kPa]

    Returns
    -------
    actual vapour pressure, shape of the inputs [kPa]

    Raises
    ------
    BadInput: when a wet bulb is above its dry bulb, or a pressure is negative

    Valid for
    ---------
    air moved past the thermometers at about 5 m s-1, unfrozen wick

    Notes
    -----
    Equations 15 and 16: e_a = e0(Twet) - 0.000662 P (Tdry - Twet).

    References
    ----------
    allen-1998, equations 15 and 16
    """
    dry, wet = floats(dry_bulb), floats(wet_bulb)
    if np.any(wet > dry):
        raise BadInput("a wet bulb is above its dry bulb")
    air = at_least(pressure, "air pressure", 0.0)
    return floats(saturation_vapour_pressure(wet) - VENTILATED * air * (dry - wet))  # eq. 15, 16


def dew_point(vapour_pressure: ArrayLike) -> Floats:
    """Temperature at which air of a vapour pressure would be saturated over water.

    Parameters
    ----------
    vapour_pressure : actual vapour pressure [kPa]

    Returns
    -------
    dew point, shape of the input [degC]

    Raises
    ------
    BadInput: when a vapour pressure is not above zero

    Valid for
    ---------
    the exact inverse of saturation_vapour_pressure; below 0 over supercooled water

    Notes
    -----
    b = ln(e/0.6108)/17.27, Tdew = 237.3 b/(1 - b).

    References
    ----------
    allen-1998, equation 11 solved for temperature
    """
    return _tetens_inverse(floats(vapour_pressure), *WATER)


def frost_point(vapour_pressure: ArrayLike) -> Floats:
    """Temperature at which air of a vapour pressure would be saturated over ice.

    Parameters
    ----------
    vapour_pressure : actual vapour pressure, up to 0.6108 [kPa]

    Returns
    -------
    frost point, shape of the input [degC]

    Raises
    ------
    BadInput: when a vapour pressure is not above zero

    Valid for
    ---------
    results at or below 0 degC

    Notes
    -----
    b = ln(e/0.6108)/21.875, Tice = 265.5 b/(1 - b).

    References
    ----------
    murray-1967, coefficients over ice, solved for temperature
    """
    return _tetens_inverse(floats(vapour_pressure), *ICE)


def wet_bulb(temperature: ArrayLike, vapour_pressure: ArrayLike, pressure: ArrayLike) -> Floats:
    """Temperature an aired wet surface settles at: what wetted leaves and fruit can fall to.

    Parameters
    ----------
    temperature : air temperature [degC]
    vapour_pressure : actual vapour pressure [kPa]
    pressure : atmospheric pressure [kPa]

    Returns
    -------
    wet bulb temperature, shape of the inputs; at most the air temperature [degC]

    Raises
    ------
    BadInput: when a vapour pressure is negative or a temperature outside -60 to 60

    Valid for
    ---------
    water, also supercooled; ice on the surface would read a little lower. Air above saturation
    gives the air temperature

    Notes
    -----
    Solves e0(Tw) - 0.000665 (1 + 0.00115 Tw) P (T - Tw) = e by bisection to 1e-12 K.

    References
    ----------
    snyder-2005, chapter 3, wet bulb temperature
    """
    air = within(temperature, "temperature", -60.0, 60.0)
    vapour = at_least(vapour_pressure, "vapour pressure", 0.0)
    barometer = at_least(pressure, "air pressure", 0.0)
    air, vapour, barometer = np.broadcast_arrays(air, vapour, barometer)
    missing = np.isnan(air) | np.isnan(vapour) | np.isnan(barometer)
    # Sixty degrees of wet-bulb depression cannot occur below 60 degC: the root lies between.
    low, high = air - 60.0, air.copy()
    constant, heat = WET_BULB
    for _ in range(60):
        middle = (low + high) / 2.0
        held = constant * (1.0 + heat * middle) * barometer * (air - middle)  # psychrometer
        wetter = _tetens(floats(middle), *WATER) - held > vapour
        high = np.where(wetter, middle, high)
        low = np.where(wetter, low, middle)
    return np.where(missing, np.nan, (low + high) / 2.0)
