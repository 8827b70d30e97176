"""Hardening of a tree by cool weather, its loss in warmth, and what is not regained."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, above_zero, floats, not_negative, series, share_of_one


class Hardening(NamedTuple):
    """How hardened a tree is day by day, and the most it can still reach this season."""

    state: Floats
    ceiling: Floats


def hardening_course(
    daily_mean: ArrayLike,
    base: float,
    full_days: float,
    full_coolness: float,
    loss: float,
    forfeit: float,
) -> Hardening:
    """Course of hardening through a season that begins unhardened.

    Parameters
    ----------
    daily_mean : mean temperature of each day from the start of the season, shape (n,) [degC]
    base : temperature below which a tree hardens and above which it loses hardening [degC]
    full_days : days of full coolness that harden it wholly [d]
    full_coolness : degrees below the base at which a day counts in full [K]
    loss : how many times as fast warmth undoes hardening [1]
    forfeit : share of what warmth took that is not regained this season [1]

    Returns
    -------
    state : hardening at the end of each day, 0 to 1, shape (n,) [1]
    ceiling : the most that could still be reached on that day, shape (n,) [1]

    Raises
    ------
    BadInput: when days, coolness or base are not above zero, the loss is negative, or the share
        forfeited is outside 0 to 1

    Valid for
    ---------
    daily means; a missing day leaves the state as it was

    Notes
    -----
    A cool day adds min((base - T)/full_coolness, 1)/full_days up to the ceiling. A warm day takes
    loss (T - base)/(full_coolness full_days), and the ceiling falls by the forfeited share of what
    was taken. The form is ours; that hardening builds below 12.8 degC, is lost quickly and is not
    regained to the same level is the source's.

    References
    ----------
    oswalt-2021, acclimation
    """
    means = series(daily_mean, "daily means")
    each = 1.0 / above_zero(full_days, "days to full hardening")
    cool = (base - means) / above_zero(full_coolness, "coolness of a full day")
    lost, kept_back = not_negative(loss, "loss"), share_of_one(forfeit, "share not regained")
    state, ceiling = 0.0, 1.0
    states, ceilings = np.empty(means.size), np.empty(means.size)
    for day, coolness in enumerate(cool.tolist()):
        if coolness > 0.0:
            state = max(min(state + min(coolness, 1.0) * each, ceiling), state)
        elif coolness < 0.0:
            taken = min(-coolness * each * lost, state)
            state, ceiling = state - taken, ceiling - kept_back * taken
        states[day], ceilings[day] = state, ceiling
    return Hardening(states, ceilings)


def hardened_limit(tender: ArrayLike, hardened: ArrayLike, state: ArrayLike) -> Floats:
    """Temperature that hurts an organ part of the way from tender to hardened.

    Parameters
    ----------
    tender : temperature that hurts it unhardened [degC]
    hardened : temperature that hurts it fully hardened [degC]
    state : hardening, 0 to 1 [1]

    Returns
    -------
    temperature that hurts it now, shape of the inputs [degC]

    Raises
    ------
    BadInput: when the state is outside 0 to 1 or the hardened limit is the warmer one

    Valid for
    ---------
    the organs and kinds whose two ends are known

    Notes
    -----
    A straight line from one end to the other.

    References
    ----------
    judgement, a line between the two ends the sources give
    """
    soft, hard, share = floats(tender), floats(hardened), floats(state)
    if np.any(hard > soft):
        raise BadInput("what is hardened cannot stand less than what is tender")
    if np.any((share < 0.0) | (share > 1.0)):
        raise BadInput("hardening is a share between 0 and 1")
    return floats(soft + share * (hard - soft))
