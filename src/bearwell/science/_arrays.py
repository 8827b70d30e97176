"""Array types and input checks shared by the formulas; nothing here is a formula."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bearwell.errors import BadInput
from bearwell.said import said

Floats: TypeAlias = NDArray[np.float64]
"""Float array; a scalar input gives a zero-dimensional result, which ``float()`` accepts."""


def floats(values: ArrayLike) -> Floats:
    """The values as a float array; None is not accepted, NaN is missing."""
    return np.asarray(values, dtype=np.float64)


def within(values: ArrayLike, name: str, low: float, high: float) -> Floats:
    """The values as floats, all inside low..high; NaN passes as missing."""
    array = floats(values)
    if np.any(array < low) or np.any(array > high):
        raise BadInput(
            said("{name} is outside {low:g} to {high:g}", name=said(name), low=low, high=high)
        )
    return array


def at_least(values: ArrayLike, name: str, low: float) -> Floats:
    """The values as floats, none below low; NaN passes as missing."""
    array = floats(values)
    if np.any(array < low):
        raise BadInput(said("{name} is below {low:g}", name=said(name), low=low))
    return array


def above_zero(value: float, name: str) -> float:
    """A value that must be more than zero; NaN passes as missing."""
    if value <= 0.0 or math.isinf(value):
        raise BadInput(
            said("{name} must be more than zero, not {value:g}", name=said(name), value=value)
        )
    return float(value)


def not_negative(value: float, name: str) -> float:
    """A value that must not be negative; NaN passes as missing."""
    if value < 0.0 or math.isinf(value):
        raise BadInput(
            said("{name} must not be negative, not {value:g}", name=said(name), value=value)
        )
    return float(value)


def share_of_one(value: float, name: str) -> float:
    """A share between 0 and 1; NaN passes as missing."""
    if value < 0.0 or value > 1.0:
        raise BadInput(
            said("{name} must be between 0 and 1, not {value:g}", name=said(name), value=value)
        )
    return float(value)


def daily_pair(tmin: ArrayLike, tmax: ArrayLike) -> tuple[Floats, Floats]:
    """Daily minimum and maximum as floats; a maximum below its minimum is refused."""
    low, high = floats(tmin), floats(tmax)
    if np.any(high < low):
        raise BadInput("a daily maximum temperature is below its minimum")
    return low, high


def series(values: ArrayLike, name: str) -> Floats:
    """A one-dimensional series as floats."""
    array = floats(values)
    if array.ndim != 1:
        raise BadInput(said("{name} must be a one-dimensional series", name=said(name)))
    return array
