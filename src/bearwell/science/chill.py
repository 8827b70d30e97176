"""Winter chill. The models count different things; their numbers must never be mixed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.science._arrays import Floats, floats, series

CHILL_FLOOR: Final = 0.0  # degC, Bennett 1949 as used: hours of freezing do not count
CHILL_CEILING: Final = 7.2  # degC, Bennett 1949: 45 degF

UTAH_STEPS: Final = (1.4, 2.4, 9.1, 12.4, 15.9, 18.0)  # degC, Richardson et al. 1974, table
UTAH_UNITS: Final = (0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0)  # per hour, same table

# Dynamic model, parameters of Fishman et al. 1987 as settled by Erez et al. 1990.
E0: Final = 4153.5  # K, forming of the intermediate
E1: Final = 12888.8  # K, its breaking
A0: Final = 139500.0  # per hour
A1: Final = 2.567e18  # per hour
SLOPE: Final = 1.6  # 1, steepness of the step that makes a portion permanent
TRANSITION: Final = 277.0  # K, middle of that step
ZERO: Final = 273.0  # K at 0 degC as the model was fitted; 273.15 moves a season by up to 2.6 CP


def chilling_hours(hourly: ArrayLike) -> Floats:
    """Chilling hours: each hour from freezing to 7.2 degC counts one.

    Parameters
    ----------
    hourly : hourly air temperature [degC]

    Returns
    -------
    chill of each hour, shape of the input; sum for a season [h]

    Raises
    ------
    nothing

    Valid for
    ---------
    hourly step

    Notes
    -----
    Both ends count. Two other habits exist: leaving out 0.0 itself, and counting every hour below
    45 degF, frost too.

    References
    ----------
    bennett-1949, hours below 45 degF
    luedeling-chillr, Chilling_Hours: the floor at 0 degC
    """
    air = floats(hourly)
    counted = ((air >= CHILL_FLOOR) & (air <= CHILL_CEILING)).astype(np.float64)
    return np.where(np.isnan(air), np.nan, counted)


def chill_units_utah(hourly: ArrayLike) -> Floats:
    """Utah chill units: hours weighted by their warmth, warm hours taking chill away.

    Parameters
    ----------
    hourly : hourly air temperature [degC]

    Returns
    -------
    chill of each hour, -1 to 1, shape of the input; sum for a season [Utah unit]

    Raises
    ------
    nothing

    Valid for
    ---------
    hourly step; made for cold winters, goes negative in mild ones

    Notes
    -----
    A step takes hours above its lower end up to and with its upper end.

    References
    ----------
    richardson-1974, table of chill units
    """
    air = floats(hourly)
    units = np.asarray(UTAH_UNITS)[np.searchsorted(UTAH_STEPS, air, side="left")]
    return np.where(np.isnan(air), np.nan, units)


def chill_units_positive_utah(hourly: ArrayLike) -> Floats:
    """Positive Utah chill units: the Utah steps without what warm hours take away.

    Parameters
    ----------
    hourly : hourly air temperature [degC]

    Returns
    -------
    chill of each hour, 0 to 1, shape of the input; sum for a season [Utah unit]

    Raises
    ------
    nothing

    Valid for
    ---------
    hourly step

    Notes
    -----
    Each negative hour is set to 0. The South African daily form, which floors the sum of a day,
    gives less in warm winters.

    References
    ----------
    linsley-noakes-1994, positive chill units
    """
    return np.maximum(chill_units_utah(hourly), 0.0)


def chill_portion_gains_fishman(hourly: ArrayLike) -> Floats:
    """Chill portions banked in each hour by the dynamic model.

    Parameters
    ----------
    hourly : hourly air temperature in an unbroken run, shape (n,) [degC]

    Returns
    -------
    portions banked in each hour, shape (n,); the first hour banks nothing [CP]

    Raises
    ------
    BadInput: when the input is not one-dimensional

    Valid for
    ---------
    hourly step without gaps; from the first missing hour on everything is missing

    Notes
    -----
    A reversible intermediate x forms in the cold and breaks in the warm; each time it reaches 1, a
    share xi of it becomes a permanent portion. With T in K (degC + 273):
    xs = A0/A1 exp((E1 - E0)/T), k1 = A1 exp(-E1/T), xi = s/(1 + s), s = exp(1.6 * 277 (T - 277)/T);
    x(t) = xs - (xs - S) exp(-k1), S what is left of x(t-1). The temperature that moves x from hour
    t-1 to t, and that sets xi, is the one of hour t-1, as in the reference implementation. Above
    12.996 degC (E1 - E0 over ln(A1/A0)) xs stays below 1: constant warmth never makes a portion.
    Whether a season is run in a continuous record or from a fresh start changes it by up to 1 CP.

    References
    ----------
    fishman-1987, two-step model
    erez-1990, parameters
    luedeling-chillr, Dynamic_Model: constants and the order of hours
    """
    air = series(hourly, "hourly temperature")
    gains = np.zeros(air.size)
    missing = np.flatnonzero(np.isnan(air))
    known = int(missing[0]) if missing.size else air.size
    kelvin = air[: min(known, max(air.size - 1, 0))] + ZERO
    steady = A0 / A1 * np.exp((E1 - E0) / kelvin)  # Fishman et al. 1987, steady state
    kept = np.exp(-A1 * np.exp(-E1 / kelvin))  # Fishman et al. 1987, one hour of decay
    fixed = 1.0 / (1.0 + np.exp(-SLOPE * TRANSITION * (kelvin - TRANSITION) / kelvin))  # Erez 1990
    state = 0.0
    moved = steady * (1.0 - kept)
    hours = zip(moved.tolist(), kept.tolist(), fixed.tolist(), strict=True)
    for hour, (toward, keep, share) in enumerate(hours, start=1):
        state = toward + keep * state
        if state >= 1.0:
            portion = state * share
            gains[hour] = portion
            state -= portion
    gains[known:] = math.nan
    return gains


def chill_portions_fishman(hourly: ArrayLike) -> Floats:
    """Chill portions of the dynamic model, counted up hour by hour.

    Parameters
    ----------
    hourly : hourly air temperature in an unbroken run, shape (n,) [degC]

    Returns
    -------
    portions from the start to each hour, shape (n,), never falling [CP]

    Raises
    ------
    BadInput: when the input is not one-dimensional

    Valid for
    ---------
    hourly step without gaps; from the first missing hour on everything is missing

    Notes
    -----
    Running sum of the portions banked in each hour.

    References
    ----------
    fishman-1987, two-step model
    erez-1990, parameters
    """
    return np.cumsum(chill_portion_gains_fishman(hourly))


CHILL_MODELS: Final[dict[str, Callable[[ArrayLike], Floats]]] = {
    "chill portions": chill_portion_gains_fishman,
    "chilling hours": chilling_hours,
    "Utah": chill_units_utah,
    "positive Utah": chill_units_positive_utah,
}
"""Rival chill models: hourly temperature to the chill of each hour, to be summed over a season."""
