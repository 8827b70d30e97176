"""The garden from above: where trees and shelters stand, how wide they are, and which will touch."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import hypot

from bearwell.api.gardens import LoadedGarden
from bearwell.errors import BadInput, BearwellError
from bearwell.garden import Shelter, Tree
from bearwell.said import said
from bearwell.science.canopy import CanopySize
from bearwell.season.growth import years_ahead

YEARS_AHEAD = 3
_MOST_YEARS = 30


@dataclass(frozen=True)
class Canopy:
    """A tree seen from above: its trunk from the corner of the garden and its mean width now and later [m].

    The later width has its range. A tree without a place stands nowhere: ``east`` and ``north`` are none.
    """

    tree: Tree
    kind: str
    east: float | None
    north: float | None
    spread: float
    later: float
    later_low: float
    later_high: float
    height: float
    supposed: bool

    @property
    def placed(self) -> bool:
        """Whether the garden file says where it stands."""
        return self.east is not None and self.north is not None


@dataclass(frozen=True)
class Crowd:
    """Two trees whose canopies touch now, will or may: trunk to trunk, edge to edge now and later [m].

    ``apart_least`` is the later distance where both grow as fast as their kinds can.
    """

    one: Canopy
    other: Canopy
    trunks: float
    apart: float
    apart_later: float
    apart_least: float

    @property
    def expected(self) -> bool:
        """Whether they are expected to touch by then, and not only where both grow fast."""
        return self.apart_later <= 0

    @property
    def touching(self) -> bool:
        """Whether they touch already."""
        return self.apart <= 0


@dataclass(frozen=True)
class GroundPlan:
    """The garden from above."""

    years: int
    canopies: tuple[Canopy, ...]
    shelters: tuple[Shelter, ...]
    crowds: tuple[Crowd, ...]

    @property
    def placed(self) -> tuple[Canopy, ...]:
        """Trees with a place."""
        return tuple(one for one in self.canopies if one.placed)

    @property
    def waiting(self) -> tuple[Canopy, ...]:
        """Trees without a place."""
        return tuple(one for one in self.canopies if not one.placed)


def ground_plan(opened: LoadedGarden, years: int = YEARS_AHEAD) -> GroundPlan:
    """Every tree and shelter from above, with the pairs that touch now or within some years."""
    if not 1 <= years <= _MOST_YEARS:
        raise BadInput(
            said("{years} years cannot be looked ahead", years=years),
            said("between 1 and {most}", most=_MOST_YEARS),
        )
    canopies = []
    for tree in opened.garden.trees:
        try:
            canopies.append(_canopy(opened, tree, years))
        except BearwellError as error:
            opened.trouble(tree, error)
    return GroundPlan(years, tuple(canopies), opened.garden.shelters, _crowds(canopies))


def _canopy(opened: LoadedGarden, tree: Tree, years: int) -> Canopy:
    view = opened.view(tree)
    size = view.size
    # The one place where a canopy is looked at in the years to come.
    ahead = years_ahead(tree, view.species, opened.book, size, opened.today, years)[-1]
    return Canopy(
        tree=tree,
        kind=view.species.name,
        east=tree.place.east if tree.place else None,
        north=tree.place.north if tree.place else None,
        spread=_mean(size.canopy),
        later=_mean(ahead.size),
        later_low=_mean(ahead.low),
        later_high=_mean(ahead.high),
        height=size.height,
        supposed="spread" in size.supposed,
    )


def _mean(size: CanopySize) -> float:
    """The width of a canopy taken as round."""
    return (size.spread_along + size.spread_across) / 2


def _crowds(canopies: list[Canopy]) -> tuple[Crowd, ...]:
    found = []
    for one, other in combinations(canopies, 2):
        if one.east is None or one.north is None or other.east is None or other.north is None:
            continue
        trunks = hypot(one.east - other.east, one.north - other.north)
        apart = trunks - (one.spread + other.spread) / 2
        later = trunks - (one.later + other.later) / 2
        least = trunks - (one.later_high + other.later_high) / 2
        if least <= 0:
            found.append(Crowd(one, other, trunks, apart, later, least))
    return tuple(sorted(found, key=lambda crowd: (crowd.apart_later, crowd.apart_least)))
