"""How cold a winter gets, and how often: extreme-value statistics of yearly minima."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, above_zero, series, share_of_one


class Gumbel(NamedTuple):
    """A Gumbel distribution of minima."""

    location: float
    scale: float


def _minima(minima: ArrayLike) -> Floats:
    values = series(minima, "yearly minima")
    if values.size < 3:
        raise BadInput(
            said("at least three winters are needed, not {winters}", winters=values.size)
        )
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


def gumbel_quantile_error_moments(scale: float, return_period: float, winters: int) -> float:
    """Standard error of a minimum of a return period, for a Gumbel fitted by moments.

    Parameters
    ----------
    scale : scale of the Gumbel distribution [K]
    return_period : mean number of years between such winters, above 1 [yr]
    winters : winters it was fitted to [count]

    Returns
    -------
    standard error of the minimum [K]

    Raises
    ------
    BadInput: when the scale is not above 0, the return period not above 1, or there are fewer than
        three winters

    Valid for
    ---------
    winters that do not depend on each other, in a climate that does not change; a large-sample
    formula, a little narrow below twenty winters

    Notes
    -----
    With s = scale pi/sqrt(6) and K = -(sqrt(6)/pi)(0.5772 + ln(-ln(1 - 1/R))):
    s sqrt((1 + 1.1396 K + 1.1000 K^2)/n), where 1.1396 is the skewness of a Gumbel distribution and
    1.1000 a quarter of its kurtosis less one.

    References
    ----------
    definition, errors of a mean and a standard deviation carried through to the quantile
    """
    if return_period <= 1.0:
        raise BadInput("a return period must be longer than one year")
    if winters < 3:
        raise BadInput(said("at least three winters are needed, not {winters}", winters=winters))
    sigma = above_zero(scale, "scale") * math.pi / math.sqrt(6.0)
    reduced = math.log(-math.log1p(-1.0 / return_period))
    factor = -math.sqrt(6.0) / math.pi * (float(np.euler_gamma) + reduced)
    return sigma * math.sqrt((1.0 + 1.1396 * factor + 1.1000 * factor**2) / winters)  # delta method


def gumbel_refits_moments(
    location: float, scale: float, winters: int, draws: int, seed: int
) -> Floats:
    """Gumbel fits to records drawn from a Gumbel distribution: how far a fit may be off.

    Parameters
    ----------
    location : location of the Gumbel distribution of minima [degC]
    scale : its scale [K]
    winters : winters in each drawn record [count]
    draws : how many records are drawn [count]
    seed : seed of the draws, so that the same question has the same answer [count]

    Returns
    -------
    location and scale of each fit, shape (draws, 2) [degC]

    Raises
    ------
    BadInput: when the scale is not above 0 or there are fewer than three winters or one draw

    Valid for
    ---------
    winters that do not depend on each other, in a climate that does not change

    Notes
    -----
    Minima u + beta ln(-ln(1 - U)), U uniform; each record fitted as gumbel_minima_moments.

    References
    ----------
    gumbel-1958, extreme value type I for minima, drawn and fitted again
    """
    if winters < 3 or draws < 1:
        raise BadInput("at least three winters and one draw are needed")
    spread = above_zero(scale, "scale")
    chance = np.random.default_rng(seed).random((draws, winters))
    drawn = location + spread * np.log(-np.log1p(-chance))
    scales = np.std(drawn, axis=1, ddof=1) * math.sqrt(6.0) / math.pi  # Gumbel 1958, moments
    return np.column_stack([np.mean(drawn, axis=1) + float(np.euler_gamma) * scales, scales])


def hardiness_half_zone_usda(mean_yearly_minimum: float) -> int:
    """Half-zone of winter hardiness from the mean of each year's lowest temperature.

    Parameters
    ----------
    mean_yearly_minimum : mean of the lowest temperature of each year, best over 30 years [degC]

    Returns
    -------
    half-zones above -60 degF, 0 for zone 1a, 1 for 1b, 2 for 2a and so on up to 25 for 13b [count]

    Raises
    ------
    BadInput: when the mean is below -60 degF or not a number

    Valid for
    ---------
    -60 to 70 degF; warmer places count as 13b

    Notes
    -----
    floor((T + 60 degF)/5 degF): zones of 10 degF, halves of 5 degF.

    References
    ----------
    usda-zones, mean annual extreme minimum, zones of 10 degF in halves of 5 degF
    """
    above = (mean_yearly_minimum * 9.0 / 5.0 + 32.0 + 60.0) / 5.0  # degF above -60 degF, in halves
    if not above >= 0.0:
        raise BadInput(
            said(
                "{lowest:g} degC is colder than any hardiness zone",
                lowest=mean_yearly_minimum,
            )
        )
    return min(math.floor(above + 1e-9), 25)
