"""How big a tree is: what was measured, and what the tables suppose where it was not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import pi

from bearwell.garden import Tree
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, Value, amount, computed, from_fact, recorded
from bearwell.said import said
from bearwell.science.canopy import CanopySize, canopy_area
from bearwell.science.shapes import Cut, Form, canopy_volume

_ROUND = Form()


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
    form: Form = _ROUND

    @property
    def canopy(self) -> CanopySize:
        """Height and both spreads together."""
        return CanopySize(self.height, *self.spread)

    @property
    def measured(self) -> bool:
        """Whether height and spread were both measured."""
        return not {"height", "spread"} & set(self.supposed)

    @property
    def trunk_diameter(self) -> float | None:
        """Diameter of the trunk [m]."""
        return None if self.girth is None else self.girth / pi


_CUTS: dict[str, Cut] = {
    "all round": (True, True, True),
    "height and width": (True, False, True),
    "height and length": (True, True, False),
}


def canopy_form(shape: str, book: Knowledge) -> Form:
    """A shape with the figures of its row."""
    row = book.item("shapes", shape)
    taper, straight = row.get("taper"), row.get("straight")
    return Form(
        shape,
        1.0 if taper is None else taper.number,
        0.0 if straight is None else straight.number,
        _CUTS[row["gives"].text],
    )


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
    form = canopy_form(tree.shape or species["canopy_shape"].text, book)
    volume = float(canopy_volume(CanopySize(height, *spread), skirt, form))
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
    shaped: dict[str, Value] = {"shape": said(form.name), "volume": amount(volume, "m3")}
    if tree.shape is None:
        text = "Its shape is not told; {kind} is kept as {shape}: from skirt to top {volume}"
        links.append(from_fact(text, species["canopy_shape"], kind=species.name, **shaped))
    else:
        text = "Canopy volume, as {shape} from skirt to top: {volume}"
        links.append(computed(text, volume, "m3", **shaped))
    girth = tree.trunk_girth
    return Size(height, spread, skirt, girth, volume, area, tuple(supposed), tuple(links), form)


def fed_ring(size: Size, book: Knowledge) -> tuple[float, float, float]:
    """Inner and outer radius of the ring that is fed [m] and its area [m2]."""
    outer = sum(size.spread) / 4 + book.constant("beyond the drip line").number
    inner = min(book.constant("off the trunk").number, outer / 2)
    return inner, outer, pi * (outer**2 - inner**2)
