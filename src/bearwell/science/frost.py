"""Frost nights: the course of the temperature, hours below a limit and the harm done."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, above_zero, at_least, floats, series


class MinimumForecast(NamedTuple):
    """Coefficients of a forecast of the night's minimum, fitted at one spot."""

    air_slope: float
    dew_slope: float
    intercept: float


def night_temperature_sqrt(
    start: ArrayLike, minimum: ArrayLike, night_hours: ArrayLike, hours: ArrayLike
) -> Floats:
    """Temperature through a clear still night: a fall with the square root of time.

    Parameters
    ----------
    start : air temperature two hours after sunset [degC]
    minimum : air temperature expected at sunrise [degC]
    night_hours : hours from the start to sunrise [h]
    hours : hours since the start [h]

    Returns
    -------
    air temperature, shape of the inputs [degC]

    Raises
    ------
    BadInput: when the night has no hours, an hour lies outside it, or the minimum is above the
        start

    Valid for
    ---------
    radiation frosts: clear, wind below about 2 m s-1, no fog; not for cold brought by wind

    Notes
    -----
    T = T0 + (Tp - T0) sqrt(t/h).

    References
    ----------
    snyder-2005, chapter 5, temperature trend
    """
    first, last, length = floats(start), floats(minimum), floats(night_hours)
    time = at_least(hours, "hours since the start", 0.0)
    if np.any(last > first):
        raise BadInput("the minimum of a frost night is above its start")
    if np.any(length <= 0.0) or np.any(time > length):
        raise BadInput("an hour lies outside the night")
    return floats(first + (last - first) * np.sqrt(time / length))  # FAO 2005, sqrt trend


def _crossing(start: float, minimum: float, night_hours: float, limit: float) -> float:
    """Hours until the square-root night falls to a limit; the whole night if it never does."""
    if minimum > start:
        raise BadInput("the minimum of a frost night is above its start")
    length = above_zero(night_hours, "hours of the night")
    if limit >= start:
        return 0.0
    if limit <= minimum:
        return length
    return length * ((start - limit) / (start - minimum)) ** 2  # FAO 2005, sqrt trend solved


def hours_below_sqrt(start: float, minimum: float, night_hours: float, limit: float) -> float:
    """Hours a clear still night spends below a limit.

    Parameters
    ----------
    start : air temperature two hours after sunset [degC]
    minimum : air temperature expected at sunrise [degC]
    night_hours : hours from the start to sunrise [h]
    limit : temperature that counts [degC]

    Returns
    -------
    hours below the limit [h]

    Raises
    ------
    BadInput: when the night has no hours or the minimum is above the start

    Valid for
    ---------
    radiation frosts. What comes before the start and after sunrise is left out: an hour after
    sunrise may be added

    Notes
    -----
    h (1 - ((T0 - Tc)/(T0 - Tp))^2), 0 when Tc <= Tp, h when Tc >= T0.

    References
    ----------
    snyder-2005, chapter 5, temperature trend, solved for time
    """
    if math.isnan(start + minimum + night_hours + limit):
        return math.nan
    return night_hours - _crossing(start, minimum, night_hours, limit)


def degree_hours_below_sqrt(
    start: float, minimum: float, night_hours: float, limit: float
) -> float:
    """Depth times duration of a clear still night below a limit.

    Parameters
    ----------
    start : air temperature two hours after sunset [degC]
    minimum : air temperature expected at sunrise [degC]
    night_hours : hours from the start to sunrise [h]
    limit : temperature that counts [degC]

    Returns
    -------
    degree hours below the limit [degC h]

    Raises
    ------
    BadInput: when the night has no hours or the minimum is above the start

    Valid for
    ---------
    as hours_below_sqrt

    Notes
    -----
    Integral of Tc - T0 - b sqrt(t) from the crossing to sunrise, b = (Tp - T0)/sqrt(h):
    (Tc - T0)(h - t1) - 2/3 b (h^1.5 - t1^1.5).

    References
    ----------
    snyder-2005, chapter 5, temperature trend, integrated
    """
    if math.isnan(start + minimum + night_hours + limit):
        return math.nan
    crossed = _crossing(start, minimum, night_hours, limit)
    fall = (minimum - start) / math.sqrt(night_hours)
    cooled = 2.0 / 3.0 * fall * (night_hours**1.5 - crossed**1.5)  # integral of the trend
    return float(max((limit - start) * (night_hours - crossed) - cooled, 0.0))


def hours_below(hourly: ArrayLike, limit: float) -> float:
    """Hours a run of readings spends below a limit, straight lines drawn between them.

    Parameters
    ----------
    hourly : hourly air temperature in an unbroken run, shape (n,) [degC]
    limit : temperature that counts [degC]

    Returns
    -------
    hours below the limit, 0 to n - 1 [h]

    Raises
    ------
    BadInput: when the input is not one-dimensional

    Valid for
    ---------
    hourly readings; a missing reading makes the result missing

    Notes
    -----
    For each hour the share of the line between its two readings that lies below the limit.

    References
    ----------
    geometry, where a straight line crosses a level
    """
    air = series(hourly, "hourly temperature")
    if np.isnan(air).any():
        return math.nan
    if air.size < 2:
        return 0.0
    under = limit - np.minimum(air[1:], air[:-1])
    spread = np.abs(np.diff(air))
    flat = spread == 0.0
    share = np.clip(under / np.where(flat, 1.0, spread), 0.0, 1.0)
    return float(np.sum(np.where(flat, under > 0.0, share)))


