"""How strongly a tree alternates, and how much of that chance alone would give."""

from __future__ import annotations

import math
from itertools import permutations
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, at_least, not_negative, series

EXACT_YEARS: Final = 7  # count, up to which every order of the years is tried (5040 of them)


def _yields(values: ArrayLike, years: int) -> Floats:
    crop = at_least(series(values, "yields"), "a yield", 0.0)
    if crop.size < years:
        raise BadInput(
            said(
                "at least {least} years of yield are needed, not {count}",
                least=years,
                count=crop.size,
            )
        )
    return crop


def _intensity(crops: Floats) -> Floats:
    """Intensity of each row of crops, last axis the years; a pair of empty years counts 0."""
    change = np.abs(np.diff(crops, axis=-1))
    both = crops[..., 1:] + crops[..., :-1]
    empty = both == 0.0
    return np.asarray(np.mean(np.where(empty, 0.0, change / np.where(empty, 1.0, both)), axis=-1))


def bearing_intensity(yields: ArrayLike) -> float:
    """Intensity of alternation: the mean swing between neighbouring years, relative to their sum.

    Parameters
    ----------
    yields : crop of consecutive years of one tree, shape (n,) [g]

    Returns
    -------
    intensity, 0 even to 1 wholly biennial [1]

    Raises
    ------
    BadInput: when there are fewer than two years or a yield is negative

    Valid for
    ---------
    unbroken runs of years in any unit of crop; a missing year makes it missing. Never 0 by chance:
    compare with expected_intensity_normal, and mind that a rising trend alone gives some

    Notes
    -----
    I = 1/(n-1) sum |a(i) - a(i-1)| / (a(i) + a(i-1)); two empty years in a row add 0. Some papers
    print twice this value under the same name.

    References
    ----------
    hoblyn-1936, intensity
    """
    return float(_intensity(_yields(yields, 2)))  # Hoblyn et al. 1936


def bienniality(yields: ArrayLike) -> float:
    """Share of the changes from year to year that turn the other way at the next change.

    Parameters
    ----------
    yields : crop of consecutive years of one tree, shape (n,) [g]

    Returns
    -------
    share of changes that turn, 0 to 1; years of random crops give 2/3 [1]

    Raises
    ------
    BadInput: when there are fewer than three years or a yield is negative

    Valid for
    ---------
    unbroken runs of years; a missing year makes it missing

    Notes
    -----
    Number of successive differences that change sign over n - 2.

    References
    ----------
    hoblyn-1936, bienniality
    """
    change = np.diff(_yields(yields, 3))
    if np.isnan(change).any():
        return math.nan
    return float(np.mean(change[1:] * change[:-1] < 0.0))  # Hoblyn et al. 1936


def expected_intensity_normal(variation: float) -> float:
    """Intensity that independent years with a given scatter show by chance alone.

    Parameters
    ----------
    variation : coefficient of variation of the yields, standard deviation over mean [1]

    Returns
    -------
    expected intensity [1]

    Raises
    ------
    BadInput: when the coefficient is negative

    Valid for
    ---------
    coefficients up to about 0.3, normal scatter; at 0.3 about 5 % too low

    Notes
    -----
    c/sqrt(pi): the mean absolute difference of two normal values is 2 s/sqrt(pi), over the sum 2 m.

    References
    ----------
    definition, mean difference of two normal values
    """
    return not_negative(variation, "coefficient of variation") / math.sqrt(math.pi)


def detrended_intensity(yields: ArrayLike) -> float:
    """Alternation about the straight trend of a run of years, relative to the mean crop.

    Parameters
    ----------
    yields : crop of consecutive years of one tree, shape (n,) [g]

    Returns
    -------
    detrended intensity, 0 for a straight line [1]

    Raises
    ------
    BadInput: when there are fewer than three years, a yield is negative, or no year bore

    Valid for
    ---------
    young trees whose crop grows from year to year; a missing year makes it missing

    Notes
    -----
    Half of (mean |e(t) - e(t-1)|) / (mean yield), e the residuals of the least-squares line, so
    that it is on the scale of bearing_intensity. Durand et al. print it without the half.

    References
    ----------
    durand-2013, BBI_res_norm
    """
    crop = _yields(yields, 3)
    if np.isnan(crop).any():
        return math.nan
    mean = float(np.mean(crop))
    if mean == 0.0:
        raise BadInput("a tree that bore nothing has no intensity")
    year = np.arange(crop.size) - (crop.size - 1) / 2.0
    slope = float(np.sum(year * crop) / np.sum(year**2))  # least squares
    residual = crop - mean - slope * year
    return float(np.mean(np.abs(np.diff(residual)))) / mean / 2.0  # Durand et al. 2013


