"""Water in the root zone: how much it holds, when a tree feels dry, and a daily account."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import (
    Floats,
    above_zero,
    at_least,
    floats,
    not_negative,
    series,
    share_of_one,
    within,
)


class WaterDay(NamedTuple):
    """What a day did to the root zone."""

    depletion: float
    drainage: float
    stress: float
    evapotranspiration: float


class WaterBalance(NamedTuple):
    """What each day of a run did to the root zone."""

    depletion: Floats
    drainage: Floats
    stress: Floats
    evapotranspiration: Floats


def total_available_water(
    field_capacity: ArrayLike, wilting_point: ArrayLike, root_depth: ArrayLike
) -> Floats:
    """Water a root zone holds between field capacity and the wilting point.

    Parameters
    ----------
    field_capacity : water content at field capacity [m3/m3]
    wilting_point : water content at the wilting point [m3/m3]
    root_depth : depth of the root zone [m]

    Returns
    -------
    total available water [mm]

    Raises
    ------
    BadInput: when a content is outside 0 to 1, the depth is negative, or the wilting point is above
        field capacity

    Valid for
    ---------
    a soil that drains; stones take up their share of the depth

    Notes
    -----
    Equation 82: TAW = 1000 (theta_FC - theta_WP) Zr.

    References
    ----------
    allen-1998, equation 82
    """
    full = within(field_capacity, "field capacity", 0.0, 1.0)
    dry = within(wilting_point, "wilting point", 0.0, 1.0)
    if np.any(dry > full):
        raise BadInput("the wilting point is above field capacity")
    return floats(1000.0 * (full - dry) * at_least(root_depth, "root depth", 0.0))  # FAO-56 eq. 82


def readily_available_water(total_available: ArrayLike, depletion_share: ArrayLike) -> Floats:
    """Water a tree can draw before it feels dry.

    Parameters
    ----------
    total_available : total available water [mm]
    depletion_share : share of it that can go before stress begins [1]

    Returns
    -------
    readily available water [mm]

    Raises
    ------
    BadInput: when the share is outside 0 to 1 or the water negative

    Valid for
    ---------
    any step

    Notes
    -----
    Equation 83: RAW = p TAW.

    References
    ----------
    allen-1998, equation 83
    """
    share = within(depletion_share, "depletion share", 0.0, 1.0)
    return floats(share * at_least(total_available, "available water", 0.0))  # FAO-56 eq. 83


def depletion_share_fao56(tabled: ArrayLike, crop_evapotranspiration: ArrayLike) -> Floats:
    """Share of the available water that can go before stress, moved to the demand of the day.

    Parameters
    ----------
    tabled : depletion share at a crop evapotranspiration of 5 mm a day [1]
    crop_evapotranspiration : crop evapotranspiration without stress [mm d-1]

    Returns
    -------
    depletion share, held between 0.1 and 0.8 [1]

    Raises
    ------
    BadInput: when the share is outside 0 to 1 or the evapotranspiration negative

    Valid for
    ---------
    daily step

    Notes
    -----
    Table 22, footnote: p + 0.04 (5 - ETc).

    References
    ----------
    allen-1998, table 22, footnote
    """
    share = within(tabled, "depletion share", 0.0, 1.0)
    demand = at_least(crop_evapotranspiration, "evapotranspiration", 0.0)
    return floats(np.clip(share + 0.04 * (5.0 - demand), 0.1, 0.8))  # FAO-56 table 22, footnote


def stress_coefficient_fao56(
    depletion: ArrayLike, total_available: ArrayLike, depletion_share: ArrayLike
) -> Floats:
    """How far a drying root zone holds back transpiration.

    Parameters
    ----------
    depletion : water missing from field capacity [mm]
    total_available : total available water [mm]
    depletion_share : share of it that can go before stress begins [1]

    Returns
    -------
    stress coefficient, 1 at ease to 0 wilted [1]

    Raises
    ------
    BadInput: when a depth is negative, nothing is available, or the share is outside 0 to 1

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 84: Ks = (TAW - Dr)/((1 - p) TAW) once Dr passes RAW.

    References
    ----------
    allen-1998, equation 84
    """
    total = at_least(total_available, "available water", 0.0)
    if np.any(total == 0.0):
        raise BadInput("a root zone without available water")
    used = at_least(depletion, "depletion", 0.0)
    share = within(depletion_share, "depletion share", 0.0, 0.999)
    return floats(np.clip((total - used) / ((1.0 - share) * total), 0.0, 1.0))  # FAO-56 eq. 84


def _day(
    depletion: float, water: float, demand: float, total: float, share: float
) -> tuple[float, float, float, float]:
    """One day of equations 84, 85 and 88; a missing number makes everything missing."""
    if math.isnan(depletion + water + demand + total + share):
        return math.nan, math.nan, math.nan, math.nan
    morning = depletion - water
    stress = min(max((total - max(morning, 0.0)) / ((1.0 - share) * total), 0.0), 1.0)  # eq. 84
    used = min(stress * demand, total - morning)  # no more than is there
    evening = morning + used  # FAO-56 eq. 85
    return max(evening, 0.0), max(-evening, 0.0), stress, used  # FAO-56 eq. 88


def root_zone_depletion(
    depletion: float,
    rain: float,
    irrigation: float,
    evapotranspiration: float,
    total_available: float,
    depletion_share: float,
) -> WaterDay:
    """Water missing from the root zone at the end of a day, with what drained and what was used.

    Parameters
    ----------
    depletion : water missing from field capacity at the start of the day [mm]
    rain : rain that enters the soil, runoff taken off [mm]
    irrigation : irrigation that enters the soil [mm]
    evapotranspiration : evapotranspiration of the day without stress [mm]
    total_available : total available water [mm]
    depletion_share : share of it that can go before stress begins [1]

    Returns
    -------
    depletion : at the end of the day, 0 to the total available water [mm]
    drainage : water lost below the roots [mm]
    stress : stress coefficient of the day [1]
    evapotranspiration : what was used under that stress [mm]

    Raises
    ------
    BadInput: when a depth is negative, the depletion is above the total available water, the total
        is zero, or the share is outside 0 to 0.99

    Valid for
    ---------
    daily step; no capillary rise. The account closes: start - rain - irrigation + used + drainage
    is the end

    Notes
    -----
    Equations 84, 85 and 88. The water of a day comes first, so a tree watered today is not
    stressed today.

    References
    ----------
    allen-1998, equations 84, 85 and 88
    """
    total = above_zero(total_available, "available water")
    start = not_negative(depletion, "depletion")
    if start > total * (1.0 + 1e-12):
        raise BadInput(
            said(
                "a depletion of {start:g} mm is more than the {total:g} mm available",
                start=start,
                total=total,
            )
        )
    share = share_of_one(depletion_share, "depletion share")
    if share > 0.99:
        raise BadInput("a depletion share above 0.99 leaves no room for stress")
    water = not_negative(rain, "rain") + not_negative(irrigation, "irrigation")
    demand = not_negative(evapotranspiration, "evapotranspiration")
    return WaterDay(*_day(min(start, total), water, demand, total, share))


def soil_water_balance(
    depletion: float,
    rain: ArrayLike,
    irrigation: ArrayLike,
    evapotranspiration: ArrayLike,
    total_available: ArrayLike,
    depletion_share: ArrayLike,
) -> WaterBalance:
    """Daily account of the root zone over a run of days.

    Parameters
    ----------
    depletion : water missing from field capacity before the first day [mm]
    rain : rain that enters the soil each day, shape (n,) [mm]
    irrigation : irrigation that enters the soil each day, shape (n,) or one value [mm]
    evapotranspiration : evapotranspiration without stress each day, shape (n,) [mm]
    total_available : total available water, one value or shape (n,) and not falling [mm]
    depletion_share : share of it that can go before stress begins, one value or shape (n,) [1]

    Returns
    -------
    depletion : at the end of each day, shape (n,) [mm]
    drainage : water lost below the roots each day, shape (n,) [mm]
    stress : stress coefficient of each day, shape (n,) [1]
    evapotranspiration : what was used each day under that stress, shape (n,) [mm]

    Raises
    ------
    BadInput: when a depth is negative, the depletion is above the available water, a total is zero
        or falls, or a share is outside 0 to 0.99

    Valid for
    ---------
    daily step; from the first missing number on everything is missing. A growing root zone is
    taken to reach into soil at field capacity

    Notes
    -----
    root_zone_depletion day after day; depletion before - rain - irrigation + used + drainage =
    depletion after, to rounding.

    References
    ----------
    allen-1998, equations 84, 85 and 88
    """
    falls = at_least(series(rain, "rain"), "rain", 0.0)
    days = falls.shape
    given = np.broadcast_to(at_least(irrigation, "irrigation", 0.0), days)
    demand = np.broadcast_to(at_least(evapotranspiration, "evapotranspiration", 0.0), days)
    total = np.broadcast_to(floats(total_available), days)
    share = np.broadcast_to(within(depletion_share, "depletion share", 0.0, 0.99), days)
    if np.any(total <= 0.0) or np.any(np.diff(total) < 0.0):
        raise BadInput("available water must be more than zero and must not fall")
    state = not_negative(depletion, "depletion")
    if total.size and state > float(total[0]):
        raise BadInput(
            said(
                "a depletion of {depletion:g} mm is more than the water available", depletion=state
            )
        )
    result = np.empty((4, falls.size))
    columns = (falls + given).tolist(), demand.tolist(), total.tolist(), share.tolist()
    for day, (water, wanted, room, part) in enumerate(zip(*columns, strict=True)):
        row = _day(state, water, wanted, room, part)
        result[:, day] = row
        state = row[0]
    return WaterBalance(result[0], result[1], result[2], result[3])


def irrigation_for_tree(
    water_depth: float, wetted_area: float, leaching_share: float, efficiency: float
) -> float:
    """Water to give a tree so that a depth reaches its roots.

    Parameters
    ----------
    water_depth : depth wanted in the root zone [mm]
    wetted_area : area the depth is spread over [m2]
    leaching_share : share of what is given that should drain through [1]
    efficiency : share of what is given that reaches the soil [1]

    Returns
    -------
    volume to give [L]

    Raises
    ------
    BadInput: when a depth or area is negative, the leaching share is not below 1, or the
        efficiency is not above 0

    Valid for
    ---------
    1 mm over 1 m2 is 1 litre

    Notes
    -----
    depth area / ((1 - leaching) efficiency).

    References
    ----------
    common-practice
    """
    depth = not_negative(water_depth, "depth") * not_negative(wetted_area, "area")
    leaching = share_of_one(leaching_share, "leaching share")
    if leaching >= 1.0:
        raise BadInput("the leaching share must be below 1")
    reached = above_zero(share_of_one(efficiency, "efficiency"), "efficiency")
    return depth / ((1.0 - leaching) * reached)


def relative_yield_salinity(soil_conductivity: float, threshold: float, slope: float) -> float:
    """Yield left in a salty soil, relative to one without salt.

    Parameters
    ----------
    soil_conductivity : conductivity of the saturated paste extract [dS/m]
    threshold : conductivity up to which nothing is lost [dS/m]
    slope : share of the yield lost for each dS/m beyond it [1]

    Returns
    -------
    relative yield, 0 to 1 [1]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    root zone means over the season; established trees

    Notes
    -----
    Y = 1 - b (ECe - a).

    References
    ----------
    ayers-1985, equation 3
    """
    past = not_negative(soil_conductivity, "conductivity") - not_negative(threshold, "threshold")
    lost = not_negative(slope, "slope") * max(past, 0.0)  # Ayers and Westcot 1985, yield line
    return max(1.0 - lost, 0.0)


def leaching_requirement(water_conductivity: float, soil_conductivity: float) -> float:
    """Share of the water that must drain to keep the root zone at a salt content.

    Parameters
    ----------
    water_conductivity : conductivity of the irrigation water [dS/m]
    soil_conductivity : conductivity of the saturated paste extract to keep [dS/m]

    Returns
    -------
    leaching requirement [1]

    Raises
    ------
    BadInput: when an input is negative or the water is too salty for that soil

    Valid for
    ---------
    surface irrigation and sprinklers, season averages

    Notes
    -----
    LR = ECw/(5 ECe - ECw).

    References
    ----------
    ayers-1985, equation 9
    """
    water = not_negative(water_conductivity, "conductivity of the water")
    room = 5.0 * above_zero(soil_conductivity, "conductivity of the soil") - water  # eq. 9
    if room <= water:
        raise BadInput("this water cannot keep that soil: all of it would have to drain")
    return water / room  # Ayers and Westcot 1985, eq. 9
