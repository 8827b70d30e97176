"""How a tree grows from the size it has: years ahead, as a range, with or without a cut now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import inf, pi

from bearwell.garden import Tree
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import canopy_volume
from bearwell.science.treegrowth import Habit, canopy_a_year_on
from bearwell.season.size import Size


@dataclass(frozen=True)
class Ahead:
    """A canopy some years ahead, uncut: as expected, and the low and high end."""

    years: int
    size: CanopySize
    low: CanopySize
    high: CanopySize
    volume: float
    volume_low: float
    volume_high: float


def vigour_of(tree: Tree, book: Knowledge) -> Fact | None:
    """Vigour of the rootstock, where it is one we know."""
    row = book.table("rootstocks").get(tree.rootstock or "")
    return None if row is None else row["vigour"]


def growth_habit(tree: Tree, species: Species, book: Knowledge, end: str = "value") -> Habit:
    """What growth needs to know of a tree; ``end`` is value, low or high of the ranges."""
    vigour, power = vigour_of(tree, book), book.constant("growth shape")

    def at(fact: Fact) -> float:
        return {"low": fact.least, "high": fact.most}.get(end, fact.number)

    strength = 1.0 if vigour is None else at(vigour)
    years = species["years_to_grown"].number
    widest = widest_in_its_pot(tree, book)
    return Habit(species["grown_height"].number, years, at(power), strength, widest)


def widest_in_its_pot(tree: Tree, book: Knowledge) -> float:
    """The height and spread that a pot can carry [m], as a ball; no limit in the ground."""
    if tree.pot is None:
        return inf
    litres = book.constant("medium per canopy").number
    return float((tree.pot.volume / litres * 6 / pi) ** (1 / 3))


def years_ahead(
    tree: Tree,
    species: Species,
    book: Knowledge,
    size: Size,
    today: date,
    years: int,
    start: CanopySize | None = None,
) -> tuple[Ahead, ...]:
    """The canopy after one to ``years`` years left uncut, from ``start`` or from what it is now."""
    begin = size.canopy if start is None else start
    ends = dict.fromkeys(("value", "low", "high"), begin)
    found = []
    for year in range(years):
        age = max(tree.age(today), 1.0) + year
        for end, now in ends.items():
            habit = growth_habit(tree, species, book, end)
            ends[end] = canopy_a_year_on(now, age, habit)
        volumes = [canopy_volume(one, size.skirt, size.form) for one in ends.values()]
        found.append(Ahead(year + 1, ends["value"], ends["low"], ends["high"], *volumes))
    return tuple(found)
