"""Heat sums to bloom: the rule, and the proof that it beats the mean date on a tree's own records."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from bearwell.knowledge import Species

Floats = NDArray[np.float64]

# Candidate bases [degC] and start days of the season tried when a rule is fitted: a small grid that holds
# the best pairs of the published benchmarks and little else, so that five records can choose among them.
BASES = (0.0, 2.0, 4.0)
STARTS = (0, 14, 31, 45, 59)


def first_reached(curve: Floats, level: float) -> int | None:
    """The first index at which the curve is at or above the level, or None."""
    above = np.flatnonzero(curve >= level)
    return int(above[0]) if len(above) else None


@dataclass(frozen=True)
class HeatRule:
    """Bloom when the sum of daily means above ``base`` from day ``start`` of the season reaches ``total``."""

    base: float
    start: int
    total: float

    @classmethod
    def of(cls, species: Species, mildness: float = 0.0) -> HeatRule:
        """The rule a kind's table states.

        Deciduous kinds ask for more heat where the winter gives less chill: ``mildness`` from 0 (a cold
        winter) to 1 (a mild one) moves the sum from the row's value towards its high end.
        """
        heat = species["bloom_heat_sum"]
        more = 0.0 if species.keeps_leaves else mildness * (heat.most - heat.number)
        start = int(species["bloom_heat_start"].number) - 1
        return cls(species["bloom_heat_base"].number, start, heat.number + more)

    def reached(self, means: Floats) -> int | None:
        """The day of the season on which the sum is reached, or None if it never is."""
        gain = np.maximum(np.nan_to_num(means[self.start :], nan=self.base) - self.base, 0)
        found = first_reached(np.cumsum(gain), self.total)
        return None if found is None else found + self.start


@dataclass(frozen=True)
class HeatProof:
    """A fitted rule and its error against the mean date, each year forecast from the others [d]."""

    rule: HeatRule
    error: float
    error_of_mean: float


def fit_heat(means: Floats, days: Floats) -> tuple[HeatRule, float]:
    """The grid's best heat rule for observed days and its error on those same years [d].

    means: daily means, shape (years, 366); days: offsets of bloom, shape (years,).
    """
    best: tuple[HeatRule, float] | None = None
    cumulated = {
        (base, start): np.cumsum(
            np.maximum(np.nan_to_num(means[:, start:], nan=base) - base, 0), axis=1
        )
        for base, start in product(BASES, STARTS)
    }
    for (base, start), sums in cumulated.items():
        at = days.astype(int) - start
        if (at < 5).any():
            continue
        total = float(np.mean(sums[np.arange(len(days)), np.minimum(at, sums.shape[1] - 1)]))
        reached = np.argmax(sums >= total, axis=1).astype(float)
        reached[sums[:, -1] < total] = sums.shape[1]
        error = float(np.sqrt(np.mean((reached - at) ** 2)))
        if best is None or error < best[1]:
            best = HeatRule(base, start, total), error
    if best is None:
        return HeatRule(0.0, 0, float("inf")), float("inf")
    return best


def prove_heat(means: Floats, days: Floats) -> HeatProof:
    """Leave each year out in turn: everything is fitted on the others, then that year is forecast.

    means: daily means, shape (years, 366); days: offsets of bloom, shape (years,).
    """
    count = len(days)
    misses, misses_of_mean = [], []
    for left_out in range(count):
        keep = np.arange(count) != left_out
        rule, _ = fit_heat(means[keep], days[keep])
        forecast = rule.reached(means[left_out])
        usual = float(np.mean(days[keep]))
        misses.append((usual if forecast is None else forecast) - days[left_out])
        misses_of_mean.append(usual - days[left_out])
    rule, _ = fit_heat(means, days)
    return HeatProof(
        rule,
        float(np.sqrt(np.mean(np.square(misses)))),
        float(np.sqrt(np.mean(np.square(misses_of_mean)))),
    )
