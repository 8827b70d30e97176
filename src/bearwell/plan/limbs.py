"""What the main limbs of a tree can carry, which of them are at risk under a crop, and where to prop."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from bearwell.plan.cropmeasures import Measures, supposed_girth
from bearwell.reasons import Because, amount, from_fact, recorded
from bearwell.said import said
from bearwell.science.limb import bending_stress, failure_chance, limb_diameter_of_trunk, safe_load
from bearwell.science.sampling import branch_probabilities_by_girth


@dataclass(frozen=True)
class Limbs:
    """The main limbs: diameter [m], share of the crop, and the load each bears safely [g]."""

    diameters: tuple[float, ...]
    shares: tuple[float, ...]
    pull: float
    reach: float
    measured: bool
    safe: tuple[float, ...]
    safe_low: tuple[float, ...]
    safe_high: tuple[float, ...]
    because: tuple[Because, ...]


@dataclass(frozen=True)
class LimbLoad:
    """One limb under a crop."""

    number: int
    diameter: float
    share: float
    load: float
    stress: float
    chance: float
    prop: bool


def limbs_of(measures: Measures) -> Limbs | None:
    """The limbs as measured, or as the trunk and the spread let suppose; nothing where neither is known."""
    if measures.spread is None:
        return None
    links: list[Because] = []
    if measures.limbs:
        diameters = tuple(girth / pi for girth in measures.limbs)
        shares = tuple(float(one) for one in branch_probabilities_by_girth(measures.limbs))
        links.append(
            recorded(
                "Its main limbs measure {girths} round; they share the crop by their sections",
                girths=said(
                    "{listed} cm",
                    listed=", ".join(f"{100 * girth:.0f}" for girth in measures.limbs),
                ),
            )
        )
    else:
        supposed = supposed_girth(measures)
        girth = measures.girth if supposed is None else supposed[0]
        if girth is None:
            return None
        fact = measures.constant("main limbs")
        count = round(fact.number)
        each = limb_diameter_of_trunk(girth / pi, count)
        diameters, shares = (each,) * count, (1 / count,) * count
        links += [supposed[1]] if supposed else []
        links.append(
            from_fact(
                "Its limbs were not measured: {value} like ones share the section of the trunk, {each} thick each",
                fact,
                each=amount(each, "m"),
            )
        )
    hangs, strength = measures.constant("where the crop hangs"), measures.constant("limb strength")
    part = measures.constant("working share of strength")
    reach = measures.spread / 2
    pull = hangs.number * reach
    links += [
        from_fact(
            "The crop pulls at about {value} of a limb's reach, {pull} from the trunk",
            hangs,
            pull=amount(pull, "m"),
        ),
        from_fact("Limbs like these break at about {value}", strength),
        from_fact("and {value} of that is taken, for wind and weak forks", part),
    ]

    def carry(stress: float, share: float) -> tuple[float, ...]:
        return tuple(safe_load(stress * share, pull, thick) for thick in diameters)

    return Limbs(
        diameters,
        shares,
        pull,
        reach,
        bool(measures.limbs),
        carry(strength.number, part.number),
        carry(strength.least, part.number),
        carry(strength.most, part.number),
        tuple(links),
    )


def under_load(measures: Measures, limbs: Limbs, crop: float) -> tuple[LimbLoad, ...]:
    """Each limb under its share of a crop [g]."""
    strength, scatter = (
        measures.constant("limb strength").number,
        measures.constant("scatter of limb strength").number,
    )
    working = strength * measures.constant("working share of strength").number
    found = []
    for number, (thick, share) in enumerate(zip(limbs.diameters, limbs.shares, strict=True), 1):
        load = crop * share
        stress = bending_stress(load, limbs.pull, thick)
        chance = failure_chance(stress, strength, scatter)
        found.append(LimbLoad(number, thick, share, load, stress, chance, stress > working))
    return tuple(found)
