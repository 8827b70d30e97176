"""How bearing wood ages under a yearly renewal, and how many cuts make a share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative, share_of_one


def wood_at_rest(renewal: float, oldest: int) -> list[float]:
    """Shares of wood by age in a tree renewed by the same share for many years.

    Parameters
    ----------
    renewal : share of the wood renewed each year, the oldest first [1]
    oldest : greatest age told apart; older wood is counted with it [count]

    Returns
    -------
    share of the wood of each age from 0 years on, adding up to one [1]

    Raises
    ------
    BadInput: when the share is outside 0 to 1 or there is no age

    Valid for
    ---------
    canopies that keep their size

    Notes
    -----
    Every age holds the renewed share until the wood runs out; what is left over is of the greatest age.

    References
    ----------
    definition, a stock with a steady inflow
    """
    yearly = share_of_one(renewal, "renewal share")
    if oldest < 1:
        raise BadInput("wood needs at least one year of age")
    ages, left = [], 1.0
    for _ in range(oldest):
        ages.append(min(yearly, left))
        left -= ages[-1]
    return [*ages, left]


def wood_a_year_on(ages: Sequence[float], renewal: float) -> list[float]:
    """Shares of wood by age after a year in which the oldest share was cut and grew anew.

    Parameters
    ----------
    ages : share of the wood of each age from 0 years on [1]
    renewal : share of the wood cut and grown anew, the oldest first [1]

    Returns
    -------
    share of the wood of each age a year on [1]

    Raises
    ------
    BadInput: when a share is negative or the renewal outside 0 to 1

    Valid for
    ---------
    canopies that keep their size

    Notes
    -----
    The oldest goes first; what stays is a year older; as much new wood as was cut comes in.

    References
    ----------
    definition, a stock with a steady inflow
    """
    cut = share_of_one(renewal, "renewal share")
    kept = [not_negative(one, "share of wood") for one in ages]
    left = cut * sum(kept)
    new = left
    for age in range(len(kept) - 1, -1, -1):
        taken = min(kept[age], left)
        kept[age] -= taken
        left -= taken
    return [new, *kept[:-2], kept[-2] + kept[-1]] if len(kept) > 1 else [new + kept[0]]


def combined_range(best: float, ends: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Range of a figure that is a product of uncertain ones, each varied alone.

    Parameters
    ----------
    best : the figure with every part at its best value [1]
    ends : the figure with one part at its low and at its high end, for each part [1]

    Returns
    -------
    low and high end [1]

    Raises
    ------
    BadInput: when a figure is not above zero

    Valid for
    ---------
    parts that are uncertain for reasons of their own

    Notes
    -----
    The logarithms of the single changes are added as squares: it is unlikely that all err the same way.

    References
    ----------
    definition, propagation of independent errors
    """
    middle = above_zero(best, "best value")
    down = up = 0.0
    for pair in ends:
        low, high = (math.log(above_zero(one, "end of a range") / middle) for one in sorted(pair))
        down, up = math.hypot(down, low), math.hypot(up, high)
    return middle * math.exp(-down), middle * math.exp(up)


def cuts_for_share(share: float, trunk: float, branch: float, power: float) -> float:
    """Branches of a thickness whose leaves make a share of the canopy.

    Parameters
    ----------
    share : share of the leaves to take [1]
    trunk : diameter of the trunk [m]
    branch : diameter of the branches where they are cut [m]
    power : power of the diameter that the leaves on a branch follow [1]

    Returns
    -------
    number of such branches [count]

    Raises
    ------
    BadInput: when the share is outside 0 to 1 or a diameter is not above zero

    Valid for
    ---------
    sound trunks of one stem; wood without leaves counts for nothing

    Notes
    -----
    Leaf mass goes with the section of the branch's base (power 2), on the trunk alike: share (D/d)^b.

    References
    ----------
    grabosky-2007, abstract: leaf mass linear in the basal area of the branch
    """
    ratio = above_zero(trunk, "trunk diameter") / above_zero(branch, "branch diameter")
    leaves = math.pow(ratio, not_negative(power, "power"))  # Grabosky 2007
    return share_of_one(share, "share") * leaves
