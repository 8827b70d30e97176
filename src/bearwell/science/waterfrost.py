"""Water against frost: when it may start, how much it takes, and what evaporation costs."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, at_least, floats, not_negative
from bearwell.science.humidity import WET_BULB, saturation_vapour_pressure

EVAPORATION_HEAT: Final = 2501.0  # kJ kg-1 taken by evaporating at 0 degC, FAO 2005 chapter 3
FUSION_HEAT: Final = 334.5  # kJ kg-1 given off by freezing, FAO 2005 chapter 3


def air_temperature_at_wet_bulb(
    wet_bulb: ArrayLike, dew_point: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Air temperature at which the wet bulb reaches a limit, for the dew point of the night.

    Parameters
    ----------
    wet_bulb : lowest wet-bulb temperature that is to be allowed [degC]
    dew_point : dew point of the air [degC]
    pressure : atmospheric pressure [kPa]

    Returns
    -------
    air temperature, never below the wet bulb, shape of the inputs [degC]

    Raises
    ------
    BadInput: when the dew point lies above the wet bulb asked for, or a pressure is negative

    Valid for
    ---------
    a dew point over water that stays as it is through the night

    Notes
    -----
    The psychrometer of humidity.wet_bulb solved for the air: T = Tw + (e0(Tw) - e0(Td))/(0.000665
    (1 + 0.00115 Tw) P).

    References
    ----------
    snyder-2005, chapter 7, starting and stopping sprinklers by the wet bulb
    """
    wet, damp, air = floats(wet_bulb), floats(dew_point), at_least(pressure, "air pressure", 0.0)
    if np.any(damp > wet):
        raise BadInput(
            "air with this dew point never has so cold a wet bulb",
            "the wet bulb lies between the dew point and the air temperature",
        )
    short = saturation_vapour_pressure(wet) - saturation_vapour_pressure(damp)
    constant = WET_BULB[0] * (1.0 + WET_BULB[1] * wet) * air  # as humidity.wet_bulb
    return floats(wet + short / constant)


def freezing_that_balances(evaporated: float) -> float:
    """Water that must freeze to make good the heat of water that evaporates.

    Parameters
    ----------
    evaporated : mass of water that evaporates [g]

    Returns
    -------
    mass that must freeze [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    0 degC

    Notes
    -----
    2501/334.5 times as much.

    References
    ----------
    snyder-2005, chapter 3, latent heats
    """
    return not_negative(evaporated, "water evaporated") * EVAPORATION_HEAT / FUSION_HEAT


def sprinkler_flow(rate: float, wetted_area: float) -> float:
    """Water a sprinkler must give to wet an area at a rate.

    Parameters
    ----------
    rate : depth of water an hour [mm]
    wetted_area : area that is wetted [m2]

    Returns
    -------
    volume an hour [L]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    even wetting; no sprinkler wets evenly, so give more rather than less

    Notes
    -----
    A millimetre over a square metre is a litre.

    References
    ----------
    definition, depth of water over an area
    """
    return not_negative(rate, "rate of water") * not_negative(wetted_area, "wetted area")
