"""Buds in a cold night: critical temperatures between stages and the harm to be expected."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, above_zero, floats, series

_ROOT_TWO_PI: Final = math.sqrt(2.0 * math.pi)


def critical_temperature_between_stages(
    days: ArrayLike, stage_days: ArrayLike, stage_temperatures: ArrayLike
) -> Floats:
    """Critical temperature of buds on days between the stages it was measured at.

    Parameters
    ----------
    days : days asked for, counted from any one day [d]
    stage_days : day of each stage, rising, counted from the same day, shape (n,) [d]
    stage_temperatures : critical temperature at each stage, shape (n,) [degC]

    Returns
    -------
    critical temperature, NaN before the first stage, that of the last stage after it [degC]

    Raises
    ------
    BadInput: when the stages differ in number or do not follow one another

    Valid for
    ---------
    swelling buds to small fruit; before the first stage the bud is dormant

    Notes
    -----
    A straight line in time from stage to stage.

    References
    ----------
    snyder-2005-risk, damage estimator: critical temperatures between stage dates
    """
    at, degrees = series(stage_days, "days of the stages"), series(stage_temperatures, "stages")
    if at.shape != degrees.shape or at.size == 0:
        raise BadInput("every stage needs its day and its temperature")
    if np.any(np.diff(at) <= 0.0):
        raise BadInput("stages must follow one another in time")
    return floats(np.interp(floats(days), at, degrees, left=np.nan))


def expected_damage_normal(t10: float, t90: float, expected_minimum: float, error: float) -> float:
    """Share of buds killed that is to be expected of a night whose minimum is only forecast.

    Parameters
    ----------
    t10 : temperature that kills a tenth in half an hour [degC]
    t90 : temperature that kills nine tenths in half an hour [degC]
    expected_minimum : forecast lowest temperature at the tree [degC]
    error : standard deviation of the forecast [K]

    Returns
    -------
    mean share killed, 0 to 1 [1]

    Raises
    ------
    BadInput: when t90 is not below t10 or the error is not above zero

    Valid for
    ---------
    forecast errors that are normally distributed

    Notes
    -----
    The line of frost.damage_fraction averaged over a normal minimum. With LT0 = t10 + (t10 - t90)/8
    and LT100 = LT0 - 10 (t10 - t90)/8, and G(x) = z Phi(z) + phi(z) at z = (x - m)/s:
    s (G(LT0) - G(LT100))/(LT0 - LT100).

    References
    ----------
    snyder-2005-risk, damage estimator, averaged over the error of the forecast
    """
    if t90 >= t10:
        raise BadInput("the temperature that kills most must be below the one that kills a tenth")
    spread = above_zero(error, "error of the forecast")
    step = (t10 - t90) / 8.0  # FAO 2005 vol. 2: a tenth of the line from none to all
    none, every = t10 + step, t10 - 9.0 * step

    def area(limit: float) -> float:
        z = (limit - expected_minimum) / spread
        below = 0.5 * math.erfc(-z / math.sqrt(2.0))
        return z * below + math.exp(-0.5 * z * z) / _ROOT_TWO_PI

    share = spread * (area(none) - area(every)) / (none - every)
    return min(max(share, 0.0), 1.0)
