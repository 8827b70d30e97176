"""Counting part of a tree to know the whole: branch paths, frames, parts, and their error."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import (
    Floats,
    above_zero,
    at_least,
    not_negative,
    series,
    share_of_one,
)


class Estimate(NamedTuple):
    """An estimated count with its error and the interval around it."""

    estimate: float
    standard_error: float
    low: float
    high: float


def branch_probabilities(sections: ArrayLike) -> Floats:
    """Chance of taking each branch at a fork, in proportion to its cross-section.

    Parameters
    ----------
    sections : cross-section of each branch of the fork, shape (n,) [m2]

    Returns
    -------
    probability of each branch, shape (n,), summing to 1 [1]

    Raises
    ------
    BadInput: when a section is negative or all are zero

    Valid for
    ---------
    any weight that goes with the fruit beyond the branch; girth squared serves as well

    Notes
    -----
    p = w / sum(w).

    References
    ----------
    jessen-1955, selection with probability proportional to size
    """
    weight = at_least(series(sections, "sections"), "a branch section", 0.0)
    total = float(np.sum(weight))
    if not total > 0.0:
        raise BadInput("the branches of a fork need a cross-section")
    return np.asarray(weight / total)


def student_t_quantile(confidence: float, degrees: int) -> float:
    """Two-sided quantile of Student's t: the half width of an interval in standard errors.

    Parameters
    ----------
    confidence : probability held inside the interval, above 0 and below 1 [1]
    degrees : degrees of freedom, 1 or more [count]

    Returns
    -------
    quantile [1]

    Raises
    ------
    BadInput: when the confidence is not between 0 and 1 or there are no degrees of freedom

    Valid for
    ---------
    whole degrees of freedom

    Notes
    -----
    The probability A(t|nu) in its finite trigonometric series for whole nu, with theta =
    arctan(t/sqrt(nu)), solved by bisection in theta.

    References
    ----------
    abramowitz-1964, 26.7.3 and 26.7.4
    """
    if not 0.0 < confidence < 1.0:
        raise BadInput("a confidence must be between 0 and 1")
    if degrees < 1:
        raise BadInput("an interval needs at least two paths")

    def inside(theta: float) -> float:
        cosine, sine = math.cos(theta), math.sin(theta)
        if degrees % 2:  # Abramowitz and Stegun 26.7.3
            if degrees == 1:
                return 2.0 * theta / math.pi
            term = total = cosine
            for k in range(3, degrees - 1, 2):
                term *= (k - 1) / k * cosine**2
                total += term
            return 2.0 / math.pi * (theta + sine * total)
        term = total = 1.0  # Abramowitz and Stegun 26.7.4
        for k in range(2, degrees - 1, 2):
            term *= (k - 1) / k * cosine**2
            total += term
        return sine * total

    low, high = 0.0, math.pi / 2.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if inside(middle) < confidence else (low, middle)
    return math.sqrt(degrees) * math.tan((low + high) / 2.0)


def branch_path_estimate(probabilities: ArrayLike, fruit: ArrayLike, confidence: float) -> Estimate:
    """Fruit of a whole tree from counts at the ends of randomly chosen branch paths.

    Parameters
    ----------
    probabilities : chance of each path, the product over its forks, shape (n,) [1]
    fruit : fruit counted at the end of each path, shape (n,) [count]
    confidence : probability the interval is meant to hold, above 0 and below 1 [1]

    Returns
    -------
    estimate : fruit on the tree [count]
    standard_error : its standard error, missing with one path [count]
    low : lower end of the interval, at least what was counted at one end [count]
    high : upper end of the interval, missing with one path [count]

    Raises
    ------
    BadInput: when there is no path, the lengths differ, a probability is not above 0 and up to 1, a
        count is negative, or the confidence is not between 0 and 1

    Valid for
    ---------
    paths chosen independently, the same path allowed twice; all fruit lies beyond the last fork

    Notes
    -----
    X = fruit/probability for each path; mean, variance of the mean sum (X - mean)^2/(n (n-1)), and
    Student's t with n - 1 degrees of freedom.

    References
    ----------
    jessen-1955, estimator and its variance
    """
    chance = series(probabilities, "probabilities")
    count = at_least(series(fruit, "fruit"), "a count of fruit", 0.0)
    if chance.size == 0 or chance.shape != count.shape:
        raise BadInput("each path needs its probability and its count")
    if np.any(chance <= 0.0) or np.any(chance > 1.0):
        raise BadInput("the probability of a path must be above 0 and up to 1")
    whole = count / chance  # Jessen 1955, one path
    mean = float(np.mean(whole))
    if whole.size == 1:
        return Estimate(mean, math.nan, math.nan, math.nan)
    error = float(np.std(whole, ddof=1)) / math.sqrt(whole.size)  # Jessen 1955, variance
    half = student_t_quantile(confidence, whole.size - 1) * error
    counted = min(float(np.max(count)), mean)  # that much was seen at one end
    return Estimate(mean, error, max(mean - half, counted), mean + half)


def most_when_none_seen(probabilities: ArrayLike, variation: float, confidence: float) -> float:
    """Most fruit that a tree may bear when no walk or frame met any.

    Parameters
    ----------
    probabilities : chance of each walk, or share of the canopy in each frame, shape (n,) [1]
    variation : coefficient of variation of one walk [1]
    confidence : probability that the tree bears no more, above 0 and below 1 [1]

    Returns
    -------
    upper bound of the fruit on the tree [count]

    Raises
    ------
    BadInput: when there is no walk, a probability is not above 0 and up to 1, the variation is not above
        zero or the confidence is not between 0 and 1

    Valid for
    ---------
    independent walks; fruit in clumps that scatter as the walks of other counts did

    Notes
    -----
    The X at which all of them are empty with chance 1 - confidence, each empty with chance
    (1 + q X c^2)^(-1/c^2), the zero class of the negative binomial of mean q X and added variance
    (c q X)^2; solved by bisection.

    References
    ----------
    definition, zero class of a negative binomial
    """
    chance = series(probabilities, "probabilities")
    if chance.size == 0 or np.any(chance <= 0.0) or np.any(chance > 1.0):
        raise BadInput("each walk needs a probability above 0 and up to 1")
    if not 0.0 < confidence < 1.0:
        raise BadInput("a confidence must be between 0 and 1")
    clump = above_zero(variation, "variation") ** 2
    wanted = -math.log(1.0 - confidence)
    low, high = 0.0, 1.0

    def empty(fruit: float) -> float:
        return float(np.sum(np.log1p(chance * fruit * clump))) / clump

    while empty(high) < wanted:
        high *= 2.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if empty(middle) < wanted else (low, middle)
    return high


def paths_needed(variation: float, relative_error: float) -> int:
    """Number of branch paths that brings the standard error down to a share of the count.

    Parameters
    ----------
    variation : coefficient of variation of one path [1]
    relative_error : standard error wanted, relative to the count [1]

    Returns
    -------
    number of paths, at least 1 [count]

    Raises
    ------
    BadInput: when the variation is negative or the error is not above zero

    Valid for
    ---------
    independent paths

    Notes
    -----
    n = (CV/e)^2, rounded up.

    References
    ----------
    jessen-1955, variance of a mean of independent paths
    """
    spread = not_negative(variation, "variation")
    if not relative_error > 0.0 or math.isnan(spread):
        raise BadInput("a wanted error must be more than zero")
    return max(1, math.ceil((spread / relative_error) ** 2 - 1e-9))


def branch_probabilities_by_girth(girths: ArrayLike) -> Floats:
    """Chance of taking each branch at a fork, from the girths a string gives.

    Parameters
    ----------
    girths : girth of each branch of the fork, shape (n,) [m]

    Returns
    -------
    probability of each branch, shape (n,), summing to 1 [1]

    Raises
    ------
    BadInput: when a girth is negative or all are zero

    Valid for
    ---------
    round branches in any unit of length, measured just above the fork

    Notes
    -----
    p = C^2 / sum(C^2): the cross-section goes with the square of the girth.

    References
    ----------
    jessen-1955, selection with probability proportional to size
    """
    return branch_probabilities(at_least(series(girths, "girths"), "a girth", 0.0) ** 2)


def frame_count_estimate(
    counts: ArrayLike, frame_area: float, canopy_surface: float, confidence: float
) -> Estimate:
    """Fruit of a whole tree from counts inside a frame held against its canopy.

    Parameters
    ----------
    counts : fruit seen in the frame at each place, shape (n,) [count]
    frame_area : area inside the frame [m2]
    canopy_surface : surface of the canopy [m2]
    confidence : probability the interval is meant to hold, above 0 and below 1 [1]

    Returns
    -------
    estimate : fruit on the tree [count]
    standard_error : its standard error, missing with one frame [count]
    low : lower end of the interval, at least what was counted [count]
    high : upper end of the interval, missing with one frame [count]

    Raises
    ------
    BadInput: when there is no frame, a count is negative, an area is not above zero, the frame is
        larger than the canopy, or the confidence is not between 0 and 1

    Valid for
    ---------
    frames held at places chosen by chance all round the canopy; fruit that sits in the outer shell

    Notes
    -----
    Mean count times surface/frame area; the error is that of a mean of independent frames, less
    what the frames have covered of the surface.

    References
    ----------
    definition, expansion of a mean count by area
    """
    count = at_least(series(counts, "counts"), "a count of fruit", 0.0)
    if count.size == 0:
        raise BadInput("a count by frames needs at least one frame")
    one, whole = above_zero(frame_area, "frame area"), above_zero(canopy_surface, "canopy surface")
    if one > whole:
        raise BadInput("the frame is larger than the canopy")
    factor = whole / one
    mean = float(np.mean(count)) * factor
    seen = float(np.sum(count))
    if count.size == 1:
        return Estimate(mean, math.nan, math.nan, math.nan)
    unseen = max(1.0 - count.size / factor, 0.0)  # finite population
    error = factor * float(np.std(count, ddof=1)) / math.sqrt(count.size) * math.sqrt(unseen)
    half = student_t_quantile(confidence, count.size - 1) * error
    return Estimate(mean, error, max(mean - half, min(seen, mean)), mean + half)


def part_count_error(share: float, variation: float, sections: float) -> float:
    """Relative standard error of a whole tree's fruit where only a part of the tree was counted.

    Parameters
    ----------
    share : part of the canopy that was counted, above 0 and up to 1 [1]
    variation : coefficient of variation between sections of the canopy [1]
    sections : number of sections the variation is stated for [count]

    Returns
    -------
    standard error relative to the estimate [1]

    Raises
    ------
    BadInput: when the share is not above 0 and up to 1, the variation is negative, or there are no
        sections

    Valid for
    ---------
    sections of like size all round the tree; a part chosen without looking at its fruit

    Notes
    -----
    cv sqrt((1 - s)/(M s)): M s sections drawn without replacement from M.

    References
    ----------
    definition, mean of a sample without replacement
    """
    part = share_of_one(share, "share counted")
    if part == 0.0:
        raise BadInput("a part count needs a share above 0")
    spread, whole = not_negative(variation, "variation"), above_zero(sections, "sections")
    return spread * math.sqrt((1.0 - part) / (whole * part))  # finite population
