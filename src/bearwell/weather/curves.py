"""Day-of-year curves: smoothing a record, and drawing a curve through monthly means.

A curve has 366 values; ``curve[n - 1]`` belongs to day ``n`` of the year. Day 366 exists in leap
years only, so from March on a curve lies one day off in those years.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

DAYS = 366
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_YEAR = 365.25


def _waves(day_of_year: FloatArray, harmonics: int) -> FloatArray:
    """Columns of a constant and the cosine and sine of each harmonic, one row a day."""
    angle = 2.0 * np.pi * (day_of_year - 0.5) / _YEAR
    columns = [np.ones_like(angle)]
    for order in range(1, harmonics + 1):
        columns += [np.cos(order * angle), np.sin(order * angle)]
    return np.column_stack(columns)


def smooth_year(day_of_year: IntArray, values: FloatArray, harmonics: int) -> FloatArray:
    """A day-of-year curve fitted to a record by least squares on yearly harmonics.

    Missing values (NaN) are left out. Fewer harmonics are used when the days known do not spread
    over the year enough to settle them all. With nothing known the curve is all NaN.
    """
    known = np.isfinite(values)
    if not known.any():
        return np.full(DAYS, np.nan)
    days = day_of_year[known].astype(np.float64)
    twelfths = len(np.unique(((days - 1.0) * 12.0 // DAYS).astype(np.int64)))
    order = min(harmonics, (twelfths - 1) // 3) if twelfths < 12 else harmonics
    solved = np.linalg.lstsq(_waves(days, order), values[known], rcond=None)[0]
    curve: FloatArray = _waves(np.arange(1.0, DAYS + 1.0), order) @ solved
    return curve


@cache
def _month_operator() -> FloatArray:
    """The 365 x 12 matrix that turns monthly means into the least bent curve with those means.

    Of all closed yearly curves whose twelve monthly means are the given ones it picks the one with
    the smallest sum of squared second differences (Lagrange multipliers, one linear system).
    """
    days = sum(MONTH_DAYS)
    identity = np.eye(days)
    second = np.roll(identity, -1, axis=1) - 2.0 * identity + np.roll(identity, 1, axis=1)
    means = np.zeros((12, days))
    first = 0
    for month, length in enumerate(MONTH_DAYS):
        means[month, first : first + length] = 1.0 / length
        first += length
    system = np.block([[second.T @ second, means.T], [means, np.zeros((12, 12))]])
    right = np.vstack([np.zeros((days, 12)), np.eye(12)])
    operator: FloatArray = np.linalg.solve(system, right)[:days]
    return operator


def through_months(monthly: FloatArray, *, floor: float | None = None) -> FloatArray:
    """A smooth day-of-year curve whose mean over each month of a common year is the one given.

    With ``floor`` no day falls below it; the days of a month are then stretched so that its mean
    still holds, at the cost of a slight step between months. Day 366 repeats the wrap-around.
    """
    curve = _month_operator() @ monthly
    if floor is not None and float(curve.min()) < floor:
        first = 0
        for month, length in enumerate(MONTH_DAYS):
            part = np.maximum(curve[first : first + length] - floor, 0.0)
            wanted, got = float(monthly[month]) - floor, float(part.mean())
            flat = got <= 0.0 or wanted <= 0.0
            curve[first : first + length] = floor + (
                max(wanted, 0.0) if flat else part * (wanted / got)
            )
            first += length
    return np.append(curve, 0.5 * (curve[-1] + curve[0]))
