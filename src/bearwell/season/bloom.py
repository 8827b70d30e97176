"""Heat sums to bloom: the rule, and the proof that it beats the mean date on a tree's own records."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bearwell.knowledge import Species

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

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


@dataclass(frozen=True)
class HeatGrid:
    """Running heat sums of several seasons for every base and start of the grid, worked out once."""

    sums: dict[tuple[float, int], Floats]

    @classmethod
    def of(cls, means: Floats) -> HeatGrid:
        """The grid of daily means, shape (years, 366)."""
        sums: dict[tuple[float, int], Floats] = {}
        for base in BASES:
            gain = np.maximum(np.nan_to_num(means, nan=base) - base, 0)
            for start in STARTS:
                sums[base, start] = np.cumsum(gain[:, start:], axis=1)
        return cls(sums)

    def fit(self, days: Floats, keep: Bools) -> tuple[HeatRule, float]:
        """The best rule for the seasons kept and its error on those same seasons [d]."""
        best = HeatRule(0.0, 0, float("inf")), float("inf")
        years = np.flatnonzero(keep)
        for (base, start), table in self.sums.items():
            at = days[years].astype(int) - start
            if (at < 5).any():
                continue
            sums = table[years]
            total = float(np.mean(sums[np.arange(len(years)), np.minimum(at, sums.shape[1] - 1)]))
            # Running sums never fall, so the first day at the total is a count of the days below it.
            reached = (sums < total).sum(axis=1)
            error = float(np.sqrt(np.mean((reached - at) ** 2.0)))
            if error < best[1]:
                best = HeatRule(base, start, total), error
        return best

    def forecast(self, rule: HeatRule, year: int) -> float | None:
        """The day a rule forecasts for one season, or None if its sum is never reached."""
        sums = self.sums.get((rule.base, rule.start))
        if sums is None or sums[year, -1] < rule.total:
            return None
        return float((sums[year] < rule.total).sum() + rule.start)


def prove_heat(means: Floats, days: Floats) -> HeatProof:
    """Leave each year out in turn: everything is fitted on the others, then that year is forecast.

    means: daily means, shape (years, 366); days: offsets of bloom, shape (years,).
    """
    grid, count = HeatGrid.of(means), len(days)
    misses, misses_of_mean = [], []
    for left_out in range(count):
        keep = np.arange(count) != left_out
        rule, _ = grid.fit(days, keep)
        forecast, usual = grid.forecast(rule, left_out), float(np.mean(days[keep]))
        misses.append((usual if forecast is None else forecast) - days[left_out])
        misses_of_mean.append(usual - days[left_out])
    rule, _ = grid.fit(days, np.ones(count, dtype=bool))
    return HeatProof(
        rule,
        float(np.sqrt(np.mean(np.square(misses)))),
        float(np.sqrt(np.mean(np.square(misses_of_mean)))),
    )
