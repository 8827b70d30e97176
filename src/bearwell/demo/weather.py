"""The invented daily weather of the demonstration garden: twelve years and a week ahead."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from bearwell.weather.generator import generate
from bearwell.weather.normals import monthly_normals
from bearwell.weather.series import DailySeries

# Invented normals of a mild Atlantic terrace, January first; no station stands behind them.
TMIN = (6.0, 6.5, 8.0, 9.3, 11.7, 14.0, 15.0, 15.0, 14.0, 11.8, 8.8, 6.8)  # [degC]
TMAX = (14.0, 15.0, 16.9, 18.0, 20.2, 22.9, 24.0, 24.0, 23.0, 20.0, 16.8, 14.6)  # [degC]
RAIN = (190, 150, 130, 120, 100, 45, 20, 30, 75, 165, 185, 190)  # [mm], 1400 a year

YEARS_BACK = 12
DAYS_AHEAD = 7
# Any seed would do; this one has an ordinary mix of mild and hard winters in the coming years.
_SEED = 41


# The forecast of a winter's day brings two frosty nights, so that tonight has something to show.
# Forecasts err: the days turn out as the record has them.
FROST = ((1, -0.8, 15.0), (2, -1.6, 15.0))  # days ahead, minimum and maximum [degC]


def frost_forecast(today: date) -> bool:
    """Whether the forecast of a day is frosty: from mid-November to mid-March."""
    return (today.month, today.day) >= (11, 15) or (today.month, today.day) <= (3, 15)


def invented_weather(today: date) -> DailySeries:
    """Daily weather from 1 January twelve years ago to a week after ``today``.

    Each July-to-June block has its own seed, so a past day keeps its weather for good.
    """
    start, end = date(today.year - YEARS_BACK, 1, 1), today + timedelta(days=DAYS_AHEAD)
    normals = monthly_normals(TMIN, TMAX, RAIN)
    first = start.year
    last = end.year + (end.month >= 7)
    blocks = [
        generate(
            normals,
            date(label - 1, 7, 1),
            date(label, 6, 30),
            np.random.default_rng([_SEED, label]),
        )
        for label in range(first, last + 1)
    ]
    whole = DailySeries(
        blocks[0].start,
        np.concatenate([block.tmin for block in blocks]),
        np.concatenate([block.tmax for block in blocks]),
        np.concatenate([block.rain for block in blocks]),
        sources=blocks[0].sources,
    )
    if not frost_forecast(today):
        return whole.between(start, end)
    tmin, tmax = np.array(whole.tmin), np.array(whole.tmax)
    for ahead, low, high in FROST:
        at = whole.index(today + timedelta(days=ahead))
        tmin[at], tmax[at] = min(tmin[at], low), min(max(tmax[at], low + 1), high)
    return replace(whole, tmin=tmin, tmax=tmax).between(start, end)
