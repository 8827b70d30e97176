"""Heat that drives growth: degree days, degree hours and plain temperature sums."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, daily_pair, floats, series

ANDERSON_BASE: Final = 4.0  # degC, Anderson et al. 1986
ANDERSON_OPTIMUM: Final = 25.0  # degC, Anderson et al. 1986
ANDERSON_CRITICAL: Final = 36.0  # degC, Anderson et al. 1986
RICHARDSON_BASE: Final = 4.5  # degC, Richardson et al. 1975
RICHARDSON_CEILING: Final = 25.0  # degC, Richardson et al. 1975


def growing_degree_days(
    tmin: ArrayLike, tmax: ArrayLike, base: float, ceiling: float | None = None
) -> Floats:
    """Growing degree days: the daily mean above a base temperature.

    Parameters
    ----------
    tmin : daily minimum air temperature [degC]
    tmax : daily maximum air temperature [degC]
    base : temperature below which nothing develops [degC]
    ceiling : mean temperature above which nothing is gained; None for no ceiling [degC]

    Returns
    -------
    degree days of each day, shape of the inputs; sum for a season [degC d]

    Raises
    ------
    BadInput: when a maximum is below its minimum, or the ceiling is not above the base

    Valid for
    ---------
    daily step; the mean is (tmin + tmax) / 2, so half a warm afternoon can be lost on cold days

    Notes
    -----
    max(0, min(mean, ceiling) - base).

    References
    ----------
    mcmaster-1997, method 1
    """
    low, high = daily_pair(tmin, tmax)
    if ceiling is not None and ceiling <= base:
        raise BadInput("the ceiling of degree days must be above their base")
    mean = (low + high) / 2.0  # McMaster and Wilhelm 1997, eq. 1
    capped = mean if ceiling is None else np.minimum(mean, ceiling)
    return floats(np.maximum(capped - base, 0.0))


def growing_degree_hours_anderson(hourly: ArrayLike) -> Floats:
    """Growing degree hours by the two cosines of Anderson: gain to 25 degC, fall to 36 degC.

    Parameters
    ----------
    hourly : hourly air temperature [degC]

    Returns
    -------
    degree hours of each hour, 0 to 21, shape of the input; sum for a season [degC h]

    Raises
    ------
    nothing

    Valid for
    ---------
    hourly step; fitted on sour cherry, used for most deciduous fruit

    Notes
    -----
    Tb 4, Tu 25, Tc 36 degC. Up to Tu: (Tu - Tb)/2 (1 + cos(pi + pi (T - Tb)/(Tu - Tb)));
    above it: (Tu - Tb) (1 + cos(pi/2 + pi/2 (T - Tu)/(Tc - Tu))); else 0.

    References
    ----------
    anderson-1986, the ASYMCUR model
    """
    air = floats(hourly)
    span = ANDERSON_OPTIMUM - ANDERSON_BASE
    rising = span / 2.0 * (1.0 + np.cos(np.pi + np.pi * (air - ANDERSON_BASE) / span))  # Anderson
    past = (air - ANDERSON_OPTIMUM) / (ANDERSON_CRITICAL - ANDERSON_OPTIMUM)
    falling = span * (1.0 + np.cos(np.pi / 2.0 * (1.0 + past)))  # Anderson et al. 1986
    heat = np.where(air <= ANDERSON_OPTIMUM, rising, falling)
    active = np.where((air < ANDERSON_BASE) | (air > ANDERSON_CRITICAL), 0.0, heat)
    return np.where(np.isnan(air), np.nan, np.maximum(active, 0.0))


def growing_degree_hours_richardson(hourly: ArrayLike) -> Floats:
    """Growing degree hours by the straight line of Richardson: degrees above 4.5, none past 25.

    Parameters
    ----------
    hourly : hourly air temperature [degC]

    Returns
    -------
    degree hours of each hour, 0 to 20.5, shape of the input; sum for a season [degC h]

    Raises
    ------
    nothing

    Valid for
    ---------
    hourly step; heat above 25 degC counts as 25, so very hot hours are over-rated

    Notes
    -----
    min(max(T, 4.5), 25) - 4.5.

    References
    ----------
    richardson-1975, growing degree hours
    """
    return floats(np.clip(floats(hourly), RICHARDSON_BASE, RICHARDSON_CEILING) - RICHARDSON_BASE)


def temperature_sum(daily_mean: ArrayLike, base: float) -> Floats:
    """Sum of the daily means above a base, counted up day by day.

    Parameters
    ----------
    daily_mean : daily mean air temperature of consecutive days, shape (n,) [degC]
    base : temperature below which a day adds nothing [degC]

    Returns
    -------
    sum from the start to each day, shape (n,), never falling [degC d]

    Raises
    ------
    BadInput: when the input is not one-dimensional

    Valid for
    ---------
    daily step; from the first missing day on everything is missing

    Notes
    -----
    Running sum of max(0, mean - base).

    References
    ----------
    mcmaster-1997, method 1
    """
    return np.cumsum(np.maximum(series(daily_mean, "daily mean") - base, 0.0))


HEAT_MODELS: Final[dict[str, Callable[[ArrayLike], Floats]]] = {
    "Anderson": growing_degree_hours_anderson,
    "Richardson": growing_degree_hours_richardson,
}
"""Rival growing degree hours: hourly temperature to the heat of each hour."""
