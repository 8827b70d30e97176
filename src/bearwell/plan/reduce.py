"""A size the tree is to come down to, by the grower or its cover, and the cuts of the years to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bearwell.reasons import Because, Phrase, Value, amount, computed, phrase, recorded
from bearwell.said import listed, said
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import canopy_volume
from bearwell.science.treegrowth import ReductionYear, reduction_plan
from bearwell.season.growth import growth_habit

if TYPE_CHECKING:
    from bearwell.plan.view import View

NOTHING = 0.005  # share of a canopy that is not worth a cut


@dataclass(frozen=True)
class Aim:
    """The size wanted after cutting, whose wish it is, and whether anything is left to take off."""

    wanted: CanopySize
    by: str
    share: float
    because: tuple[Because, ...]

    @property
    def open(self) -> bool:
        """Whether the tree is larger than the size wanted."""
        return self.share > NOTHING


@dataclass(frozen=True)
class Reduction:
    """The years of a reduction under a yearly share; ``reached`` says whether they get there."""

    aim: Aim
    most: float
    years: tuple[ReductionYear, ...]
    reached: bool
    warning: Phrase | None = None


def aim_of(view: View) -> Aim | None:
    """The size wanted, by the grower's words or so that it fits its cover; nothing where neither asks."""
    size, tree = view.size, view.tree
    height, (along, across) = size.height, size.spread
    links: list[Because] = []
    by = []
    if tree.wanted_height is not None or tree.wanted_spread is not None:
        by.append(said("you"))
        height = min(height, tree.wanted_height or height)
        wide = tree.wanted_spread or size.spread
        along, across = min(along, wide[0]), min(across, wide[1])
        links.append(
            recorded(
                "You want it {height} high and {along} by {across} across",
                height=amount(height, "m"),
                along=amount(along, "m"),
                across=amount(across, "m"),
            )
        )
    found = view.fit
    if found is not None and found.by_winter is not None:
        winter = found.by_winter
        if winter.height < height or winter.spread_along < along or winter.spread_across < across:
            by.append(said("the cover"))
            height = min(height, winter.height)
            along, across = min(along, winter.spread_along), min(across, winter.spread_across)
            links += [
                *found.because,
                computed(
                    "With a year's growth it stands free of the cover next winter when it is cut to {height} "
                    "high and {along} by {across}",
                    height=amount(height, "m"),
                    along=amount(along, "m"),
                    across=amount(across, "m"),
                ),
            ]
    if not by or height <= size.skirt:
        return None
    wanted = CanopySize(height, along, across)
    share = 1.0 - canopy_volume(wanted, size.skirt, size.form) / size.volume
    return Aim(wanted, listed(by, "{one} and {other}"), share, tuple(links))


def reduction_of(view: View, aim: Aim, most: float) -> Reduction:
    """The cuts of the coming years towards an aim, each at most ``most`` of the canopy."""
    size, years = view.size, round(view.constant("most years of a reduction").number)
    habit = growth_habit(view.tree, view.species, view.book)
    age = max(view.tree.age(view.today), 1.0)
    plan = reduction_plan(size.canopy, size.skirt, size.form, aim.wanted, most, age, habit, years)
    last = plan[-1].after
    reached = all(now <= then + 1e-6 for now, then in zip(last, aim.wanted, strict=True))
    warning = _warning(view, aim, len(plan), reached)
    return Reduction(aim, most, tuple(plan), reached, warning)


def _warning(view: View, aim: Aim, count: int, reached: bool) -> Phrase | None:
    """What is said first of a size too small to hold, or too many years away."""
    told, sane = view.constant("years of a reduction told"), view.constant("smallest sane size")
    habit = growth_habit(view.tree, view.species, view.book)
    grown = min(habit.grown * habit.vigour, habit.widest)
    low = aim.wanted.height < sane.number * grown
    if not low and reached and count <= told.number:
        return None
    values: dict[str, Value] = {
        "height": amount(aim.wanted.height, "m"),
        "part": round(100 * aim.wanted.height / grown),
        "grown": amount(grown, "m"),
        "kind": view.species.name,
        "count": count,
    }
    text = "it would come down to {height}, {part} % of the {grown} a grown {kind} has"
    if count > 1:
        text = (
            "it would come down to {height}, {part} % of the {grown} a grown {kind} has, over {count} years of cuts"
            if reached
            else "it would come down to {height}, {part} % of the {grown} a grown {kind} has, and grows back too "
            "fast to get there"
        )
    small = phrase(text, **values)
    needs = None if view.fit is None else view.fit.needs
    if "the cover" not in aim.by:
        return phrase("Think of a weaker stock or a wider place: {small}", small=small)
    if needs is None:
        return phrase("Move the tree or take another cover: {small}", small=small)
    return phrase(
        "Raise the cover or move the tree: as it stands it needs one {high} high and {wide} wide; under this one "
        "{small}",
        high=amount(needs[0], "m"),
        wide=amount(needs[1], "m"),
        small=small,
    )
