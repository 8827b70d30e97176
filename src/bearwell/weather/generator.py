"""Made-up daily weather of a mild maritime place, drawn from monthly normals with a seed.

Wet and dry days follow a first-order chain and rain a gamma distribution (Geng et al. 1986);
temperatures follow the normals with persistent, correlated departures (after Richardson 1981). For
demonstrations and tests, never for advice on a real place.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from bearwell.errors import BadInput
from bearwell.weather.curves import MONTH_DAYS, BoolArray, FloatArray, IntArray
from bearwell.weather.normals import Normals
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries

# Where the nights of an outbreak stand to its worst one.
_OUTBREAK_SHAPE = ((1.0, 0.7), (0.6, 1.0, 0.7), (0.5, 0.9, 1.0, 0.6))


def generate(
    normals: Normals,
    start: date,
    end: date,
    rng: np.random.Generator,
    *,
    wet_days: Sequence[float] | None = None,
    hard_winters: float | None = None,
) -> DailySeries:
    """Daily weather from ``start`` to ``end``, both included; one ``rng`` state gives one weather.

    ``wet_days`` are the wet days of each month, January first; without them the mean wet day of
    ``generator.wet_day_mean`` is taken. ``hard_winters`` is the share of winters with a cold
    outbreak. Where the normals know no rain, none is made (NaN). Raises BadInput for an empty
    span or impossible counts.
    """
    if end < start:
        raise BadInput(f"the weather cannot end on {end}, before it starts on {start}")
    blank = np.full((end - start).days + 1, np.nan)
    frame = DailySeries(start, blank, blank, blank)
    day, month = frame.day_of_year() - 1, frame.month() - 1
    wet_share, wet_mean = _wetness(normals, wet_days)
    wet = _wet_chain(wet_share[month], rng)
    rain = _rain(wet, wet_mean[month], rng)
    low, high = normals.curve("tmin")[day], normals.curve("tmax")[day]
    winter = _wintriness(normals, day)
    depart_low, depart_high = _departures(len(frame), rng)
    # Wet days are warmer by night and cooler by day, such that the month's means still hold.
    above = wet.astype(np.float64) - wet_share[month]
    tmin = low + above * rule("generator.wet_tmin_lift")
    tmax = high - above * rule("generator.wet_tmax_drop")
    tmin += depart_low * _between("tmin", winter)
    tmax += depart_high * _between("tmax", winter)
    share = rule("generator.hard_winters") if hard_winters is None else hard_winters
    _outbreaks(frame, normals, (tmin, tmax, rain), share, rng)
    tmin = _tenths(tmin)
    tmax = _tenths(np.maximum(tmax, tmin + rule("generator.least_swing")))
    fallen = blank if np.isnan(normals.rain).any() else _tenths(rain)
    return DailySeries(start, tmin, tmax, fallen, sources=("made-up weather",))


def _tenths(values: FloatArray) -> FloatArray:
    """Rounded as a station reports; adding nothing turns the -0.0 this leaves into 0.0."""
    rounded: FloatArray = np.round(values, 1)
    return rounded + 0.0


def _wetness(normals: Normals, wet_days: Sequence[float] | None) -> tuple[FloatArray, FloatArray]:
    """Share of wet days and rain of a mean wet day [mm], by month."""
    total = np.nan_to_num(normals.rain)
    length = np.array(MONTH_DAYS, dtype=np.float64)
    most = rule("generator.wet_share_most")
    if wet_days is None:
        share = np.minimum(total / rule("generator.wet_day_mean") / length, most)
    else:
        counts = np.array(wet_days, dtype=np.float64)
        if counts.shape != (12,) or np.any(counts < 0) or np.any(counts > length):
            raise BadInput("wet days must be twelve counts, each within its month")
        if np.any((counts == 0) & (total > 0)):
            raise BadInput("a month with rain needs at least a part of a wet day")
        share = np.minimum(counts / length, most)
    mean = np.divide(total, share * length, out=np.zeros(12), where=share > 0)
    return share, mean


def _wet_chain(share: FloatArray, rng: np.random.Generator) -> BoolArray:
    """Wet and dry days in a first-order chain whose long-run share of wet days is ``share``."""
    after_dry = rule("generator.wet_after_dry") * share
    after_wet = np.where(share > 0, after_dry + rule("generator.wet_after_wet"), 0.0)
    draws = rng.random(len(share))
    wet = np.zeros(len(share), dtype=np.bool_)
    state = bool(draws[0] < share[0])
    wet[0] = state
    for place in range(1, len(share)):
        state = bool(draws[place] < (after_wet[place] if state else after_dry[place]))
        wet[place] = state
    return wet


def _rain(wet: BoolArray, mean: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Rain of each day [mm], gamma-distributed on wet days."""
    amounts = np.zeros(len(wet))
    mean_wet = mean[wet]
    scale = rule("generator.gamma_intercept") + rule("generator.gamma_slope") * mean_wet
    # The published line holds for mean wet days of some millimetres; below, no more peaked than
    # an exponential.
    scale = np.maximum(scale, mean_wet)
    amounts[wet] = rng.gamma(mean_wet / scale, scale)
    return amounts


