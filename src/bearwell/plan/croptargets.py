"""How many fruit a tree can keep: every rule that applies, side by side, the tightest first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from bearwell.knowledge import Fact
from bearwell.plan.cropmeasures import Measures
from bearwell.plan.limbs import limbs_of
from bearwell.quantities import Quantity, convert
from bearwell.reasons import Because, amount, computed, from_fact, phrase, recorded
from bearwell.said import said
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
    """How many fruit one rule lets a tree keep.

    ``printed`` says that its rows were seen printed, or are quoted as printed; one from memory or judgement
    is ``moved`` where a printed rule or the tree's own crops speak against it, and says so.
    """

    rule: str
    fruit: Quantity
    because: tuple[Because, ...]
    printed: bool = False
    moved: Because | None = None


BY_SIZE = ("canopy volume", "pot volume", "leaves per fruit", "trunk section", "trunk girth")


def targets_of(measures: Measures) -> list[Target]:
    """Every rule that applies, tightest first; a tree in its first years keeps none."""
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
    found = _settled(measures, found)
    found.sort(key=lambda target: target.fruit.value)
    late = [] if measures.young else _by_heat(measures, found[0])
    return sorted([*found, *late], key=lambda target: target.fruit.value)


def girth_doubt(measures: Measures, targets: list[Target]) -> Because | None:
    """A doubt when the girth does not go with the canopy: a diameter, or another unit."""
    if measures.girth is None:
        return None
    return like_a_diameter(measures, targets) or _too_thick(measures, measures.girth)


def like_a_diameter(measures: Measures, targets: list[Target]) -> Because | None:
    """A doubt when the rule by trunk lies so far below the rule by canopy that the girth was a diameter."""
    girth = measures.girth
    if girth is None:
        return None
    doubt = measures.constant("girth like a diameter")
    fruit = {one.rule: one.fruit.value for one in targets}
    canopy, trunk = fruit.get("canopy volume"), fruit.get("trunk section")
    if canopy is None or trunk is None or trunk >= doubt.number * canopy * measures.share:
        return None
    return from_fact(
        "A girth of {girth} under this canopy is less than {value} of what fits: if it was measured across, "
        "write what a string round the trunk says, about {round}",
        doubt,
        girth=amount(girth, "m"),
        round=amount(girth * pi, "m"),
    )


def _too_thick(measures: Measures, girth: float) -> Because | None:
    most = measures.constant("trunk thick for its canopy")
    if measures.spread is None or girth / pi <= most.number * measures.spread:
        return None
    return from_fact(
        "A girth of {girth} is a trunk {thick} thick under a canopy only {spread} wide, more than {value} of it: "
        "measure both again, or, if the tree was cut back hard, go by its canopy",
        most,
        girth=amount(girth, "m"),
        thick=amount(girth / pi, "m"),
        spread=amount(measures.spread, "m"),
    )


def no_rule(measures: Measures) -> tuple[Because, ...]:
    """What was measured and no rule speaks of: a girth, where none is printed for the kind."""
    species = measures.species
    if measures.girth is None or any(
        species.get(row) is not None for row in ("crop_per_trunk_section", "crop_per_girth")
    ):
        return ()
    group = said("citrus") if species.belongs_to("citrus") else species.name
    return (
        computed(
            "No rule by girth is printed for {group}: the girth of {girth} only says what its limbs carry",
            group=group,
            girth=amount(measures.girth, "m"),
        ),
    )


def _target(rule: str, numbers: Three, *because: Because, rows: tuple[Fact, ...] = ()) -> Target:
    value, low, high = numbers
    printed = bool(rows) and all(row.confidence in ("read", "secondhand") for row in rows)
    fruit = Quantity(value, "count", min(low, value), max(high, value))
    return Target(said(rule), fruit, because, printed)


def _settled(measures: Measures, found: list[Target]) -> list[Target]:
    """Rules from memory or judgement, moved where they fall short of what is printed or proven.

    Below the tightest printed rule by more than its own range, one is taken at the high end of that range;
    and none holds a tree to less than it has borne on the mean of its own crops.
    """
    sure = min(
        (one for one in found if one.printed and one.rule in BY_SIZE),
        key=lambda one: one.fruit.value,
        default=None,
    )
    if measures.girth is not None and _too_thick(measures, measures.girth) is not None:
        sure = None  # a doubtful girth speaks against no other rule
    return [
        _raised(measures, one, sure) if one.rule in BY_SIZE and not one.printed else one
        for one in found
    ]


def _raised(measures: Measures, weak: Target, sure: Target | None) -> Target:
    low, value, high = _ends(weak.fruit)
    proven = (measures.proven or 0.0) / measures.species["fruit_mass"].number
    moved = weak.moved
    if sure is not None and sure.fruit.value > high:
        moved = computed(
            "The printed rule by {rule} lets it keep {fruit}, beyond the whole range of this one, which rests on "
            "memory or judgement ({old}): the two disagree, and this one is taken at its high end",
            high,
            "count",
            rule=sure.rule,
            fruit=round(sure.fruit.value),
            old=weak.fruit,
        )
        low, value, high = value, high, sure.fruit.value
    if proven > value:
        moved = computed(
            "This rule rests on memory or judgement and would keep {fruit}; its own last crops came to {crop} a "
            "year, {own} fruit, and it is not held to less than it has proved",
            proven,
            "count",
            fruit=round(value),
            crop=amount(measures.proven or 0.0, "g"),
            own=round(proven),
        )
        low, value, high = min(low, value), proven, max(high, proven)
    if moved is None:
        return weak
    fruit = Quantity(value, "count", low, high)
    return replace(weak, fruit=fruit, because=(*weak.because, moved), moved=moved)


def _ends(fruit: Quantity) -> Three:
    return (
        fruit.value if fruit.low is None else fruit.low,
        fruit.value,
        fruit.value if fruit.high is None else fruit.high,
    )


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
        _target(
            "canopy volume",
            (value, low, high),
            *measures.why_size,
            why,
            _why_mass(measures),
            rows=(rate,),
        )
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
            rows=(litres, rate),
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
            rows=(dry, leaf, needed),
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
        area=amount(convert(area, "m2", "cm2"), "cm2"),
    )
    young = measures.constant("young apple load")
    if measures.share < 1 and measures.species.belongs_to("apple") and young.number < rate.number:
        value, low, high = (fruit_by_trunk_section(area, r) for r in _rates(young))
        link = from_fact("and {value} of it while it still fills its space", young)
        return [_target("trunk section", (value, low, high), why, link, rows=(young,))]
    value, low, high = (fruit_by_trunk_section(area, r) for r in _rates(rate))
    link = from_fact("and {value} of it", rate)
    return [_target("trunk section", (value, low, high), why, link, rows=(rate,))]


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
    return [_target("trunk girth", (value, low, high), why, link, rows=(rate,))]


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
    if measures.young:
        return [
            _target(
                said("age"),
                (0.0, 0.0, 0.0),
                from_fact(
                    "{kind} keeps no fruit for {value} after planting or grafting: the crop would cost it "
                    "roots and branches, and the next year",
                    species["fruitless_years"],
                    kind=species.name,
                ),
            )
        ]
    if share >= 1:
        return []
    full, mass = species["full_crop"], species["fruit_mass"]
    value, low, high = (share * grams / mass.number for grams in _rates(full))
    return [
        _target(
            said("age"),
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