def damage_fraction(t10: ArrayLike, t90: ArrayLike, tmin: ArrayLike) -> Floats:
    """Share of buds, flowers or young fruit a cold night kills.

    Parameters
    ----------
    t10 : temperature that kills a tenth in half an hour [degC]
    t90 : temperature that kills nine tenths in half an hour [degC]
    tmin : lowest temperature of the night at the tree [degC]

    Returns
    -------
    share killed, 0 to 1, shape of the inputs [1]

    Raises
    ------
    BadInput: when t90 is not below t10

    Valid for
    ---------
    stages with known t10 and t90; how long the cold lasts is not counted

    Notes
    -----
    A straight line through both: LT0 = t10 + (t10 - t90)/8, share = (LT0 - Tmin)/(10 (t10 -
    t90)/8).

    References
    ----------
    snyder-2005-risk, damage estimator
    """
    tenth, most = floats(t10), floats(t90)
    if np.any(most >= tenth):
        raise BadInput("the temperature that kills most must be below the one that kills a tenth")
    step = (tenth - most) / 8.0  # FAO 2005 vol. 2: a tenth of the line from none to all
    return floats(np.clip((tenth + step - floats(tmin)) / (10.0 * step), 0.0, 1.0))


def surviving_share(damages: ArrayLike) -> float:
    """Share of buds, flowers or young fruit left after a run of cold nights.

    Parameters
    ----------
    damages : share killed by each night, 0 to 1, shape (n,) [1]

    Returns
    -------
    share left [1]

    Raises
    ------
    BadInput: when a share is outside 0 to 1

    Valid for
    ---------
    nights that strike independently; where the same tender buds die first, more survive

    Notes
    -----
    Product of 1 - damage.

    References
    ----------
    snyder-2005-risk, damage estimator
    """
    killed = series(damages, "damages")
    if np.any(killed < 0.0) or np.any(killed > 1.0):
        raise BadInput("a share killed must be between 0 and 1")
    return float(np.prod(1.0 - killed))


def minimum_forecast_fit_fao(
    air: ArrayLike, dew_point: ArrayLike, minimum: ArrayLike
) -> MinimumForecast:
    """Fit the two-step forecast of the night's minimum to past frost nights of a spot.

    Parameters
    ----------
    air : air temperature two hours after sunset of each night, shape (n,) [degC]
    dew_point : dew point at the same time, shape (n,) [degC]
    minimum : minimum that followed, shape (n,) [degC]

    Returns
    -------
    air_slope : change of the minimum with the air temperature [1]
    dew_slope : change of the minimum with the dew point [1]
    intercept : what is left [degC]

    Raises
    ------
    BadInput: when the lengths differ, fewer than three nights are given, a reading is missing, or
        all nights began alike

    Valid for
    ---------
    radiation frosts of one spot: clear, calm, without fog or rain

    Notes
    -----
    A line of the minimum on the air temperature, then a line of its residuals on the dew point;
    this is not the same as fitting both at once.

    References
    ----------
    snyder-2005, chapter 5, minimum temperature forecast
    """
    warm, damp = series(air, "air temperature"), series(dew_point, "dew point")
    low = series(minimum, "minimum")
    if not warm.shape == damp.shape == low.shape or low.size < 3:
        raise BadInput("at least three nights, each with its three readings, are needed")
    if np.isnan(warm + damp + low).any():
        raise BadInput("a night with a missing reading cannot be fitted")

    def line(x: Floats, y: Floats) -> tuple[float, float]:
        spread = x - np.mean(x)
        if not np.any(spread):
            raise BadInput("nights that all began alike cannot be fitted")
        slope = float(np.sum(spread * y) / np.sum(spread**2))  # least squares
        return slope, float(np.mean(y)) - slope * float(np.mean(x))

    air_slope, first = line(warm, low)
    dew_slope, second = line(damp, low - air_slope * warm - first)
    return MinimumForecast(air_slope, dew_slope, first + second)


def minimum_forecast_fao(
    air: ArrayLike,
    dew_point: ArrayLike,
    air_slope: float,
    dew_slope: float,
    intercept: float,
) -> Floats:
    """Minimum to expect of a clear still night from readings two hours after sunset.

    Parameters
    ----------
    air : air temperature two hours after sunset [degC]
    dew_point : dew point at the same time [degC]
    air_slope : change of the minimum with the air temperature [1]
    dew_slope : change of the minimum with the dew point [1]
    intercept : what is left [degC]

    Returns
    -------
    expected minimum [degC]

    Raises
    ------
    nothing

    Valid for
    ---------
    the spot and the kind of night the coefficients were fitted on

    Notes
    -----
    b1 T0 + b2 Td + a.

    References
    ----------
    snyder-2005, chapter 5, minimum temperature forecast
    """
    return floats(air_slope * floats(air) + dew_slope * floats(dew_point) + intercept)  # FAO ch. 5
