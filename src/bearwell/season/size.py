"""How big a tree is: what was measured, and what the tables suppose where it was not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import pi

from bearwell.garden import Tree
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.science.canopy import canopy_area, canopy_volume_ellipsoid


@dataclass(frozen=True)
class Size:
    """Measures of a tree [m], its canopy volume [m3] and shadow [m2], and which were supposed."""

    height: float
    spread: tuple[float, float]
    skirt: float
    girth: float | None
    volume: float
    area: float
    supposed: tuple[str, ...]
    because: tuple[Because, ...]

    @property
    def measured(self) -> bool:
        """Whether height and spread were both measured."""
        return not {"height", "spread"} & set(self.supposed)

    @property
    def trunk_diameter(self) -> float | None:
        """Diameter of the trunk [m]."""
        return None if self.girth is None else self.girth / pi


def tree_size(tree: Tree, species: Species, book: Knowledge, today: date) -> Size:
    """The size of a tree today."""
    grown = book.constant("growth shape").number
    share = min(1.0, max(tree.age(today), 0.25) / species["years_to_grown"].number) ** grown
    if tree.pot is not None:
        # A canopy a container can carry: litres of medium for each cubic metre, as spheres of equal width.
        litres = book.constant("medium per canopy").number
        widest = (tree.pot.volume / litres * 6 / pi) ** (1 / 3)
    else:
        widest = float("inf")
    supposed: list[str] = []
    links: list[Because] = []
    height = tree.height
    if height is None:
        height = min(species["grown_height"].number * share, widest * 1.3)
        supposed.append("height")
        links.append(
            from_fact(
                "No height is given; a grown {kind} kept by pruning is about {value} and this "
                "one is supposed {height}",
                species["grown_height"],
                kind=species.name,
                height=amount(height, "m"),
            )
        )
        if tree.skirt is not None:
            height = max(height, tree.skirt + 0.3)
    spread = tree.spread
    if spread is None:
        width = min(species["grown_spread"].number * share, widest)
        spread = (width, width)
        supposed.append("spread")
        links.append(
            from_fact(
                "No spread is given; a grown {kind} spreads about {value} and this one is "
                "supposed {spread}",
                species["grown_spread"],
                kind=species.name,
                spread=amount(width, "m"),
            )
        )
    skirt = tree.skirt
    if skirt is None:
        skirt = book.constant("skirt share").number * height
        supposed.append("skirt")
    volume = float(canopy_volume_ellipsoid(height, skirt, *spread))
    area = float(canopy_area(*spread))
    if not supposed or supposed == ["skirt"]:
        links.append(
            recorded(
                "Measured {height} high and {along} by {across} across",
                height=amount(height, "m"),
                along=amount(spread[0], "m"),
                across=amount(spread[1], "m"),
            )
        )
    links.append(
        computed(
            "Canopy volume of an ellipsoid from skirt to top: {volume}",
            volume,
            "m3",
            volume=amount(volume, "m3"),
        )
    )
    return Size(
        height, spread, skirt, tree.trunk_girth, volume, area, tuple(supposed), tuple(links)
    )


def fed_ring(size: Size, book: Knowledge) -> tuple[float, float, float]:
    """Inner and outer radius of the ring that is fed [m] and its area [m2]."""
    outer = sum(size.spread) / 4 + book.constant("beyond the drip line").number
    inner = min(book.constant("off the trunk").number, outer / 2)
    return inner, outer, pi * (outer**2 - inner**2)
