"""Made-up daily weather, drawn with a seed from a record it was fitted to or from monthly normals.

Wet and dry days follow a first-order chain by month; a wet day's rain a gamma distribution (Geng et
al. 1986) or the record's own amounts; the day's minimum and maximum stray from their mean for the
time of year and the sky with departures that persist and go together (after Richardson 1981). For
demonstrations, tests and trying what may come, never as a record of a real place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.weather.curves import DAYS, MONTH_DAYS, BoolArray, FloatArray, IntArray
from bearwell.weather.normals import Normals
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries

# Where the nights of an outbreak stand to its worst one.
_OUTBREAK_SHAPE = ((1.0, 0.7), (0.6, 1.0, 0.7), (0.5, 0.9, 1.0, 0.6))
KNOTS: FloatArray = np.linspace(-3.2, 3.2, 33)
"""Standard departures at which the departures of a record are tabled."""


@dataclass(frozen=True, slots=True, eq=False)
class Recipe:
    """What weather is drawn from. Months January first, quarters December first; sky 0 dry, 1 wet.

    ``share``, ``after_dry`` and ``after_wet`` [month] are the chance of rain: at all, after a dry and
    after a wet day. ``rain`` [month, place] are amounts of a wet day [mm] at even chances, or None
    for a gamma distribution about ``wet_mean`` [month]; all unknown where ``rainless``. ``mean`` and
    ``spread`` [sky, low or high, day of the year] are those of minimum and maximum [degC, K], ``step``
    [sky, low or high, month] is added to the mean. ``keep`` and ``fresh`` [quarter, 2, 2] carry a
    day's standard departures into the next and add new ones; ``slow`` [2, 2] is how much of them moves
    with spells of weeks and whole seasons, which fades by ``fade`` a day. ``table`` [quarter, sky,
    low or high, knot] turns them into the record's own, or is None where they are normal.
    ``normals`` are those that cold outbreaks are measured from, or None where the departures hold
    them already.
    """

    share: FloatArray
    after_dry: FloatArray
    after_wet: FloatArray
    rain: FloatArray | None
    wet_mean: FloatArray
    rainless: bool
    mean: FloatArray
    step: FloatArray
    spread: FloatArray
    keep: FloatArray
    fresh: FloatArray
    table: FloatArray | None = None
    normals: Normals | None = None
    slow: FloatArray | None = None
    fade: float = 0.0


def generate(
    source: Normals | Recipe,
    start: date,
    end: date,
    rng: np.random.Generator,
    *,
    wet_days: Sequence[float] | None = None,
    hard_winters: float | None = None,
) -> DailySeries:
    """Daily weather from ``start`` to ``end``, both included; one ``rng`` state gives one weather.

    ``source`` is a recipe fitted to a record, or monthly normals of a mild maritime place. For
    normals ``wet_days`` are the wet days of each month, January first; without them the mean wet day
    of ``generator.wet_day_mean`` is taken; ``hard_winters`` is the share of winters with a cold
    outbreak. Where no rain is known, none is made (NaN). Raises BadInput for an empty span or
    impossible counts.
    """
    if end < start:
        raise BadInput(
            said(
                "the weather cannot end on {last}, before it starts on {first}",
                last=end,
                first=start,
            )
        )
    recipe = source if isinstance(source, Recipe) else from_normals(source, wet_days)
    blank = np.full((end - start).days + 1, np.nan)
    frame = DailySeries(start, blank, blank, blank)
    day, month = frame.day_of_year() - 1, frame.month() - 1
    wet = _wet_chain(recipe, month, rng)
    rain = _rain(recipe, wet, month, rng)
    quarter = (month + 1) % 12 // 3
    strayed = _departures(recipe, quarter, rng)
    sky = wet.astype(np.int64)
    made = []
    for which in range(2):
        stray = strayed[which]
        if recipe.table is not None:
            stray = _as_recorded(recipe.table[:, :, which], quarter, sky, stray)
        mean = recipe.mean[sky, which, day] + recipe.step[sky, which, month]
        made.append(mean + stray * recipe.spread[sky, which, day])
    tmin, tmax = made
    if recipe.normals is not None:
        share = rule("generator.hard_winters") if hard_winters is None else hard_winters
        _outbreaks(frame, recipe.normals, (tmin, tmax, rain), share, rng)
    tmin = _tenths(tmin)
    tmax = _tenths(np.maximum(tmax, tmin + rule("generator.least_swing")))
    fallen = blank if recipe.rainless else _tenths(rain)
    return DailySeries(start, tmin, tmax, fallen, sources=("made-up weather",))


def from_normals(normals: Normals, wet_days: Sequence[float] | None = None) -> Recipe:
    """The recipe of a mild maritime place with these monthly normals."""
    share, wet_mean = _wetness(normals, wet_days)
    after_dry = rule("generator.wet_after_dry") * share
    low, high = normals.curve("tmin"), normals.curve("tmax")
    winter = _wintriness(normals, np.arange(DAYS))
    spreads = np.stack([_between("tmin", winter), _between("tmax", winter)])
    # Wet days are warmer by night and cooler by day, such that the month's means still hold.
    lift, drop = rule("generator.wet_tmin_lift"), rule("generator.wet_tmax_drop")
    step = np.stack([np.stack([(sky - share) * lift, -(sky - share) * drop]) for sky in (0.0, 1.0)])
    keep, together = rule("generator.persistence"), rule("generator.day_night")
    fresh = np.sqrt(1.0 - keep**2) * np.array([[1.0, 0.0], [together, np.sqrt(1.0 - together**2)]])
    return Recipe(
        share=share,
        after_dry=after_dry,
        after_wet=np.where(share > 0, after_dry + rule("generator.wet_after_wet"), 0.0),
        rain=None,
        wet_mean=wet_mean,
        rainless=bool(np.isnan(normals.rain).any()),
        mean=np.stack([np.stack([low, high])] * 2),
        step=step,
        spread=np.stack([spreads] * 2),
        keep=np.stack([keep * np.eye(2)] * 4),
        fresh=np.stack([fresh] * 4),
        normals=normals,
    )


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


def _wet_chain(recipe: Recipe, month: IntArray, rng: np.random.Generator) -> BoolArray:
    """Wet and dry days in a first-order chain."""
    after_dry, after_wet = recipe.after_dry[month].tolist(), recipe.after_wet[month].tolist()
    draws = rng.random(len(month))
    wet = np.zeros(len(month), dtype=np.bool_)
    state = bool(draws[0] < recipe.share[month[0]])
    wet[0] = state
    for place, draw in enumerate(draws[1:].tolist(), start=1):
        state = draw < (after_wet[place] if state else after_dry[place])
        wet[place] = state
    return wet


def _rain(recipe: Recipe, wet: BoolArray, month: IntArray, rng: np.random.Generator) -> FloatArray:
    """Rain of each day [mm]: the record's amounts, or gamma-distributed on wet days."""
    amounts = np.zeros(len(wet))
    if recipe.rain is not None:
        chance = rng.random(len(wet))
        even = np.linspace(0.0, 1.0, recipe.rain.shape[1])
        for one in range(12):
            here = wet & (month == one)
            amounts[here] = np.interp(chance[here], even, recipe.rain[one])
        return amounts
    mean_wet = recipe.wet_mean[month][wet]
    scale = rule("generator.gamma_intercept") + rule("generator.gamma_slope") * mean_wet
    # The published line holds for mean wet days of some millimetres; below, no more peaked than
    # an exponential.
    scale = np.maximum(scale, mean_wet)
    amounts[wet] = rng.gamma(mean_wet / scale, scale)
    return amounts


