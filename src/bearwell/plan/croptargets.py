"""How many fruit a tree can keep: every rule that applies, side by side, the tightest first."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from bearwell.knowledge import Fact
from bearwell.plan.cropmeasures import Measures
from bearwell.plan.limbs import limbs_of
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, phrase, recorded
from bearwell.science.canopy import leaf_count
from bearwell.science.cropload import (
    fruit_by_canopy,
    fruit_by_girth,
    fruit_by_leaves,
    fruit_by_trunk_section,
    load_for_delay,
    trunk_section,
)
from bearwell.season.ledger import tissue_of

Three = tuple[float, float, float]


@dataclass(frozen=True)
class Target:
    """How many fruit one rule lets a tree keep."""

    rule: str
    fruit: Quantity
    because: tuple[Because, ...]


def targets_of(measures: Measures) -> list[Target]:
    """Every rule that applies, tightest first."""
    found = [
        *_by_canopy(measures),
        *_by_pot(measures),
        *_by_leaves(measures),
        *_by_section(measures),
        *_by_girth(measures),
        *_by_age(measures),
        *_by_limbs(measures),
        *_by_own(measures),
    ]
    if not found:
        found = [_by_full_crop(measures)]
    found.sort(key=lambda target: target.fruit.value)
    late = _by_heat(measures, found[0])
    return sorted([*found, *late], key=lambda target: target.fruit.value)


def like_a_diameter(measures: Measures, targets: list[Target]) -> Because | None:
    """A doubt when the rules by trunk lie so far below the rule by canopy that the girth was a diameter."""
    doubt = measures.constant("girth like a diameter")
    fruit = {one.rule: one.fruit.value for one in targets}
    canopy, trunk = fruit.get("canopy volume"), fruit.get("trunk section")
    if measures.girth is None or canopy is None or trunk is None:
        return None
    if trunk >= doubt.number * canopy * measures.share:
        return None
    return from_fact(
        "A girth of {girth} under this canopy is less than {value} of what fits: if it was measured across, "
        "write what a string round the trunk says, about {round}",
        doubt,
        girth=amount(measures.girth, "m"),
        round=amount(measures.girth * pi, "m"),
    )


def _target(rule: str, numbers: Three, *because: Because) -> Target:
    value, low, high = numbers
    return Target(rule, Quantity(value, "count", min(low, value), max(high, value)), because)


def _rates(fact: Fact) -> Three:
    return fact.number, fact.least, fact.most


def _why_mass(measures: Measures) -> Because:
    return from_fact(
        "A well-sized fruit of {kind} weighs about {value}",
        measures.species["fruit_mass"],
        kind=measures.species.name,
    )


def _by_canopy(measures: Measures) -> list[Target]:
    if measures.volume is None:
        return []
    rate, mass = measures.species["crop_per_canopy"], measures.species["fruit_mass"]
    value, low, high = (fruit_by_canopy(measures.volume, r, mass.number) for r in _rates(rate))
    why = from_fact(
        "Its canopy carries about {value} of fruit without paying for it next year",
        rate,
    )
    return [
        _target("canopy volume", (value, low, high), *measures.why_size, why, _why_mass(measures))
    ]


def _by_pot(measures: Measures) -> list[Target]:
    if measures.pot is None:
        return []
    litres, rate = (
        measures.constant("medium per canopy"),
        measures.species["crop_per_canopy"],
    )
    mass = measures.species["fruit_mass"]
    value, low, high = (
        fruit_by_canopy(measures.pot / per, r, mass.number)
        for per, r in (
            (litres.number, rate.number),
            (litres.most, rate.least),
            (litres.least, rate.most),
        )
    )
    return [
        _target(
            "pot volume",
            (value, low, high),
            recorded("The pot holds {pot}", pot=amount(measures.pot, "L")),
            from_fact(
                "A cubic metre of canopy lives on about {value} litres of medium, so that much canopy can be fed",
                litres,
            ),
            from_fact("and such a canopy carries about {value} of fruit", rate),
            _why_mass(measures),
        )
    ]


def _by_leaves(measures: Measures) -> list[Target]:
    needed, leaf = measures.species.get("leaves_per_fruit"), measures.species.get("leaf_mass")
    if measures.volume is None or needed is None or leaf is None:
        return []
    dry = tissue_of(measures.species, measures.book)["leaf_dry"]
    leaves = leaf_count(dry.number * 1000.0 * measures.volume, leaf.number)  # kg to g
    value, low, high = (
        fruit_by_leaves(leaves, n) for n in (needed.number, needed.most, needed.least)
    )
    return [
        _target(
            "leaves per fruit",
            (value, low, high),
            from_fact("Its canopy holds about {value} of dry leaf", dry),
            from_fact("A leaf weighs about {value} dry", leaf),
            computed("so {leaves} leaves", leaves, "count", leaves=amount(leaves, "count")),
            from_fact("and a fruit wants {value}", needed),
        )
    ]


def _by_section(measures: Measures) -> list[Target]:
    rate = measures.species.get("crop_per_trunk_section")
    if measures.girth is None or rate is None:
        return []
    area = trunk_section(measures.girth)
    why = recorded(
        "Trunk girth {girth}, a section of {area}",
        girth=amount(measures.girth, "m"),
        area=amount(area, "cm2"),
    )
    young = measures.constant("young apple load")
    if measures.share < 1 and measures.species.belongs_to("apple") and young.number < rate.number:
        value, low, high = (fruit_by_trunk_section(area, r) for r in _rates(young))
        link = from_fact("and {value} of it while it still fills its space", young)
        return [_target("trunk section", (value, low, high), why, link)]
    value, low, high = (fruit_by_trunk_section(area, r) for r in _rates(rate))
    return [_target("trunk section", (value, low, high), why, from_fact("and {value} of it", rate))]


def _by_girth(measures: Measures) -> list[Target]:
    rate = measures.species.get("crop_per_girth")
    if measures.girth is None or rate is None:
        return []
    young = _young_girth(measures)
    link = from_fact("and {value} of girth", rate)
    if young is not None and young.number < rate.number:
        rate = young
        link = from_fact("and {value} of girth in its year {year}", rate, year=_year_of(measures))
    value, low, high = (fruit_by_girth(measures.girth, r) for r in _rates(rate))
    why = recorded("Trunk girth {girth}", girth=amount(measures.girth, "m"))
    return [_target("trunk girth", (value, low, high), why, link)]


def _year_of(measures: Measures) -> int:
    return int(max(measures.years, 0.0)) + 1


def _young_girth(measures: Measures) -> Fact | None:
    """The row by girth for a tree of its year, in the class it ripens in."""
    ripe = measures.species["bloom_to_ripe"].number
    if ripe <= measures.constant("early peach ripens by").number:
        when = "early"
    else:
        late = ripe > measures.constant("late peach ripens after").number
        when = "late" if late else "middle"
    for row in measures.book.table("girthload").values():
        same = round(row["year"].number) == _year_of(measures)
        if same and measures.species.belongs_to(row["group"].text):
            return row[when]
    return None


def _by_age(measures: Measures) -> list[Target]:
    species, share = measures.species, measures.share
    if share >= 1:
        return []
    full, mass = species["full_crop"], species["fruit_mass"]
    value, low, high = (share * grams / mass.number for grams in _rates(full))
    return [
        _target(
            "age",
            (value, low, high),
            from_fact(
                "No fruit is kept for {value} after planting or grafting",
                species["fruitless_years"],
            ),
            from_fact(
                "and a full crop only from {value} on; this is its year {year}",
                species["full_bearing_years"],
                year=_year_of(measures),
            ),
            from_fact("A grown tree crops about {value}", full),
            _why_mass(measures),
        )
    ]


def _by_full_crop(measures: Measures) -> Target:
    full, mass = measures.species["full_crop"], measures.species["fruit_mass"]
    value, low, high = (grams / mass.number for grams in _rates(full))
    why = from_fact("Nothing was measured; a grown tree crops about {value}", full)
    return _target("grown tree", (value, low, high), why, _why_mass(measures))


def _by_limbs(measures: Measures) -> list[Target]:
    limbs = limbs_of(measures)
    if limbs is None:
        return []
    mass = measures.species["fruit_mass"].number
    value, low, high = (sum(one) / mass for one in (limbs.safe, limbs.safe_low, limbs.safe_high))
    return [_target("limb strength", (value, low, high), *limbs.because, _why_mass(measures))]


def _by_own(measures: Measures) -> list[Target]:
    own, mass = measures.own, measures.species["fruit_mass"]
    if own is None:
        return []
    low, high = own.low or own.value, own.high or own.value
    numbers = (own.value / mass.number, low / mass.number, high / mass.number)
    return [_target("its own even crop", numbers, *measures.why_own, _why_mass(measures))]


def _by_heat(measures: Measures, even: Target) -> list[Target]:
    """What can ripen before the cold, where a heavier crop would be late for it."""
    if measures.delay is None:
        return []
    later = measures.constant("later for a doubled crop")
    if not -later.number <= measures.delay <= 2 * later.number:
        return []  # far off: the cold has no say in the count, or no count could hurry it so
    value, low, high = (
        even.fruit.value * load_for_delay(measures.delay, days)
        for days in (later.number, max(later.number / 2, 1.0), later.most)
    )
    why = from_fact(
        "A crop twice as heavy ripens about {value} later, so the heat that is left ripens {fruit} fruit",
        later,
        fruit=round(value),
    )
    return [
        _target(
            "heat left to ripen", (value, min(low, high), max(low, high)), *measures.why_delay, why
        )
    ]


def rule_line(target: Target) -> Because:
    """One rule that is not the tightest, in a line."""
    return computed(
        "Rule by {rule}: {fruit}",
        target.fruit.value,
        "count",
        rule=target.rule,
        fruit=target.fruit,
    )


def tightest_line(target: Target) -> Because:
    """Which rule holds."""
    return Because(
        phrase("The tightest rule holds: {rule}, {fruit}", rule=target.rule, fruit=target.fruit),
        target.fruit.value,
        "count",
    )
