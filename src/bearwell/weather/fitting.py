"""Fitting the recipe of made-up weather to a daily record."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.weather.curves import BoolArray, FloatArray, IntArray, smooth_year, through_months
from bearwell.weather.generator import KNOTS, Recipe
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries

_PLACES = 201  # even chances at which amounts of rain are tabled
_ENOUGH = 20  # d of a month under one sky, for a spread of their own
_LEAST_SPREAD = 0.3  # K, guard against a record without any


def fit_recipe(series: DailySeries) -> Recipe:
    """The recipe of weather like a record's: its means, spreads, persistence, tails and rain.

    Only measured days count. A record without rain gives weather without rain. Raises BadInput when
    it has fewer than ``generator.fit_years`` of measured days.
    """
    low = np.where(series.filled, np.nan, series.tmin)
    high = np.where(series.filled, np.nan, series.tmax)
    measured = np.isfinite(low) & np.isfinite(high)
    least = rule("generator.fit_years")
    if measured.sum() < least * 365:
        raise BadInput(
            said(
                "{count} measured days are too few to fit made-up weather to",
                count=int(measured.sum()),
            ),
            said("{least:g} years are needed", least=least),
        )
    month, day = series.month() - 1, series.day_of_year()
    rained = np.isfinite(series.rain)
    rainless = int((rained & measured).sum()) < least * 365
    wet = rained & (series.rain >= rule("generator.wet_day"))
    sky = np.where(rainless, 0, wet).astype(np.int64)
    usable = measured & (rained | rainless)
    share, after_dry, after_wet = _chain(wet, rained, month, rainless)
    mean, spread = _sky_curves((low, high), day, month, sky, usable, rainless)
    standard = np.stack(
        [
            (values - mean[sky, which, day - 1]) / spread[sky, which, day - 1]
            for which, values in enumerate((low, high))
        ]
    )
    standard[:, ~usable] = np.nan
    quarter = (month + 1) % 12 // 3
    table = _tables(standard, quarter, sky)
    scores = _scores(standard, quarter, sky, table)
    slow, fade = _slow(scores)
    keep, fresh = _carried(scores, quarter, slow, fade)
    return Recipe(
        share=share,
        after_dry=after_dry,
        after_wet=after_wet,
        rain=None if rainless else _amounts(series.rain, wet, month),
        wet_mean=np.zeros(12),
        rainless=rainless,
        mean=mean,
        step=np.zeros((2, 2, 12)),
        spread=spread,
        keep=keep,
        fresh=fresh,
        table=table,
        slow=slow,
        fade=fade,
    )


def _chain(
    wet: BoolArray, rained: BoolArray, month: IntArray, rainless: bool
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chance of rain by month: at all, after a dry day, after a wet day."""
    none = np.zeros(12)
    if rainless:
        return none, none, none
    known = rained[1:] & rained[:-1]
    share, after = np.zeros(12), np.zeros((2, 12))
    for one in range(12):
        here = rained & (month == one)
        share[one] = wet[here].mean() if here.any() else 0.0
        for before in (0, 1):
            pairs = known & (month[1:] == one) & (wet[:-1] == bool(before))
            # A month that hardly ever saw such a day before falls back on its share.
            after[before, one] = (wet[1:][pairs].sum() + share[one]) / (pairs.sum() + 1.0)
    return share, after[0], after[1]


def _sky_curves(
    values: tuple[FloatArray, FloatArray],
    day: IntArray,
    month: IntArray,
    sky: IntArray,
    usable: BoolArray,
    rainless: bool,
) -> tuple[FloatArray, FloatArray]:
    """Mean and spread of minimum and maximum by day of the year, under dry and wet skies."""
    waves = int(rule("climate.harmonics"))
    mean, spread = np.empty((2, 2, 366)), np.empty((2, 2, 366))
    for which, column in enumerate(values):
        whole = smooth_year(day, np.where(usable, column, np.nan), waves)
        for one in (0, 1):
            here = usable & (sky == one)
            few = rainless or here.sum() < rule("generator.fit_days")
            curve = whole
            if not few:
                apart = np.where(here, column - whole[day - 1], np.nan)
                curve = whole + smooth_year(day, apart, waves - 1)
            mean[one, which] = curve
            stray = np.where(usable if few else here, column - curve[day - 1], np.nan)
            spread[one, which] = _spread(stray, month)
    return mean, spread


def _spread(stray: FloatArray, month: IntArray) -> FloatArray:
    """Spread of departures by day of the year, a curve through the logarithms of the months'."""
    whole = float(np.nanstd(stray))
    months = np.full(12, whole)
    for one in range(12):
        here = stray[month == one]
        here = here[np.isfinite(here)]
        if here.size >= _ENOUGH:
            months[one] = float(np.sqrt(np.mean(here**2)))
    return np.exp(through_months(np.log(np.maximum(months, _LEAST_SPREAD))))


