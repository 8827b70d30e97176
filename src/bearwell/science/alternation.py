"""What this year's crop does to the next: a tree's return bloom, its memory, and years to come."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, at_least, floats, not_negative, share_of_one

STRONGEST: Final = 0.98  # memory above which a tree would never settle


class Strength(NamedTuple):
    """How strongly a tree swings back, with its spread and what the records weighed."""

    strength: float
    spread: float
    weight: float


def strength_of_intensity(intensity: float, scatter: float) -> float:
    """Swing back from year to year that gives an intensity of alternation.

    Parameters
    ----------
    intensity : mean swing between neighbouring years relative to their sum [1]
    scatter : scatter of bloom and set that weather gives, relative [1]

    Returns
    -------
    share of a year's excess that the next year falls short by, 0 to 0.98 [1]

    Raises
    ------
    BadInput: when the intensity or the scatter is not between 0 and 1

    Valid for
    ---------
    crops that vary about an even one by less than half of it; 0 where chance gives as much

    Notes
    -----
    1 - s^2/(pi I^2): for a first-order autoregression with coefficient -a the mean difference of
    neighbours over twice the mean is s/sqrt(pi (1 - a)).

    References
    ----------
    durand-2013, autoregression of yields
    definition, mean absolute difference of normal values
    """
    swing, noise = share_of_one(intensity, "intensity"), share_of_one(scatter, "scatter")
    if swing == 0.0:
        return 0.0
    return min(max(1.0 - noise**2 / (math.pi * swing**2), 0.0), STRONGEST)


def strength_of_records(
    loads: ArrayLike, prior: float, prior_spread: float, scatter: float
) -> Strength:
    """Swing back of one tree, from its own years drawn towards its kind.

    Parameters
    ----------
    loads : crop of consecutive years relative to an even one, NaN where not recorded, shape (n,) [1]
    prior : swing back usual for its kind [1]
    prior_spread : standard deviation of that between trees [1]
    scatter : scatter of bloom and set that weather gives, relative [1]

    Returns
    -------
    strength : swing back of the tree, 0 to 0.98 [1]
    spread : its standard deviation [1]
    weight : share of the answer that its own records carry [1]

    Raises
    ------
    BadInput: when a load is negative, a spread is negative or the scatter is not above zero

    Valid for
    ---------
    any number of years; pairs with a year missing are left out, and no pair leaves the prior

    Notes
    -----
    Least squares of each year's deviation on that of the year before, -sum d(t) d(t+1)/sum d(t)^2,
    with variance s^2/sum d(t)^2; the mean of prior and estimate weighted by their precisions.

    References
    ----------
    durand-2013, autoregression of yields
    definition, precision-weighted mean of a normal prior and a normal estimate
    """
    crop = at_least(loads, "a load", 0.0)
    usual, between = share_of_one(prior, "prior"), not_negative(prior_spread, "prior spread")
    if not scatter > 0.0:
        raise BadInput("a scatter must be more than zero")
    deviation = np.clip(crop - 1.0, -1.0, 1.0)  # a bumper year counts as a full one
    before, after = deviation[:-1], deviation[1:]
    both = np.isfinite(before) & np.isfinite(after)
    power = float(np.sum(before[both] ** 2))
    if power == 0.0 or between == 0.0:
        return Strength(min(usual, STRONGEST), between, 0.0)
    own = -float(np.sum(before[both] * after[both])) / power
    precision_own, precision_prior = power / scatter**2, 1.0 / between**2
    weight = precision_own / (precision_own + precision_prior)
    mean = weight * own + (1.0 - weight) * usual  # normal prior, normal estimate
    spread = 1.0 / math.sqrt(precision_own + precision_prior)
    return Strength(min(max(mean, 0.0), STRONGEST), spread, weight)


def return_crop(load: ArrayLike, strength: ArrayLike, most: float) -> Floats:
    """Crop that the next bloom brings, relative to an even one, after a crop was carried.

    Parameters
    ----------
    load : fruit carried relative to an even crop [1]
    strength : share of an excess that the next year falls short by [1]
    most : crop after a year without fruit, relative to an even one, above 1 [1]

    Returns
    -------
    crop to expect relative to an even one, without weather [1]

    Raises
    ------
    BadInput: when a load or a strength is negative, or the most is not above 1

    Valid for
    ---------
    trees in full health; the form is a modelling choice, its top is what stripped trees did

    Notes
    -----
    k/(1 + (k - 1) load^p), p = k strength/(k - 1): 1 after an even crop, slope -strength there,
    k after none.

    References
    ----------
    verreynne-lovatt-2009, flowers of trees stripped in July
    """
    crop, swing = at_least(load, "a load", 0.0), at_least(strength, "a strength", 0.0)
    if not most > 1.0:
        raise BadInput("a rest must bring more than an even crop")
    power = most * swing / (most - 1.0)
    back = most / (1.0 + (most - 1.0) * crop**power)
    return np.asarray(np.where(swing == 0.0, 1.0, back))  # no memory, no answer


def intensity_of_keeping(
    strength: ArrayLike,
    most: float,
    scatter: float,
    elasticity: float,
    largest: float,
    shocks: ArrayLike,
) -> Floats:
    """Intensity of alternation by mass that trees show in the long run when every crop is kept.

    Parameters
    ----------
    strength : share of an excess that the next year falls short by, shape (n,) [1]
    most : crop after a year without fruit, relative to an even one, above 1 [1]
    scatter : scatter of bloom and set that weather gives, relative [1]
    elasticity : share of its mass a fruit loses for each share of fruit more [1]
    largest : most that a light crop enlarges a fruit, as a factor [1]
    shocks : standard normal draws for each tree and year, shape (m, years) [1]

    Returns
    -------
    mean swing between neighbouring years relative to their sum, shape (n,) [1]

    Raises
    ------
    BadInput: when a strength is negative, the most is not above 1 or there are not three years

    Valid for
    ---------
    a tree that neither grows nor ails; simulated, so exact to the number of draws

    Notes
    -----
    Crops by return_crop times a log-normal shock of mean 1 from an even crop on; mass is
    load min(load^-e, largest); the first third of the years is left out.

    References
    ----------
    hoblyn-1936, intensity
    durand-2013, yearly yields as an autoregression
    """
    swings, draws = at_least(floats(strength), "a strength", 0.0), floats(shocks)
    if draws.ndim != 2 or draws.shape[1] < 3:
        raise BadInput("shocks must have a row for each tree and three years or more")
    noise, power = not_negative(scatter, "scatter"), share_of_one(elasticity, "elasticity")
    weather = np.exp(noise * draws - noise**2 / 2.0)  # mean 1
    load = np.ones((swings.size, draws.shape[0]))
    masses = []
    for year in range(draws.shape[1]):
        load = return_crop(load, swings[:, None], most) * weather[:, year]
        masses.append(load * np.minimum(np.maximum(load, 1e-9) ** -power, largest))
    mass = np.stack(masses[draws.shape[1] // 3 :])
    share = np.abs(np.diff(mass, axis=0)) / np.maximum(mass[1:] + mass[:-1], 1e-12)
    return np.asarray(share.mean(axis=(0, 2)))


Policy = Callable[[Floats, Floats], Floats]


def _keep_all(hanging: Floats, _stripped: Floats) -> Floats:
    return hanging


def _keep_even(hanging: Floats, _stripped: Floats) -> Floats:
    return np.minimum(hanging, 1.0)


def _strip_heavy(hanging: Floats, stripped: Floats) -> Floats:
    """Nothing kept of a heavy year, unless the year before was stripped."""
    heavy = (hanging > 1.0) & (stripped == 0.0)
    return np.where(heavy, 0.0, hanging)


# Ways to treat a tree, each a function of what hangs and whether last year was stripped.
POLICIES: Final[dict[str, Policy]] = {
    "keep all": _keep_all,
    "plan": _keep_even,
    "strip": _strip_heavy,
}


def crops_under_policy(
    first: ArrayLike,
    strength: ArrayLike,
    most: float,
    scatter: float,
    shocks: ArrayLike,
    policy: str,
) -> Floats:
    """Fruit kept in years to come, relative to an even crop, when a tree is treated one way.

    Parameters
    ----------
    first : crop that hangs in the first year relative to an even one, shape (m,) [1]
    strength : share of an excess that the next year falls short by, shape (m,) [1]
    most : crop after a year without fruit, relative to an even one, above 1 [1]
    scatter : scatter of bloom and set that weather gives, relative [1]
    shocks : standard normal draws for the years after the first, shape (m, years - 1) [1]
    policy : how it is treated: keep all, plan or strip [text]

    Returns
    -------
    fruit kept relative to an even crop, shape (m, years) [1]

    Raises
    ------
    BadInput: when the policy is unknown, a crop is negative or the shapes do not meet

    Valid for
    ---------
    a tree that neither grows nor ails; multiply by what it can carry in each year

    Notes
    -----
    Keep all keeps what hangs; plan thins to an even crop; strip takes every fruit of a heavy year
    and keeps the year after. Each year hangs return_crop of the last times a log-normal shock of
    mean 1.

    References
    ----------
    durand-2013, yearly yields as an autoregression
    """
    if policy not in POLICIES:
        raise BadInput(
            said("'{policy}' is no way to treat a tree", policy=policy),
            said("one of {listed}", listed=", ".join(POLICIES)),
        )
    keep = POLICIES[policy]
    hanging = at_least(first, "a crop", 0.0)
    draws, swing = floats(shocks), floats(strength)
    if draws.ndim != 2 or hanging.shape != draws.shape[:1]:
        raise BadInput("shocks must have a row for each first crop")
    noise = not_negative(scatter, "scatter")
    weather = np.exp(noise * draws - noise**2 / 2.0)  # mean 1
    stripped = np.zeros_like(hanging)
    kept = np.empty((hanging.size, draws.shape[1] + 1))
    for year in range(kept.shape[1]):
        kept[:, year] = keep(hanging, stripped)
        stripped = ((kept[:, year] == 0.0) & (hanging > 0.0)).astype(float)
        if year < draws.shape[1]:
            hanging = return_crop(kept[:, year], swing, most) * weather[:, year]
    return kept