def intensity_chance_share(yields: ArrayLike, shuffles: ArrayLike | None = None) -> float:
    """Share of the orders of the same years that look at least as alternate as the true order.

    Parameters
    ----------
    yields : crop of consecutive years of one tree, shape (n,) [g]
    shuffles : orders of the years to try, shape (m, n) of the numbers 0 to n-1; None tries every
        order, for up to seven years [count]

    Returns
    -------
    share of orders, small when chance is a poor explanation [1]

    Raises
    ------
    BadInput: when there are fewer than three years, a yield is negative, more than seven years come
        without shuffles, or a row of shuffles is not an order of the years

    Valid for
    ---------
    three years or more; with three the share cannot fall below 1/3, with four below 1/12. A missing
    year makes it missing. The verdict is the caller's

    Notes
    -----
    With every order, the share of those with an intensity at or above the true one; with shuffles
    (1 + number at or above)/(1 + m).

    References
    ----------
    huff-2001, the idea of shuffling years
    """
    crop = _yields(yields, 3)
    if np.isnan(crop).any():
        return math.nan
    if shuffles is None and crop.size > EXACT_YEARS:
        raise BadInput(said("more than {most} years need shuffles to try", most=EXACT_YEARS))
    if shuffles is None:
        orders = np.array(list(permutations(range(crop.size))))
    else:
        orders = np.asarray(shuffles, dtype=np.int64)
        whole = np.arange(crop.size)
        if orders.ndim != 2 or orders.shape[1] != crop.size or not orders.size:
            raise BadInput("shuffles must have a column for each year")
        if not np.array_equal(np.sort(orders, axis=1), np.broadcast_to(whole, orders.shape)):
            raise BadInput("a row of shuffles is not an order of the years")
    observed = float(_intensity(crop))
    # A reversed order has the same intensity but for rounding: count it as equal.
    as_strong = _intensity(crop[orders]) >= observed - 1e-12
    if shuffles is None:
        return float(np.mean(as_strong))
    return float((1.0 + np.sum(as_strong)) / (1.0 + orders.shape[0]))


def detrended_chance_share(yields: ArrayLike, shuffles: ArrayLike) -> float:
    """Share of the orders of a run of years that swing at least as much about its trend.

    Parameters
    ----------
    yields : crop of consecutive years of one tree, shape (n,) [g]
    shuffles : orders of the years to try, shape (m, n) of the numbers 0 to n-1 [count]

    Returns
    -------
    share of orders, small when chance is a poor explanation [1]

    Raises
    ------
    BadInput: when there are fewer than three years, a yield is negative, or a row of shuffles is not
        an order of the years

    Valid for
    ---------
    three years or more; with every order of three the share cannot fall below 1/3, of four not
    below 1/12. Exact for years without a trend, cautious for years with one. A missing year makes it
    missing

    Notes
    -----
    Each order of the yields gets its own least-squares line; the mean step between neighbouring
    residuals is held against that of the true order. A straight run gives 1.

    References
    ----------
    huff-2001, the idea of shuffling years
    durand-2013, residuals of a linear trend
    """
    crop = _yields(yields, 3)
    if np.isnan(crop).any():
        return math.nan
    orders = np.asarray(shuffles, dtype=np.int64)
    whole = np.arange(crop.size)
    if orders.ndim != 2 or orders.shape[1] != crop.size or not orders.size:
        raise BadInput("shuffles must have a column for each year")
    if not np.array_equal(np.sort(orders, axis=1), np.broadcast_to(whole, orders.shape)):
        raise BadInput("a row of shuffles is not an order of the years")
    year = whole - (crop.size - 1) / 2.0

    def swing(rows: Floats) -> Floats:
        slope = np.sum(year * rows, axis=-1, keepdims=True) / np.sum(year**2)  # least squares
        return np.asarray(np.mean(np.abs(np.diff(rows - slope * year, axis=-1)), axis=-1))

    # Rounding must not part an order from its mirror.
    near = 1e-9 * max(float(np.max(crop)), 1e-300)
    return float(np.mean(swing(crop[orders]) >= swing(crop) - near))
