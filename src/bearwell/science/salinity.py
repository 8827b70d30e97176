"""Salt: what it costs in yield, and the water that carries it below the roots."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science import soilwater
from bearwell.science._arrays import Floats, above_zero, at_least, floats, not_negative


def relative_yield_maas_hoffman(ec: ArrayLike, threshold: ArrayLike, slope: ArrayLike) -> Floats:
    """Yield left in a salty soil, relative to one without salt, for many soils at once.

    Parameters
    ----------
    ec : conductivity of the saturated paste extract [dS/m]
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
    root zone means over the season; established trees on rootstocks that keep salt out

    Notes
    -----
    Y = 1 - b (ECe - a), not above 1 and not below 0. One soil: soilwater.relative_yield_salinity.

    References
    ----------
    ayers-1985, equation 3
    """
    past = at_least(ec, "conductivity", 0.0) - at_least(threshold, "threshold", 0.0)
    lost = at_least(slope, "slope", 0.0) * np.maximum(past, 0.0)
    return floats(np.maximum(1.0 - lost, 0.0))  # Ayers and Westcot 1985, yield line


def leaching_requirement_ayers(water_ec: float, soil_ec: float) -> float:
    """Share of the water that must drain to keep the root zone at a salt content.

    Parameters
    ----------
    water_ec : conductivity of the irrigation water [dS/m]
    soil_ec : conductivity of the saturated paste extract to keep [dS/m]

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
    LR = ECw/(5 ECe - ECw), as soilwater.leaching_requirement.

    References
    ----------
    ayers-1985, equation 9
    """
    return soilwater.leaching_requirement(water_ec, soil_ec)


def leaching_fraction(drained: float, applied: float) -> float:
    """Share of the water given that ran out below, as measured at a pot or a lysimeter.

    Parameters
    ----------
    drained : water that ran out [L]
    applied : water given [L]

    Returns
    -------
    leaching fraction [1]

    Raises
    ------
    BadInput: when nothing was given, a volume is negative, or more ran out than was given

    Valid for
    ---------
    one watering, or the sums over a season; rain counts as given

    Notes
    -----
    drained / applied.

    References
    ----------
    definition
    """
    given = above_zero(applied, "water given")
    out = not_negative(drained, "drained water")
    if out > given:
        raise BadInput(
            said(
                "{out:g} L ran out of {given:g} L given: count the rain as well",
                out=out,
                given=given,
            )
        )
    return out / given


def water_with_leaching(need: float, fraction: float) -> float:
    """Water to give so that a need is met and a fraction drains.

    Parameters
    ----------
    need : water the tree uses [L]
    fraction : share of what is given that should drain [1]

    Returns
    -------
    water to give [L]

    Raises
    ------
    BadInput: when the need is negative or the fraction is not from 0 to below 1

    Valid for
    ---------
    water that all reaches the root zone

    Notes
    -----
    need / (1 - fraction).

    References
    ----------
    ayers-1985, equation 7
    """
    part = not_negative(fraction, "leaching fraction")
    if part >= 1.0:
        raise BadInput("the leaching fraction must be below 1")
    return not_negative(need, "need") / (1.0 - part)