def _as_recorded(
    table: FloatArray, quarter: IntArray, sky: IntArray, stray: FloatArray
) -> FloatArray:
    """Standard departures as the record strays in that quarter under that sky, tails drawn on."""
    made = np.empty_like(stray)
    for one in range(4):
        for each in range(2):
            here = (quarter == one) & (sky == each)
            made[here] = at_knots(stray[here], table[one, each])
    return made


def at_knots(stray: FloatArray, values: FloatArray) -> FloatArray:
    """A table over :data:`KNOTS` at any departure; beyond its ends it goes on as it came."""
    reach = 3  # knots the slope of a tail is taken over
    step = float(KNOTS[reach] - KNOTS[0])
    below = (values[reach] - values[0]) / step * np.minimum(stray - KNOTS[0], 0.0)
    above = (values[-1] - values[-1 - reach]) / step * np.maximum(stray - KNOTS[-1], 0.0)
    drawn: FloatArray = np.interp(stray, KNOTS, values) + below + above
    return drawn


def _wintriness(normals: Normals, day: IntArray) -> FloatArray:
    """1 at the coolest time of the normal year, 0 at the warmest."""
    curve = normals.curve("tmean")
    span = float(curve.max() - curve.min())
    return np.zeros(len(day)) if span == 0 else (curve.max() - curve[day]) / span


def _between(name: str, winter: FloatArray) -> FloatArray:
    """Standard deviation of the departures [K], from the warm season's to the cool one's."""
    cool, warm = rule(f"generator.{name}_spread_cool"), rule(f"generator.{name}_spread_warm")
    return warm + (cool - warm) * winter


def _departures(recipe: Recipe, quarter: IntArray, rng: np.random.Generator) -> FloatArray:
    """Persistent, correlated standard departures of minimum and maximum, shape (2, days)."""
    noise = rng.standard_normal((2, len(quarter)))
    made = np.empty_like(noise)
    first = quarter[0]
    # The spread in the long run solves S = K S K' + F F'.
    kept = np.kron(recipe.keep[first], recipe.keep[first])
    pushed = (recipe.fresh[first] @ recipe.fresh[first].T).ravel()
    settled = np.linalg.solve(np.eye(4) - kept, pushed).reshape(2, 2)
    low, high = (np.linalg.cholesky(settled) @ noise[:, 0]).tolist()
    made[:, 0] = low, high
    steps = [
        (*k.ravel().tolist(), *f.ravel().tolist())
        for k, f in zip(recipe.keep, recipe.fresh, strict=True)
    ]
    shocks = zip(noise[0, 1:].tolist(), noise[1, 1:].tolist(), quarter[1:].tolist(), strict=True)
    for place, (one, two, part) in enumerate(shocks, start=1):
        a, b, c, d, e, f, g, h = steps[part]
        low, high = a * low + b * high + e * one + f * two, c * low + d * high + g * one + h * two
        made[0, place], made[1, place] = low, high
    if recipe.slow is not None:
        made += _spells(recipe.slow, recipe.fade, len(quarter), rng)
    return made


def _spells(slow: FloatArray, fade: float, count: int, rng: np.random.Generator) -> FloatArray:
    """The part of the departures that moves with spells of weeks and whole seasons, shape (2, days)."""
    width, axes = np.linalg.eigh(slow)
    shocks = (axes * np.sqrt(np.maximum(width, 0.0))) @ rng.standard_normal((2, count))
    shocks[:, 1:] *= np.sqrt(1.0 - fade**2)
    made: FloatArray = np.empty_like(shocks)
    low, high = shocks[:, 0].tolist()
    made[:, 0] = low, high
    pairs = zip(shocks[0, 1:].tolist(), shocks[1, 1:].tolist(), strict=True)
    for place, (one, two) in enumerate(pairs, start=1):
        low, high = fade * low + one, fade * high + two
        made[0, place], made[1, place] = low, high
    return made


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
