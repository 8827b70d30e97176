"""Heat sums to bloom: the rule, and the proof on a tree's own records that it beats the mean date."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bearwell.knowledge import Species
from bearwell.said import said

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

# Candidate bases [degC] and start days of the season tried when a rule is fitted: a small grid that holds
# the best pairs of the published benchmarks and little else, so that five records can choose among them.
BASES = (0.0, 2.0, 4.0)
STARTS = (0, 14, 31, 45, 59)
# Shares of heat in a forecast that are tried, plainest first; the mean date has the rest.
WEIGHTS = (0.0, 0.25, 0.5, 0.75, 1.0)
# A sum that begins fewer days before bloom than this says nothing of a year.
LEAST_DAYS = 5


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
    """What heat is worth on a tree's own dates, each year forecast from the others.

    ``weight`` is the share of the heat sum in the forecast that was chosen on all years, the mean date has
    the rest; 0 is the mean date alone. ``chosen`` are the weights chosen with each year left out, in the
    order of the years. Errors are root mean squares [d]; ``misses`` are forecast less seen [d].
    """

    rule: HeatRule
    weight: float
    mean: float
    error: float
    error_of_mean: float
    error_of_heat: float
    chosen: tuple[float, ...]
    misses: tuple[float, ...]

    @property
    def helps(self) -> bool:
        """Whether heat has a part in the forecast."""
        return self.weight > 0

    @property
    def fallbacks(self) -> int:
        """Years whose other years chose the mean date."""
        return sum(weight == 0 for weight in self.chosen)

    def forecast(self, reached: float | None) -> float:
        """The day forecast where the heat sum is reached on a day, or never."""
        return self.mean if reached is None else self.mean + self.weight * (reached - self.mean)

    @property
    def method(self) -> str:
        """What was chosen on all years, in words."""
        if not self.helps:
            return said("mean date")
        if self.weight == 1:
            return said("heat sum")
        return said(
            "mean date moved {percent:.0f} % of the way to the heat sum", percent=100 * self.weight
        )


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
            if (at < LEAST_DAYS).any():
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

    def misses_of_pairs(self, days: Floats) -> Floats:
        """What heat misses in year j when it is fitted without years i and j, shape (years, years) [d].

        On the diagonal one year is left out. Base, start and total are all chosen on the years that stay.
        Where no rule can be fitted, or its sum is never reached, the mean date of those years stands in.
        """
        count = len(days)
        out = ~np.eye(count, dtype=bool)
        # stay[i, j, k]: whether year k is used when i and j are left out.
        stay = out[:, np.newaxis, :] & out[np.newaxis, :, :]
        used = stay.sum(axis=2)
        instead = (stay @ days) / np.maximum(used, 1) - days[np.newaxis, :]
        best, found = np.full((count, count), np.inf), instead.copy()
        for (_, start), table in self.sums.items():
            at = days.astype(int) - start
            held = table[np.arange(count), np.clip(at, 0, table.shape[1] - 1)]
            total = (stay @ held) / np.maximum(used, 1)
            reached = np.stack([np.searchsorted(row, total) for row in table], axis=2)
            error = (np.where(stay, reached - at, 0) ** 2.0).sum(axis=2)
            error[(stay & (at < LEAST_DAYS)).any(axis=2)] = np.inf
            better = error < best
            day = np.einsum("ijj->ij", reached)
            best[better] = error[better]
            found[better] = np.where(day < table.shape[1], day + start - days, instead)[better]
        return np.asarray(found)


def chosen_weight(of_mean: Floats, of_heat: Floats) -> float:
    """The share of heat in a forecast, by the one-standard-error rule on misses of both [d].

    The least share whose squared error is within one standard error of the best share's: heat has to show
    more than chance to be given a part, and the mean date, the plainest, is taken where it does not.
    """
    squares = [((1 - weight) * of_mean + weight * of_heat) ** 2 for weight in WEIGHTS]
    best = min(squares, key=lambda one: float(np.mean(one)))
    for weight, square in zip(WEIGHTS, squares, strict=True):
        worse = square - best
        error = float(np.std(worse, ddof=1)) / float(np.sqrt(len(worse)))
        if float(np.mean(worse)) <= error:
            return weight
    return WEIGHTS[0]


def prove_heat(means: Floats, days: Floats) -> HeatProof:
    """Leave each year out in turn: everything is chosen and fitted on the others, then it is forecast.

    In each fold the remaining years are again left out one by one to choose between the mean date, the
    heat sum and what lies between them, so that the choice never sees the year it is tried on.
    means: daily means, shape (years, 366); days: offsets of bloom, shape (years,). Four years or more.
    """
    grid, count = HeatGrid.of(means), len(days)
    pairs = grid.misses_of_pairs(days)
    totals = days.sum() - days
    mean_misses = totals / (count - 1) - days
    chosen, misses = [], []
    for year in range(count):
        others = np.flatnonzero(np.arange(count) != year)
        inner = (totals[year] - days[others]) / (count - 2) - days[others]
        weight = chosen_weight(inner, pairs[year, others])
        chosen.append(weight)
        misses.append((1 - weight) * mean_misses[year] + weight * pairs[year, year])
    heat_misses = np.diagonal(pairs)
    rule, _ = grid.fit(days, np.ones(count, dtype=bool))
    weight = chosen_weight(mean_misses, heat_misses) if np.isfinite(rule.total) else 0.0

    def size(values: Floats) -> float:
        return float(np.sqrt(np.mean(np.square(values))))

    return HeatProof(
        rule,
        weight,
        float(np.mean(days)),
        size(np.array(misses)),
        size(mean_misses),
        size(heat_misses),
        tuple(chosen),
        tuple(float(miss) for miss in misses),
    )
