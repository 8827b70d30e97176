"""Made-up weather files for tests, and what is asked of how they were read."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell.errors import BadFile
from bearwell.weather import DailySeries, read_daily
from bearwell.weather.report import Report

Make = Callable[..., Path]


def refused(path: Path, **how: object) -> str:
    with pytest.raises(BadFile) as caught:
        read_daily(path, **how)  # type: ignore[arg-type]
    return caught.value.problems[-1].message + " | " + caught.value.problems[-1].hint


def report(series: DailySeries) -> Report:
    assert len(series.reports) == 1
    return series.reports[0]


def dropped(series: DailySeries, words: str) -> int:
    return sum(one.count for one in report(series).dropped if words in one.reason)


def told(series: DailySeries, words: str) -> bool:
    return any(words in one.message for one in series.problems)


def days_of(first: date, count: int) -> list[date]:
    return [first + timedelta(days=n) for n in range(count)]


def hour(day: date, at: float) -> float:
    """A made-up temperature of an hour: 4 degC at five in the morning, 16 at five in the afternoon."""
    return 10.0 - 6.0 * math.cos(2 * math.pi * (at - 5) / 24) + 0.01 * (day.toordinal() % 7)
