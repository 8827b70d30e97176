"""How cold a winter gets, and how often: extreme-value statistics of yearly minima."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, above_zero, series, share_of_one


class Gumbel(NamedTuple):
    """A Gumbel distribution of minima."""

    location: float
    scale: float


def _minima(minima: ArrayLike) -> Floats:
    values = series(minima, "yearly minima")
    if values.size < 3:
        raise BadInput(f"at least three winters are needed, not {values.size}")
    if np.isnan(values).any():
        raise BadInput("a winter without a minimum must be left out")
    if np.ptp(values) == 0.0:
        raise BadInput("winters that are all alike have no distribution")
    return values


def gumbel_minima_moments(minima: ArrayLike) -> Gumbel:
    """Gumbel distribution of yearly minima, fitted by their mean and standard deviation.

    Parameters
    ----------
    minima : lowest temperature of each winter, shape (n,) [degC]

    Returns
    -------
    location : the most frequent yearly minimum [degC]
    scale : spread [K]

    Raises
    ------
    BadInput: when there are fewer than three winters, one is missing, or all are alike

    Valid for
    ---------
    ten winters or more; a winter runs July to June in the north, January to December in the south

    Notes
    -----
    scale = s sqrt(6)/pi, location = mean + 0.5772 scale.

    References
    ----------
    gumbel-1958, extreme value type I, method of moments
    """
    values = _minima(minima)
    scale = float(np.std(values, ddof=1)) * math.sqrt(6.0) / math.pi  # Gumbel 1958, moments
    return Gumbel(float(np.mean(values)) + float(np.euler_gamma) * scale, scale)


def gumbel_minima_lmoments(minima: ArrayLike) -> Gumbel:
    """Gumbel distribution of yearly minima, fitted by L-moments: less moved by one odd winter.

    Parameters
    ----------
    minima : lowest temperature of each winter, shape (n,) [degC]

    Returns
    -------
    location : the most frequent yearly minimum [degC]
    scale : spread [K]

    Raises
    ------
    BadInput: when there are fewer than three winters, one is missing, or all are alike

    Valid for
    ---------
    ten winters or more

    Notes
    -----
    On y = -x, sorted: l1 = mean, l2 = 2 b1 - l1 with b1 = sum((i-1) y(i))/(n (n-1));
    scale = l2/ln 2, location = -(l1 - 0.5772 scale).

    References
    ----------
    hosking-1990, Gumbel distribution
    """
    turned = np.sort(-_minima(minima))
    count = turned.size
    first = float(np.mean(turned))
    weighted = float(np.sum(np.arange(count) * turned)) / (count * (count - 1))  # Hosking b1
    scale = (2.0 * weighted - first) / math.log(2.0)  # Hosking 1990, Gumbel
    return Gumbel(-(first - float(np.euler_gamma) * scale), scale)


def gumbel_quantile(location: float, scale: float, return_period: float) -> float:
    """Minimum reached or passed once in a return period on average.

    Parameters
    ----------
    location : location of the Gumbel distribution of minima [degC]
    scale : its scale [K]
    return_period : mean number of years between such winters, above 1 [yr]

    Returns
    -------
    yearly minimum [degC]

    Raises
    ------
    BadInput: when the scale is not above 0 or the return period not above 1

    Valid for
    ---------
    return periods up to about twice the length of the record

    Notes
    -----
    u + beta ln(-ln(1 - 1/R)).

    References
    ----------
    gumbel-1958, extreme value type I for minima
    """
    if return_period <= 1.0:
        raise BadInput("a return period must be longer than one year")
    chance = -math.log1p(-1.0 / return_period)  # Gumbel 1958, solved for the minimum
    return location + above_zero(scale, "scale") * math.log(chance)


def gumbel_probability(location: float, scale: float, temperature: float) -> float:
    """Chance that a winter's minimum falls to a temperature or below.

    Parameters
    ----------
    location : location of the Gumbel distribution of minima [degC]
    scale : its scale [K]
    temperature : temperature asked for [degC]

    Returns
    -------
    probability in one winter [1]

    Raises
    ------
    BadInput: when the scale is not above 0

    Valid for
    ---------
    temperatures within or not far beyond the record

    Notes
    -----
    1 - exp(-exp((T - u)/beta)).

    References
    ----------
    gumbel-1958, extreme value type I for minima
    """
    above = min((temperature - location) / above_zero(scale, "scale"), 700.0)  # exp stays finite
    return -math.expm1(-math.exp(above))  # Gumbel 1958


def plotting_position_weibull(minima: ArrayLike) -> Floats:
    """Chance of each winter of a record, from its rank alone.

    Parameters
    ----------
    minima : lowest temperature of each winter, shape (n,) [degC]

    Returns
    -------
    probability of a winter as cold or colder, in the order given, shape (n,) [1]

    Raises
    ------
    BadInput: when there is no winter or one is missing

    Valid for
    ---------
    any record; equal winters share the rank of the last of them

    Notes
    -----
    rank/(n + 1), rank 1 the coldest.

    References
    ----------
    weibull-1939, plotting position
    """
    values = series(minima, "yearly minima")
    if values.size == 0 or np.isnan(values).any():
        raise BadInput("a winter without a minimum must be left out")
    rank = np.searchsorted(np.sort(values), values, side="right")
    return np.asarray(rank / (values.size + 1.0))  # Weibull 1939


def risk_over_years(probability: float, years: float) -> float:
    """Chance of at least one such winter in a number of years.

    Parameters
    ----------
    probability : probability in one winter [1]
    years : number of years [yr]

    Returns
    -------
    probability over the years [1]

    Raises
    ------
    BadInput: when the probability is outside 0 to 1 or the number of years negative

    Valid for
    ---------
    winters that do not depend on each other, in a climate that does not change

    Notes
    -----
    1 - (1 - p)^n.

    References
    ----------
    snyder-2005-risk, risk over the design life
    """
    if years < 0.0:
        raise BadInput("a number of years must not be negative")
    return float(1.0 - (1.0 - share_of_one(probability, "probability")) ** years)
