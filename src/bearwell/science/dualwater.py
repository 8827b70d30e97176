"""The dual account of FAO-56: a root zone and the wetted skin of its soil, day by day."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, at_least, floats, not_negative, series, within

WETTING_RAIN = 3.0  # mm, rain that wets the whole surface, FAO-56 chapter 7, fw of precipitation


class Ground(NamedTuple):
    """What does not change from day to day: water [mm] and shares [1]."""

    total: float
    evaporable: float
    ready: float
    wetted: float


class DualDay(NamedTuple):
    """A day of the root zone and its skin [mm], with the stress coefficient and the wetted share [1]."""

    depletion: float
    surface: float
    wet: float
    drainage: float
    stress: float
    transpiration: float
    evaporation: float


class DualBalance(NamedTuple):
    """What each day of a run did to the root zone and its skin."""

    depletion: Floats
    surface: Floats
    wet: Floats
    drainage: Floats
    stress: Floats
    transpiration: Floats
    evaporation: Floats


def dual_day_fao56(
    ground: Ground,
    depletion: float,
    surface: float,
    wet: float,
    rain: float,
    irrigation: float,
    reference: float,
    basal: float,
    highest: float,
    cover: float,
    depletion_share: float,
) -> DualDay:
    """One day of a root zone with the skin of its soil: what is drawn, given off and lost below.

    Parameters
    ----------
    ground : total available, evaporable and readily evaporable water, and the share irrigation wets [mm]
    depletion : water missing from the root zone at the start [mm]
    surface : water evaporated from the wetted skin at the start [mm]
    wet : share of the ground that was wetted last [1]
    rain : rain that enters the soil [mm]
    irrigation : irrigation on the whole ground [mm]
    reference : reference evapotranspiration [mm d-1]
    basal : basal crop coefficient [1]
    highest : upper limit of the crop coefficient [1]
    cover : share of the ground under leaves [1]
    depletion_share : share of the available water that can go before stress [1]

    Returns
    -------
    the day: depletion, skin, drainage, transpiration and evaporation [mm], stress and wetted share [1]

    Raises
    ------
    nothing: the run checks its inputs

    Valid for
    ---------
    daily step. The account closes: start - rain - irrigation + transpiration + evaporation + drainage is
    the end

    Notes
    -----
    Equations 71, 74, 75, 77, 79 and 84 to 88. The water of a day comes before its use. Evaporation takes no
    more than the root zone still holds.

    References
    ----------
    allen-1998, equations 71 to 79 and 84 to 88
    """
    if rain >= WETTING_RAIN:
        wet = 1.0  # FAO-56 chapter 7: rain wets all of it
    elif irrigation > 0.0:
        wet = ground.wetted
    bare = min(max(1.0 - cover, 0.01), wet)  # FAO-56 eq. 75, few held at 0.01 and more
    skin = max(surface - rain - irrigation / wet, 0.0) if wet > 0.0 else surface  # eq. 77, 79
    room = ground.evaporable - ground.ready
    reduction = min(max((ground.evaporable - skin) / room, 0.0), 1.0)  # FAO-56 eq. 74
    soil = max(min(reduction * (highest - basal), bare * highest), 0.0)  # FAO-56 eq. 71
    morning = depletion - rain - irrigation
    held = ground.total - max(morning, 0.0)
    stress = min(max(held / ((1.0 - depletion_share) * ground.total), 0.0), 1.0)  # FAO-56 eq. 84
    left = ground.total - morning
    drawn = min(stress * basal * reference, left)
    lost = min(soil * reference, left - drawn, bare * max(ground.evaporable - skin, 0.0))
    evening = morning + drawn + lost  # FAO-56 eq. 85
    drained = max(-evening, 0.0)  # FAO-56 eq. 88
    return DualDay(max(evening, 0.0), skin + lost / bare, wet, drained, stress, drawn, lost)


def dual_water_balance_fao56(
    depletion: float,
    surface: float,
    rain: ArrayLike,
    irrigation: ArrayLike,
    reference: ArrayLike,
    basal: ArrayLike,
    highest: ArrayLike,
    cover: ArrayLike,
    depletion_share: ArrayLike,
    total_available: float,
    total_evaporable: float,
    readily_evaporable: float,
    wetted_share: float,
) -> DualBalance:
    """Daily account of a root zone and its skin over a run of days.

    Parameters
    ----------
    depletion : water missing from the root zone before the first day [mm]
    surface : water evaporated from the skin before the first day [mm]
    rain : rain that enters the soil each day, shape (n,) [mm]
    irrigation : irrigation on the whole ground each day, shape (n,) or one value [mm]
    reference : reference evapotranspiration each day, shape (n,) [mm d-1]
    basal : basal crop coefficient each day, shape (n,) or one value [1]
    highest : upper limit of the crop coefficient, shape (n,) or one value [1]
    cover : share of the ground under leaves, shape (n,) or one value [1]
    depletion_share : share of the available water that can go before stress, shape (n,) or one value [1]
    total_available : total available water of the root zone [mm]
    total_evaporable : total evaporable water of the skin [mm]
    readily_evaporable : readily evaporable water of the skin [mm]
    wetted_share : share of the ground that irrigation wets [1]

    Returns
    -------
    each day: depletion, skin, drainage, transpiration, evaporation, shape (n,) [mm]; stress, wetted share [1]

    Raises
    ------
    BadInput: when a depth is negative, a share outside 0 to 1, nothing is available, or the readily
        evaporable water is not below the total

    Valid for
    ---------
    daily step, no runoff and no capillary rise; inputs without gaps

    Notes
    -----
    dual_day_fao56 day after day, the whole ground wetted at the start.

    References
    ----------
    allen-1998, chapter 7
    """
    falls = at_least(series(rain, "rain"), "rain", 0.0)
    columns = [falls]
    for values, name, most in (
        (irrigation, "irrigation", np.inf),
        (reference, "reference evapotranspiration", np.inf),
        (basal, "basal coefficient", np.inf),
        (highest, "upper limit of the coefficient", np.inf),
        (cover, "cover", 1.0),
        (depletion_share, "depletion share", 0.99),
    ):
        columns.append(np.broadcast_to(within(values, name, 0.0, most), falls.shape))
    if not all(np.isfinite(column).all() for column in columns):
        raise BadInput("the dual account takes no gaps", "fill them first")
    total, wetted = floats(total_available), floats(within(wetted_share, "wetted share", 0.01, 1.0))
    if not 0.0 <= readily_evaporable < total_evaporable or not total > 0.0:
        raise BadInput("readily evaporable water must be below the total, and some available")
    if not_negative(depletion, "depletion") > float(total) * (1.0 + 1e-12):
        raise BadInput(
            said(
                "a depletion of {depletion:g} mm is more than the water available",
                depletion=depletion,
            )
        )
    ground = Ground(float(total), total_evaporable, readily_evaporable, float(wetted))
    state = min(depletion, float(total)), not_negative(surface, "surface depletion"), 1.0
    result = np.empty((7, falls.size))
    listed = [column.tolist() for column in columns]
    for at, inputs in enumerate(zip(*listed, strict=True)):
        day = dual_day_fao56(ground, *state, *inputs)
        result[:, at] = day
        state = day[:3]
    return DualBalance(*result)
