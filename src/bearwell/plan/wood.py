"""The account of a tree's bearing wood, and what a share of the canopy means in cuts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from math import pi

from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.said import said
from bearwell.science.bearingwood import (
    combined_range,
    cuts_for_share,
    wood_a_year_on,
    wood_at_rest,
)

YEARS = 6
_TWO_YEARS = timedelta(days=730)
THICKNESSES = (said("pencil"), said("thumb"), said("wrist"))


@dataclass(frozen=True)
class WoodYear:
    """Shares of new, bearing and old wood in one year.

    New is what is too young to bear; of a kind that bears in its own year, what grew this year.
    """

    year: int
    new: float
    bearing: float
    old: float


@dataclass(frozen=True)
class WoodAccount:
    """Wood over the coming years, renewed as the kind wants it and left alone; shares by age today."""

    unit: str
    bears_from: int
    bears_until: int
    renewal: float
    ages: tuple[float, ...]
    renewed: tuple[WoodYear, ...]
    left: tuple[WoodYear, ...]
    because: tuple[Because, ...]


def wood_account(view: View) -> WoodAccount:
    """The wood account of a tree."""
    species, kept = view.species, view.constant("old wood kept")
    first = round(species["wood_bears_from"].number)
    last = max(round(species["wood_bears_until"].number), first)
    renewal, unit = species["renewal_share"].number, species["wood_kind"].text
    cut = any(
        work.job == "prune" and work.date >= view.today - _TWO_YEARS for work in view.tree.done
    )
    so_far = renewal if cut else kept.number * renewal
    # Wood is no older than the tree: a young one renews all it has within its years.
    so_far = min(max(so_far, 1.0 / (view.tree.age(view.today) + 1.0)), 1.0)
    ages = wood_at_rest(so_far, last + 1)
    links = [
        from_fact("What bears: {value}", species["bearing_wood"]),
        from_fact(
            "{unit} bear from {from_} to {value} of age",
            species["wood_bears_until"],
            unit=unit.capitalize(),
            from_=amount(first, "yr") if first else said("their own year"),
        ),
        from_fact(
            "To renew each year: {value} of the wood, the oldest first", species["renewal_share"]
        ),
    ]
    if not cut:
        links.append(
            from_fact(
                "No cut of the last two years is noted, so it is supposed to have been renewed by {value} of "
                "that share",
                kept,
            )
        )
    start = view.today.year
    renewed, left = ([_sums(start, ages, first, last)] for _ in range(2))
    with_cuts, without = list(ages), list(ages)
    for year in range(1, YEARS):
        with_cuts = wood_a_year_on(with_cuts, renewal)
        without = wood_a_year_on(without, kept.least * renewal)
        renewed.append(_sums(start + year, with_cuts, first, last))
        left.append(_sums(start + year, without, first, last))
    return WoodAccount(
        unit, first, last, renewal, tuple(ages), tuple(renewed), tuple(left), tuple(links)
    )


def _sums(year: int, ages: list[float], first: int, last: int) -> WoodYear:
    young = max(first, 1)
    return WoodYear(year, sum(ages[:young]), sum(ages[young : last + 1]), sum(ages[last + 1 :]))


@dataclass(frozen=True)
class HeadingCuts:
    """How many branches of a thickness make the share, and the new shoots they call up."""

    name: str
    thickness: Quantity
    cuts: Quantity
    shoots: Quantity


def heading_cuts(view: View, share: float) -> tuple[tuple[HeadingCuts, ...], tuple[Because, ...]]:
    """Cuts of each thickness that make a share; the trunk is supposed from the spread where not measured."""
    size, power = view.size, view.constant("foliage by branch")
    ratio, calls = view.constant("girth by spread"), view.constant("shoots from a heading cut")
    many_stems = size.form.name == "multi-stem"
    if many_stems and view.species["wood_kind"].text == "canes":
        return (), (computed("A bush of canes is cut cane by cane at the ground, by age"),)
    measured = None if many_stems else size.trunk_diameter
    girth = (None if many_stems else size.girth) or ratio.number * sum(size.spread) / 2
    trunk = measured if measured is not None else girth / pi
    links = [
        from_fact(
            "Leaves on a branch go with its thickness to the power of {value}, so thick cuts count for many "
            "thin ones",
            power,
        )
    ]
    if many_stems:
        links.append(
            from_fact(
                "Its stems together are taken for one trunk as wide a crown would have, of {girth} round", ratio,
                girth=amount(girth, "m"),
            )
        )  # fmt: skip
    elif measured is None:
        links.append(
            from_fact(
                "The trunk is not measured; a girth of {girth} is supposed from its spread", ratio,
                girth=amount(girth, "m"),
            )
        )  # fmt: skip
    found = []
    for name in THICKNESSES:
        thick = view.constant(name)
        if thick.number > trunk / 2 or share <= 0:
            continue
        many = cuts_for_share(share, trunk, thick.number, power.number)
        if many < 0.5:
            continue
        by_power = (
            cuts_for_share(share, trunk, thick.number, power.least),
            cuts_for_share(share, trunk, thick.number, power.most),
        )
        by_thickness = (
            cuts_for_share(share, trunk, thick.most, power.number),
            cuts_for_share(share, trunk, thick.least, power.number),
        )
        few, most = combined_range(many, [by_power, by_thickness])
        by_shoots = (many * calls.least, many * calls.most)
        fewest, crowd = combined_range(many * calls.number, [by_shoots])
        found.append(
            HeadingCuts(
                name,
                Quantity(thick.number, "m", thick.low, thick.high),
                Quantity(max(round(many), 1), "count", max(round(few), 1), max(round(most), 1)),
                Quantity(round(many * calls.number), "count", round(fewest), round(crowd)),
            )
        )
    return tuple(found), tuple(links)
