"""What a day is worth for a cut: each reason a factor from 0 to 1, from chances of dates."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, floats, share_of_one, within

_CERTAIN = 6.0  # beyond it erf is 1 to the last digit of a float


def chance_passed(days: ArrayLike, spread: float) -> Floats:
    """Chance that an uncertain date has come, by days since its expected date.

    Parameters
    ----------
    days : days since the expected date, negative before it [d]
    spread : standard deviation of the date [d]

    Returns
    -------
    chance that it has come [1]

    Raises
    ------
    BadInput: when the spread is negative

    Valid for
    ---------
    dates whose error is about normal; a spread of nothing is a date that was seen

    Notes
    -----
    Normal distribution function, (1 + erf(x / (s sqrt 2))) / 2.

    References
    ----------
    definition, normal distribution function
    """
    if spread < 0.0:
        raise BadInput("the spread of a date is negative")
    since = floats(days)
    if spread == 0.0:
        return np.where(since >= 0.0, 1.0, 0.0)
    apart = floats(since / (spread * math.sqrt(2.0)))
    erf, near = floats(np.sign(apart)), np.abs(apart) < _CERTAIN
    erf[near] = [math.erf(one) for one in apart[near]]
    return np.asarray((1.0 + erf) / 2.0)


def worth(good: ArrayLike, worst: float) -> Floats:
    """Factor of a day whose reason holds with a chance.

    Parameters
    ----------
    good : chance that nothing stands against the day [1]
    worst : factor of a day against which the reason stands for certain [1]

    Returns
    -------
    factor between the worst and one [1]

    Raises
    ------
    BadInput: when a chance or the worst is outside 0 to 1

    Valid for
    ---------
    reasons that are judged one by one and multiplied

    Notes
    -----
    worst + (1 - worst) good: the mean of the factor over what may come.

    References
    ----------
    definition, an expected value
    """
    least = share_of_one(worst, "worst factor")
    return np.asarray(least + (1.0 - least) * within(good, "chance", 0.0, 1.0))
