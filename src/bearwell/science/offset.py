"""How much one place runs colder or warmer than another, from nights measured at both."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import floats

HUBER_BOUND: Final = 1.345  # 1, Huber 1964: 95 % efficient where errors are normal
MAD_TO_SD: Final = 1.4826  # 1, a normal's standard deviation over its median absolute deviation
NORMAL_90: Final = 1.2816  # 1, a normal's point with a tenth beyond it on each side
LEAST_SCALE: Final = 0.1  # K, guard of ours: thermometers are read to a tenth
STEPS: Final = 50  # 1, re-weightings; the estimate settles within a few


class Estimate(NamedTuple):
    """A difference with the range that holds it eight times in ten."""

    value: float
    low: float
    high: float


def robust_centre_huber(values: ArrayLike) -> tuple[float, float]:
    """Centre and spread of readings among which some may be grossly wrong.

    Parameters
    ----------
    values : differences of temperature, missing ones left aside, shape (n,) [K]

    Returns
    -------
    centre and spread, the spread a standard deviation of the sound readings [K]

    Raises
    ------
    BadInput: when there is no reading

    Valid for
    ---------
    readings of which fewer than half are wrong

    Notes
    -----
    Huber's M-estimate by iterated weights w = min(1, k s / |x - m|) with k 1.345 and the spread s
    held at 1.4826 times the median absolute deviation, at least 0.1 K.

    References
    ----------
    huber-1964, estimate of a location parameter
    """
    known = floats(values)
    known = known[np.isfinite(known)]
    if known.size == 0:
        raise BadInput("there is no reading to learn from")
    centre = float(np.median(known))
    spread = max(MAD_TO_SD * float(np.median(np.abs(known - centre))), LEAST_SCALE)
    for _ in range(STEPS):
        away = np.maximum(np.abs(known - centre), 1e-12)
        weight = np.minimum(1.0, HUBER_BOUND * spread / away)  # Huber 1964
        after = float(np.sum(weight * known) / np.sum(weight))
        if abs(after - centre) < 1e-9:
            break
        centre = after
    return centre, spread


def difference_of_places(
    differences: ArrayLike,
    prior: float,
    prior_spread: float,
    usual_spread: float,
    usual_nights: float,
    likeness: float,
    instrument: float,
) -> Estimate:
    """How much a place differs from another, drawn from what was thought before towards what is read.

    Parameters
    ----------
    differences : difference of each night, missing ones left aside, shape (n,) [K]
    prior : what was thought before [K]
    prior_spread : how sure that was, a standard deviation [K]
    usual_spread : how far the difference usually varies from night to night [K]
    usual_nights : nights that this counts for against the spread of the readings [count]
    likeness : correlation of one night's difference with the next, 0 to below 1 [1]
    instrument : error of the thermometers that more nights do not lessen [K]

    Returns
    -------
    the difference and the range that holds it eight times in ten [K]

    Raises
    ------
    BadInput: when the prior's spread or the usual nights are not above 0 or the likeness is not from 0
        to below 1

    Valid for
    ---------
    one sort of nights; without a reading the prior comes back

    Notes
    -----
    Readings: variance s2 / n' + e2, n' = n (1 - r)/(1 + r) for nights that resemble each other; s2 is
    the spread of the readings joined with the usual one, ((n - 1) s2 + m u2) / (n - 1 + m), as a
    few readings tell little of their own spread.
    Joined with the prior by the weights of their variances (normal with a normal prior). The range
    is the centre 1.2816 standard deviations either way.

    References
    ----------
    huber-1964, estimate of a location parameter
    wilks-2011, effective sample size of a series that persists
    """
    if prior_spread <= 0 or usual_nights <= 0 or not 0 <= likeness < 1:
        raise BadInput(
            "a prior's spread and the usual nights lie above 0, a likeness from 0 to below 1"
        )
    known = floats(differences)
    known = known[np.isfinite(known)]
    if known.size == 0:
        reach = NORMAL_90 * prior_spread
        return Estimate(prior, prior - reach, prior + reach)
    centre, spread = robust_centre_huber(known)
    apart = max(known.size * (1.0 - likeness) / (1.0 + likeness), 1.0)  # Wilks 2011, effective size
    weight = known.size - 1.0
    varies = (weight * spread**2 + usual_nights * usual_spread**2) / (weight + usual_nights)
    read = varies / apart + instrument**2
    thought = prior_spread**2
    value = (centre * thought + prior * read) / (thought + read)
    reach = NORMAL_90 * float(np.sqrt(thought * read / (thought + read)))
    return Estimate(value, value - reach, value + reach)
