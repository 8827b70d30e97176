"""What a planner may look at: one tree, its season and everything around it on one day."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

from bearwell.garden import Garden, Tree
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.plan.fit import Fit, Through, fit_of, standing_through
from bearwell.plan.reduce import Aim, aim_of
from bearwell.season.cycle import Cycle
from bearwell.season.site import SiteSeason
from bearwell.season.size import Size, tree_size
from bearwell.season.water import WaterState, water_state

YEAR_AHEAD = 366
LOOK_BACK = 45
Result = TypeVar("Result")
_KEPT = ("size", "fit", "through", "aim", "water")


def beside_trees(garden: Garden) -> Garden:
    """A garden without its trees and what is on its shelf: what the view of any tree rests on."""
    products = tuple(one.model_copy(update={"on_hand": None}) for one in garden.products)
    return garden.model_copy(update={"trees": (), "products": products})


@dataclass(frozen=True)
class View:
    """One tree on one day.

    Planners that ask it alone look at its tree, at the trees under its shelter and at what
    :func:`beside_trees` leaves of its garden. What is on the shelf is the schedule's to share out.
    """

    garden: Garden
    tree: Tree
    species: Species
    cycle: Cycle
    site: SiteSeason
    book: Knowledge
    today: date

    @cached_property
    def size(self) -> Size:
        """Measured or supposed size."""
        return tree_size(self.tree, self.species, self.book, self.today)

    @cached_property
    def fit(self) -> Fit | None:
        """How it stands under its shelter."""
        return fit_of(self)

    @cached_property
    def through(self) -> Through | None:
        """The tree that stands through this tree's shelter, so that it cannot be closed."""
        return standing_through(self)

    @cached_property
    def aim(self) -> Aim | None:
        """The size it is to come down to, where the grower or its cover asks for one."""
        return aim_of(self)

    @cached_property
    def water(self) -> WaterState | None:
        """The root zone's water today."""
        return water_state(
            self.tree,
            self.species,
            self.cycle,
            self.size,
            self.site,
            self.garden,
            self.book,
            self.today,
        )

    @cached_property
    def worked_out(self) -> dict[Hashable, Any]:
        """What planners have worked out of this tree on this day, kept for the next that asks."""
        return {}

    def once(self, what: Hashable, work_out: Callable[[], Result]) -> Result:
        """What a planner works out of this view, the first time it is asked for."""
        if what not in self.worked_out:
            self.worked_out[what] = work_out()
        found: Result = self.worked_out[what]
        return found

    def in_garden(self, garden: Garden) -> View:
        """The same view in a garden that differs in other trees and on the shelf alone; keeps its work."""
        found = replace(self, garden=garden)
        found.__dict__.update(
            {name: self.__dict__[name] for name in _KEPT if name in self.__dict__}
        )
        found.worked_out.update(self.worked_out)
        found.worked_out.pop("shelf", None)  # it shows the garden's own bags
        return found

    def constant(self, name: str) -> Fact:
        """A constant of the planning table."""
        return self.book.constant(name)

    @property
    def years_here(self) -> float:
        """Years since planting or grafting."""
        return self.tree.years_here(self.today)

    @property
    def bears(self) -> bool:
        """Whether it is old enough to be let carry fruit."""
        return self.years_here >= self.species["fruitless_years"].number

    def cautions(self, job: str, *cases: str) -> tuple[str, ...]:
        """The usual cautions of a job: those for every case and those for the cases named."""
        rows = self.book.cautions.get(job, ())
        return tuple(text for text, case in rows if not case or case in cases)

    def advice_id(self, kind: str, what: str, day: date) -> str:
        """A stable id: the same job of the same season keeps it from week to week."""
        return f"{self.tree.id}/{kind}/{what}/{day:%Y-%m}"