def _wintriness(normals: Normals, day: IntArray) -> FloatArray:
    """1 at the coolest time of the normal year, 0 at the warmest."""
    curve = normals.curve("tmean")
    span = float(curve.max() - curve.min())
    return np.zeros(len(day)) if span == 0 else (curve.max() - curve[day]) / span


def _between(name: str, winter: FloatArray) -> FloatArray:
    """Standard deviation of the departures [K], from the warm season's to the cool one's."""
    cool, warm = rule(f"generator.{name}_spread_cool"), rule(f"generator.{name}_spread_warm")
    return warm + (cool - warm) * winter


def _departures(count: int, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Two persistent, correlated standard series for minimum and maximum."""
    keep, together = rule("generator.persistence"), rule("generator.day_night")
    noise = rng.standard_normal((2, count))
    noise[1] = together * noise[0] + np.sqrt(1.0 - together**2) * noise[1]
    fresh = np.sqrt(1.0 - keep**2)
    made = np.empty_like(noise)
    for row in range(2):
        state = float(noise[row, 0])
        made[row, 0] = state
        for place, shock in enumerate(noise[row, 1:].tolist(), start=1):
            state = keep * state + fresh * shock
            made[row, place] = state
    return made[0], made[1]


def _outbreaks(
    frame: DailySeries,
    normals: Normals,
    columns: tuple[FloatArray, FloatArray, FloatArray],
    share: float,
    rng: np.random.Generator,
) -> None:
    """Put a few clear, cold, dry nights into some winters, in place."""
    tmin, tmax, rain = columns
    low, high = normals.curve("tmin"), normals.curve("tmax")
    coolest, reach = int(np.argmin(low)), int(rule("generator.outbreak_reach"))
    least, most = rule("generator.outbreak_depth_least"), rule("generator.outbreak_depth_most")
    day = frame.day_of_year() - 1
    for year in range(frame.start.year - 1, frame.end.year + 2):
        chance, depth = rng.random(), rng.uniform(least, most)
        shape = _OUTBREAK_SHAPE[int(rng.integers(len(_OUTBREAK_SHAPE)))]
        first = date(year, 1, 1).toordinal() + coolest + int(rng.integers(-reach, reach + 1))
        if chance >= share:
            continue
        for offset, part in enumerate(shape):
            place = first + offset - frame.start.toordinal()
            if 0 <= place < len(frame):
                cold = low[day[place]] - depth * part
                cool = high[day[place]] - depth * part * rule("generator.outbreak_day_share")
                tmin[place] = min(tmin[place], cold)
                tmax[place] = min(tmax[place], cool)
                rain[place] = 0.0
