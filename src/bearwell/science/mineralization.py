"""Nitrogen set free by organic and coated products: two pools, each with its half-life, and warmth."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import (
    Floats,
    above_zero,
    at_least,
    floats,
    series,
    share_of_one,
    within,
)


def q10_factor(temperature: ArrayLike, q10: float, reference: float = 20.0) -> Floats:
    """How much faster a process runs than at a reference temperature.

    Parameters
    ----------
    temperature : temperature of the soil [degC]
    q10 : times faster for each 10 degrees of warming [1]
    reference : temperature at which the factor is 1 [degC]

    Returns
    -------
    factor on the rate [1]

    Raises
    ------
    BadInput: when q10 is not more than zero

    Valid for
    ---------
    unfrozen soil up to about 35 degC

    Notes
    -----
    q10^((T - Tref)/10).

    References
    ----------
    definition
    """
    return floats(above_zero(q10, "q10") ** ((floats(temperature) - reference) / 10.0))


def _two_pools(
    warm_days: Floats,
    fast_share: float,
    fast_half_life: float,
    slow_share: float,
    slow_half_life: float,
) -> Floats:
    """Share set free after days at the reference temperature."""
    fast, slow = share_of_one(fast_share, "fast share"), share_of_one(slow_share, "slow share")
    if fast + slow > 1.0 + 1e-12:
        raise BadInput(
            said("the two shares add up to {whole:g}, more than the whole", whole=fast + slow)
        )
    quick = above_zero(fast_half_life, "fast half-life")
    late = above_zero(slow_half_life, "slow half-life")
    return floats(
        fast * -np.expm1(-np.log(2.0) * warm_days / quick)
        + slow * -np.expm1(-np.log(2.0) * warm_days / late)
    )


def released_fraction_two_pool(
    days: ArrayLike,
    temperature: ArrayLike,
    fast_share: float,
    fast_half_life: float,
    slow_share: float,
    slow_half_life: float,
    q10: float,
    reference: float = 20.0,
    moisture_factor: ArrayLike = 1.0,
) -> Floats:
    """Share of a product's nutrient set free after some days at a steady temperature.

    Parameters
    ----------
    days : time since it was given [d]
    temperature : mean temperature of the soil over that time [degC]
    fast_share : share of the nutrient in the fast pool [1]
    fast_half_life : time to half of the fast pool at the reference temperature [d]
    slow_share : share of the nutrient in the slow pool [1]
    slow_half_life : time to half of the slow pool at the reference temperature [d]
    q10 : times faster for each 10 degrees of warming [1]
    reference : temperature the half-lives were measured at [degC]
    moisture_factor : rate in this soil relative to a moist one, 0 dry to 1 moist [1]

    Returns
    -------
    share set free, 0 to the two shares together [1]

    Raises
    ------
    BadInput: when days are negative, a share is outside 0 to 1, the shares add up to more than 1,
        a half-life or q10 is not more than zero, or the moisture factor is outside 0 to 1

    Valid for
    ---------
    net release; what neither pool holds stays bound beyond the season. Not for a compost that takes
    nitrogen up from the soil

    Notes
    -----
    F = a (1 - 2^(-t/ha)) + b (1 - 2^(-t/hb)), with t = days q10^((T - Tref)/10) moisture: the double
    exponential of incubation studies, its rate constants ln 2 / half-life. Warmth acts on the rates
    and not on the shares, so the extent after weeks hangs much less on warmth than the rates do.

    References
    ----------
    wang-2004, double exponential model
    """
    warm = at_least(days, "days", 0.0) * q10_factor(temperature, q10, reference)
    warm = floats(warm * within(moisture_factor, "moisture factor", 0.0, 1.0))
    return _two_pools(warm, fast_share, fast_half_life, slow_share, slow_half_life)


def daily_release(
    temperature: ArrayLike,
    fast_share: float,
    fast_half_life: float,
    slow_share: float,
    slow_half_life: float,
    q10: float,
    reference: float = 20.0,
    moisture_factor: ArrayLike = 1.0,
) -> Floats:
    """Share of a product's nutrient set free on each day after it is given.

    Parameters
    ----------
    temperature : temperature of the soil each day from the day it is given, shape (n,) [degC]
    fast_share : share of the nutrient in the fast pool [1]
    fast_half_life : time to half of the fast pool at the reference temperature [d]
    slow_share : share of the nutrient in the slow pool [1]
    slow_half_life : time to half of the slow pool at the reference temperature [d]
    q10 : times faster for each 10 degrees of warming [1]
    reference : temperature the half-lives were measured at [degC]
    moisture_factor : rate in this soil relative to a moist one, one value or shape (n,) [1]

    Returns
    -------
    share set free on each day, shape (n,) [1]

    Raises
    ------
    BadInput: as released_fraction_two_pool, and when the temperature is not a series

    Valid for
    ---------
    as released_fraction_two_pool; from the first missing day on everything is missing

    Notes
    -----
    Days at the reference temperature add up day by day; a day's release is the difference of the
    cumulative share at its end and at its start, so the sum over days is the share set free by the
    end, and at a steady temperature that is released_fraction_two_pool.

    References
    ----------
    wang-2004, double exponential model
    """
    rate = q10_factor(series(temperature, "temperature"), q10, reference)
    rate = floats(rate * within(moisture_factor, "moisture factor", 0.0, 1.0))
    warm = np.concatenate(([0.0], np.cumsum(rate)))
    return np.diff(_two_pools(warm, fast_share, fast_half_life, slow_share, slow_half_life))
