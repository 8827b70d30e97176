"""Heat lost from a covered tree and what a lamp or a barrel of water gives back."""

from __future__ import annotations

from typing import Final

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative

AIR_HEAT: Final = 1.2 * 1005.0 / 3600.0  # W h m-3 K-1: 1.2 kg m-3 of air, 1005 J kg-1 K-1
WATER_HEAT: Final = 4186.8 / 3600.0  # W h kg-1 K-1, international table calorie
FREEZING_HEAT: Final = 334.5e3 / 3600.0  # W h kg-1, latent heat of fusion, FAO 2005 chapter 3


def heat_transfer_of_shelter(
    area: float, transmittance: float, volume: float, air_changes: float
) -> float:
    """Heat a shelter loses for each degree it is kept warmer.

    Parameters
    ----------
    area : area of the cover [m2]
    transmittance : heat transfer of the cover [W m-2 K-1]
    volume : air inside [m3]
    air_changes : how often the air changes in an hour [1]

    Returns
    -------
    heat lost with one degree of lift [W]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    steady nights; a cover that looks at a clear sky loses more than its difference of temperature

    Notes
    -----
    U A + 0.335 n V.

    References
    ----------
    asabe-ep406, heat loss of greenhouses
    """
    cover = not_negative(transmittance, "heat transfer") * not_negative(area, "area")
    return cover + AIR_HEAT * not_negative(air_changes, "air changes") * not_negative(volume, "air")


def heat_loss(
    area: float, transmittance: float, volume: float, air_changes: float, lift: float
) -> float:
    """Heat that keeps a shelter warmer than the night outside.

    Parameters
    ----------
    area : area of the cover [m2]
    transmittance : heat transfer of the cover [W m-2 K-1]
    volume : air inside [m3]
    air_changes : how often the air changes in an hour [1]
    lift : how much warmer inside than outside [K]

    Returns
    -------
    heat needed [W]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    as heat_transfer_of_shelter

    Notes
    -----
    (U A + 0.335 n V) dT.

    References
    ----------
    asabe-ep406, heat loss of greenhouses
    """
    each = heat_transfer_of_shelter(area, transmittance, volume, air_changes)
    return each * not_negative(lift, "lift")


def steady_lift(
    power: float, area: float, transmittance: float, volume: float, air_changes: float
) -> float:
    """How much warmer a source of heat keeps a shelter.

    Parameters
    ----------
    power : heat given off inside [W]
    area : area of the cover [m2]
    transmittance : heat transfer of the cover [W m-2 K-1]
    volume : air inside [m3]
    air_changes : how often the air changes in an hour [1]

    Returns
    -------
    lift above the same shelter without the source [K]

    Raises
    ------
    BadInput: when an input is negative or nothing is lost

    Valid for
    ---------
    after an hour or two; comes on top of the warmth the ground gives

    Notes
    -----
    W/(U A + 0.335 n V).

    References
    ----------
    asabe-ep406, heat loss of greenhouses, solved for the lift
    """
    each = heat_transfer_of_shelter(area, transmittance, volume, air_changes)
    return not_negative(power, "power") / above_zero(each, "heat loss of the shelter")


def water_store_power(mass: float, start: float, end: float, hours: float) -> float:
    """Mean heat given off by water that cools without freezing.

    Parameters
    ----------
    mass : mass of water [g]
    start : temperature of the water at nightfall [degC]
    end : temperature of the water at sunrise, 0 or above [degC]
    hours : hours between them [h]

    Returns
    -------
    mean power [W]

    Raises
    ------
    BadInput: when the mass is negative, the water does not cool, it would freeze, or there are no
        hours

    Valid for
    ---------
    stirred water

    Notes
    -----
    m c (T1 - T2)/t.

    References
    ----------
    definition, heat capacity of water
    """
    if end > start or end < 0.0:
        raise BadInput("the water must cool, and stay above freezing")
    heat = not_negative(mass, "mass") / 1000.0 * WATER_HEAT * (start - end)  # g to kg
    return heat / above_zero(hours, "hours")


def freezing_heat(mass: float) -> float:
    """Mean heat given off by water that freezes within an hour.

    Parameters
    ----------
    mass : mass of water that freezes in the hour [g]

    Returns
    -------
    mean power over the hour [W]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    water at 0 degC

    Notes
    -----
    m L/3600 s.

    References
    ----------
    snyder-2005, chapter 3, latent heats
    """
    return not_negative(mass, "mass") / 1000.0 * FREEZING_HEAT  # g to kg
