"""How much a tree swings from year to year, and the swing back that makes the years ahead do the same."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import hypot

import numpy as np
from numpy.typing import NDArray

from bearwell.plan.view import View
from bearwell.reasons import Because, amount, computed, recorded
from bearwell.said import said
from bearwell.science.alternation import intensity_of_keeping

Floats = NDArray[np.float64]
EIGHT_OF_TEN = 2.563  # standard deviations from the low to the high end of a range that holds 80 %
# Swings back that are tried, up to one that empties every other year.
SLOPES = (
    *np.arange(0.0, 1.0, 0.2),
    *np.arange(0.9, 1.2, 0.1),
    1.25,
    1.5,
    1.75,
    2,
    2.5,
    3,
    4,
    5,
    6,
    8,
)


@dataclass(frozen=True)
class Habit:
    """How much a tree swings from year to year by mass when all is kept, with its spread, 0 to 1."""

    swing: float
    spread: float


def habit_of(view: View, loads: dict[int, float]) -> Habit:
    """How much the tree swings: its kind's swing drawn towards that of its own pairs of years.

    Pairs that scatter without turning back count as chance: only what turns is a habit.
    """
    fact, elasticity = view.species["alternation"], view.constant("size elasticity").number
    noise, differ = view.constant("weather scatter of crops").number, "trees of a kind differ"
    between = hypot((fact.most - fact.least) / EIGHT_OF_TEN, view.constant(differ).number)
    pairs = [(loads[year], loads[year + 1]) for year in sorted(loads) if year + 1 in loads]
    if not pairs or not any(a + b for a, b in pairs):
        return Habit(fact.number, between)
    before, after = np.clip(np.array(pairs).T - 1.0, -1.0, 1.0)
    turning = -float(np.sum(before * after)) / max(float(np.sum(before**2)), 1e-9)
    mass = np.array(pairs) ** (1 - elasticity)
    both = mass.sum(axis=1)
    shares = np.abs(np.diff(mass, axis=1)[:, 0])[both > 0] / both[both > 0]
    chance = float(_calibration(view)[1][0])
    certain = min(max(turning, 0.0) / view.constant("alternator").number, 1.0)
    own = chance + max(float(shares.mean()) - chance, 0.0) * certain
    error = noise * (1 - elasticity) / len(pairs) ** 0.5
    weight = between**2 / (between**2 + error**2)
    spread = (1 / (1 / between**2 + 1 / error**2)) ** 0.5
    return Habit(weight * own + (1 - weight) * fact.number, spread)


def why_habit(habit: Habit) -> Because:
    """What the years ahead are made to swing by, in a line."""
    return computed(
        "If every crop is kept it is taken to swing by {swing} between neighbouring years, and the years ahead are "
        "made to",
        habit.swing,
        "1",
        swing=amount(habit.swing, "1"),
    )


@cache
def _long_run(
    most: float, noise: float, elasticity: float, largest: float
) -> tuple[Floats, Floats]:
    """Swings back, and the intensity that each shows in the long run."""
    slopes = np.array(SLOPES)
    shocks = np.random.default_rng(0).standard_normal((400, 45))
    shown = intensity_of_keeping(slopes, most, noise, elasticity, largest, shocks)
    return slopes, np.maximum.accumulate(shown)


def _calibration(view: View) -> tuple[Floats, Floats]:
    names = (
        "bloom after no crop",
        "weather scatter of crops",
        "size elasticity",
        "most a light crop enlarges",
    )
    return _long_run(*(view.constant(name).number for name in names))


def swings_back(view: View, habit: Habit, rng: np.random.Generator, draws: int) -> Floats:
    """The swing back that makes a tree swing as it is learned to, one for each future."""
    slopes, shown = _calibration(view)
    return np.interp(habit.swing + habit.spread * rng.standard_normal(draws), shown, slopes)


# What is said of the last crop, by whether it was even or more, and by the years without a record since.
_LAST_CROP = {
    (True, 0): "The crop of {year} was {times} times an even one by number",
    (
        True,
        1,
    ): "The crop of {year} was {times} times an even one by number, a year without a record between",
    (True, 2): (
        "The crop of {year} was {times} times an even one by number, {gap} years without a record between"
    ),
    (False, 0): "The crop of {year} was {percent} % of an even one by number",
    (
        False,
        1,
    ): "The crop of {year} was {percent} % of an even one by number, a year without a record between",
    (False, 2): (
        "The crop of {year} was {percent} % of an even one by number, {gap} years without a record between"
    ),
}


def why_last_crop(year: int, load: float, gap: int) -> Because:
    """What the last recorded crop was beside an even one by number, ``gap`` years before this one's."""
    return recorded(
        _LAST_CROP[load >= 1, min(gap, 2)],
        load,
        "1",
        year=str(year),
        times=said("{times:.2g}", times=load),
        percent=said("{percent:.0f}", percent=100 * load),
        gap=gap,
    )
