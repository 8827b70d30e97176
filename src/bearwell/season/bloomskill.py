"""Dates of an event over years beside the weather of those years: what a forecast from heat is worth.

The same proof that the season of a tree uses (`season/bloom.py`), on any record of dates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.season.bloom import Floats, HeatProof, HeatRule, prove_heat
from bearwell.season.site import SEASON_DAYS, season_of, season_start

# A day missing before the event is bridged by a straight line; a year with more of them is left out.
FEW_MISSING = 5
# Fewer years than this cannot be left out twice and still show anything.
FEWEST_YEARS = 5


@dataclass(frozen=True)
class DatedYears:
    """Dates of one event as days into their season, shape (years,), with daily means, (years, 366) [degC].

    ``left_out`` are the years whose weather is not there or has too many gaps.
    """

    years: tuple[int, ...]
    days: Floats
    means: Floats
    left_out: tuple[int, ...]


def dated_years(
    first: date, means: Floats, observed: Mapping[int, float], southern: bool = False
) -> DatedYears:
    """Put dates beside the weather of their seasons, leaving out years whose weather is not there.

    first: the day of the first of the daily ``means`` [degC], NaN where unknown; observed: day of the
    calendar year, 1 January is 1, by calendar year. A half day is the middle between two dates.
    """
    years, days, rows, left_out = [], [], [], []
    at = np.arange(SEASON_DAYS)
    for year, number in sorted(observed.items()):
        seen = date(year, 1, 1) + timedelta(days=int(number) - 1)
        start = season_start(season_of(seen, southern), southern)
        offset = (seen - start).days + number - int(number)
        row = np.full(SEASON_DAYS, np.nan)
        begin = (start - first).days
        low, high = max(begin, 0), min(begin + SEASON_DAYS, len(means))
        if low < high:
            row[low - begin : high - begin] = means[low:high]
        known = np.isfinite(row)
        if not known.any() or int((~known[: int(offset) + 1]).sum()) > FEW_MISSING:
            left_out.append(year)
            continue
        row[~known] = np.interp(at[~known], at[known], row[known])
        years.append(year)
        days.append(offset)
        rows.append(row)
    table = np.array(rows).reshape(len(rows), SEASON_DAYS)
    return DatedYears(tuple(years), np.array(days), table, tuple(left_out))


def proved(series: DatedYears) -> HeatProof:
    """The proof on such a record; BadInput for fewer than five years."""
    if len(series.years) < FEWEST_YEARS:
        raise BadInput(
            said(
                "{count} years with both a date and weather are too few to judge a forecast",
                count=len(series.years),
            ),
            said(
                "{least} or more; {count} years have a date but no weather",
                least=FEWEST_YEARS,
                count=len(series.left_out),
            ),
        )
    return prove_heat(series.means, series.days)


def error_of_rule(series: DatedYears, rule: HeatRule) -> float | None:
    """Error of a rule stated beforehand, its mean miss taken off by the other years' [d].

    None where the sum is not reached in some year.
    """
    reached = [rule.reached(row) for row in series.means]
    if any(day is None for day in reached):
        return None
    miss = np.array([day for day in reached if day is not None]) - series.days
    count = len(miss)
    others = (miss.sum() - miss) / (count - 1)
    return float(np.sqrt(np.mean((miss - others) ** 2)))