def _tables(standard: FloatArray, quarter: IntArray, sky: IntArray) -> FloatArray:
    """The record's departures at the knots, by quarter, sky and minimum or maximum."""
    chance = np.array([NormalDist().cdf(float(knot)) for knot in KNOTS])
    table = np.empty((4, 2, 2, KNOTS.size))
    for part in range(4):
        for one in (0, 1):
            for which in (0, 1):
                known = np.isfinite(standard[which]) & (quarter == part)
                same = known & (sky == one)
                taken = same if same.sum() >= rule("generator.fit_days") else known
                if not taken.any():
                    table[part, one, which] = KNOTS
                    continue
                values = np.quantile(standard[which][taken], chance)
                # Rounded readings repeat: a hair's breadth keeps the table rising.
                table[part, one, which] = values + 1e-6 * np.arange(KNOTS.size)
    return table


def _scores(
    standard: FloatArray, quarter: IntArray, sky: IntArray, table: FloatArray
) -> FloatArray:
    """The normal departures that the record's own stand for."""
    scores = np.full_like(standard, np.nan)
    for part in range(4):
        for one in (0, 1):
            here = (quarter == part) & (sky == one)
            for which in (0, 1):
                known = here & np.isfinite(standard[which])
                scores[which, known] = np.interp(
                    standard[which, known], table[part, one, which], KNOTS
                )
    return scores


def _likeness(scores: FloatArray, lag: int) -> FloatArray:
    """Covariance of each departure with each of ``lag`` days before, shape (2, 2)."""
    now, then = scores[:, lag:], scores[:, : scores.shape[1] - lag]
    known = np.isfinite(now).all(axis=0) & np.isfinite(then).all(axis=0)
    made: FloatArray = now[:, known] @ then[:, known].T / max(int(known.sum()), 1)
    return made


_NEAR, _FAR = range(15, 26), range(45, 66)  # d, lags at which the fast part has faded
_FADES = (0.9, 0.997)  # a day
_MOST = 0.5  # most of the variance that may move slowly


def _slow(scores: FloatArray) -> tuple[FloatArray, float]:
    """How much moves with spells of weeks and seasons, and how it fades, from likeness at long lags."""
    near = np.mean([_likeness(scores, lag) for lag in _NEAR], axis=0)
    far = np.mean([_likeness(scores, lag) for lag in _FAR], axis=0)
    apart = float(np.mean(_FAR)) - float(np.mean(_NEAR))
    strength, left = float(np.trace(near)), float(np.trace(far))
    fade = (max(left, 0.0) / strength) ** (1.0 / apart) if strength > 0 else _FADES[0]
    fade = min(max(fade, _FADES[0]), _FADES[1])
    whole = (near + near.T) / 2.0 / fade ** float(np.mean(_NEAR))
    width, axes = np.linalg.eigh(whole)
    slow: FloatArray = axes @ np.diag(np.clip(width, 0.0, _MOST)) @ axes.T
    return slow, fade


def _carried(
    scores: FloatArray, quarter: IntArray, slow: FloatArray, fade: float
) -> tuple[FloatArray, FloatArray]:
    """What a day's fast departures carry into the next, and what is new, by quarter.

    With M0 the likeness of minimum and maximum on one day and M1 that of a day and the day before,
    each without its slow part, K = M1 M0^-1 and F F' = M0 - K M1' (Richardson 1981, after Matalas
    1967).
    """
    keep, fresh = np.empty((4, 2, 2)), np.empty((4, 2, 2))
    before, after = scores[:, :-1], scores[:, 1:]
    known = np.isfinite(before).all(axis=0) & np.isfinite(after).all(axis=0)
    for part in range(4):
        here = known & (quarter[1:] == part)
        if here.sum() < rule("generator.fit_days"):
            here = known
        now, then = after[:, here], before[:, here]
        same = np.corrcoef(now) - slow
        across = now @ then.T / max(int(here.sum()), 1) - fade * slow
        keep[part] = across @ np.linalg.inv(same)
        rest = same - keep[part] @ across.T
        width, axes = np.linalg.eigh((rest + rest.T) / 2.0)
        fresh[part] = axes @ np.diag(np.sqrt(np.maximum(width, 0.0))) @ axes.T
    return keep, fresh


def _amounts(rain: FloatArray, wet: BoolArray, month: IntArray) -> FloatArray:
    """Rain of a wet day at even chances, by month, its largest drawn on with an exponential tail."""
    even = np.linspace(0.0, 1.0, _PLACES)
    tail = rule("generator.wet_tail")
    made = np.zeros((12, _PLACES))
    for one in range(12):
        here = rain[wet & (month == one)]
        if here.size == 0:
            continue
        made[one] = np.quantile(here, even)
        edge = float(np.quantile(here, tail))
        beyond = here[here > edge]
        if beyond.size:
            excess = float((beyond - edge).mean())
            past = even > tail
            # The middle of each step, so that the last is not endless.
            chance = (np.minimum(even[past], 1.0 - 0.5 / _PLACES) - tail) / (1.0 - tail)
            made[one, past] = edge - excess * np.log1p(-chance)
    return made
