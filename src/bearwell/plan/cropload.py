"""How many fruit a tree can carry, how many it has, and how many to take off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt

from bearwell.garden import Count
from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import LOOK_BACK, View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, phrase, recorded
from bearwell.science.cropload import (
    fruit_by_canopy,
    fruit_by_girth,
    fruit_by_trunk_section,
    trunk_section,
    young_tree_share,
)
from bearwell.science.sampling import branch_path_estimate
from bearwell.season.cycle import Stage


@dataclass(frozen=True)
class Target:
    """How many fruit one rule lets a tree keep."""

    rule: str
    fruit: Quantity
    because: tuple[Because, ...]


@dataclass(frozen=True)
class Estimate:
    """How many fruit hang, with a range."""

    fruit: float
    low: float
    high: float
    because: Because


def crop_targets(view: View, bloom: date) -> list[Target]:
    """Every rule that applies to the crop of this bloom, tightest first."""
    species, targets = view.species, []
    mass = species["fruit_mass"]
    why_mass = from_fact(
        "A well-sized fruit of {kind} weighs about {value}", mass, kind=species.name
    )

    def add(rule: str, numbers: tuple[float, float, float], *because: Because) -> None:
        value, low, high = numbers
        targets.append(
            Target(rule, Quantity(value, "count", min(low, value), max(high, value)), because)
        )

    canopy = species["crop_per_canopy"]
    volume = view.size.volume
    fruit = [
        float(fruit_by_canopy(volume, rate, mass.number))
        for rate in (canopy.number, canopy.least, canopy.most)
    ]
    add(
        "canopy volume",
        (fruit[0], fruit[1], fruit[2]),
        *view.size.because,
        from_fact(
            "A cubic metre of canopy carries about {value} of fruit without paying for it next year",
            canopy,
        ),
        why_mass,
    )
    if view.size.girth is not None:
        section = species.get("crop_per_trunk_section")
        if section is not None:
            area = float(trunk_section(view.size.girth))
            fruit = [
                float(fruit_by_trunk_section(area, r))
                for r in (section.number, section.least, section.most)
            ]
            add(
                "trunk section",
                (fruit[0], fruit[1], fruit[2]),
                recorded(
                    "Trunk girth {girth}, a section of {area}",
                    girth=amount(view.size.girth, "m"),
                    area=amount(area, "cm2"),
                ),
                from_fact("and {value} of it", section),
            )
        girth = species.get("crop_per_girth")
        if girth is not None:
            fruit = [
                float(fruit_by_girth(view.size.girth, r))
                for r in (girth.number, girth.least, girth.most)
            ]
            add(
                "trunk girth",
                (fruit[0], fruit[1], fruit[2]),
                recorded("Trunk girth {girth}", girth=amount(view.size.girth, "m")),
                from_fact("and {value} of girth", girth),
            )
    share = bearing_share(view, bloom)
    if share < 1:
        full, years, none = (
            species["full_crop"],
            species["full_bearing_years"],
            species["fruitless_years"],
        )
        fruit = [share * grams / mass.number for grams in (full.number, full.least, full.most)]
        add(
            "age",
            (fruit[0], fruit[1], fruit[2]),
            from_fact("No fruit is kept for {value} after planting or grafting", none),
            from_fact(
                "and a full crop only from {value} on; this is its year {year}",
                years,
                year=int(view.tree.years_here(bloom)) + 1,
            ),
            from_fact("A grown tree crops about {value}", full),
            why_mass,
        )
    return sorted(targets, key=lambda target: target.fruit.value)


def bearing_share(view: View, bloom: date) -> float:
    """The share of a full crop that the tree's years allow at a bloom, 0 to 1.

    The first crop that is let stay counts as a year of bearing.
    """
    species = view.species
    years = max(view.tree.years_here(bloom), 0.0) + 1.0
    return float(
        young_tree_share(
            years, species["fruitless_years"].number, species["full_bearing_years"].number + 1.0
        )
    )


def fruit_now(view: View, count: Count) -> Estimate:
    """The fruit a count says the tree carries."""
    if count.fruit is not None:
        why = recorded("You counted {fruit} fruit on {day}", fruit=count.fruit, day=count.date)
        return Estimate(count.fruit, 0.95 * count.fruit, 1.05 * count.fruit, why)
    chances = [path.probability for path in count.paths]
    found = branch_path_estimate(chances, [path.fruit for path in count.paths], 0.9)
    error, assumed = found.standard_error, ""
    low, high = found.low, found.high
    if len(chances) < 4:
        spread = view.constant("count spread").number
        error = spread * found.estimate / sqrt(len(chances))
        low, high = (
            max(found.estimate - 1.64 * error, sum(p.fruit for p in count.paths)),
            found.estimate + 1.64 * error,
        )
        assumed = "; with so few paths the error is taken from published counts"
    why = recorded(
        "{count} branch paths walked on {day} stand for {fruit} fruit, give or take {error}"
        + assumed,
        found.estimate,
        "count",
        count=len(chances),
        day=count.date,
        fruit=round(found.estimate),
        error=round(error),
    )
    return Estimate(found.estimate, low, high, why)


def latest_count(view: View, bloom: Stage, end: Stage | None) -> Count | None:
    """The last count of the crop that came from this bloom."""
    last = min(view.today, end.date if end else view.today)
    counts = [one for one in view.tree.counts if bloom.date < one.date <= last]
    return max(counts, key=lambda one: one.date, default=None)


def plan_crop(view: View) -> list[Advice]:
    """Thinning, or the count that it needs, for each crop of this and next season."""
    advice = []
    for bloom in view.cycle.every("full bloom"):
        if bloom.wave != 1:
            continue
        end = view.cycle.of("harvest end", bloom.season)
        start = view.cycle.of("harvest start", bloom.season)
        drop = view.cycle.of("natural drop end", bloom.season)
        if drop is None or start is None:
            continue
        if start.date < view.today - timedelta(days=LOOK_BACK):
            continue
        if not _bears_in(view, bloom.date):
            advice.append(_strip(view, bloom, drop, end))
        elif (
            "thin_after_bloom" in view.species.facts
            and view.species["fruit_mass"].number >= view.constant("smallest fruit thinned").number
        ):
            advice += _thin(view, bloom, drop, start, end)
    return advice


def _end(end: float | None, otherwise: float) -> float:
    """One end of a range, or something else where it has none."""
    return otherwise if end is None else end


def _bears_in(view: View, day: date) -> bool:
    return view.tree.years_here(day) >= view.species["fruitless_years"].number


def _done_since(view: View, job: str, begin: date) -> bool:
    return any(work.job == job and begin <= work.date <= view.today for work in view.tree.done)


def _strip(view: View, bloom: Stage, drop: Stage, end: Stage | None) -> Advice:
    years = view.species["fruitless_years"]
    window = Window(
        bloom.date + timedelta(days=5),
        bloom.date + timedelta(days=25),
        drop.date + timedelta(days=30),
    )
    count = latest_count(view, bloom, end)
    estimate = fruit_now(view, count) if count else None
    return Advice(
        id=view.advice_id("thin", "strip", bloom.date),
        tree=view.tree.id,
        kind="thin",
        window=window,
        headline=phrase("Take off every fruit: it is too young to bear"),
        quantity=Quantity(0, "count")
        if estimate is None
        else Quantity(round(estimate.fruit), "count", round(estimate.low), round(estimate.high)),
        display=phrase("keep none")
        if estimate is None
        else phrase("take off all {fruit}, keep none", fruit=round(estimate.fruit)),
        steps=(
            phrase("Pinch off every fruitlet while it is small; leave the leaves round it."),
            phrase("Go over it again after two weeks."),
        ),
        cautions=view.cautions("thin", *view.species.lineage),
        minutes=10,
        because=(
            *([estimate.because] if estimate else []),
            from_fact(
                "{kind} keeps no fruit for {value} after planting or grafting: the crop would cost it "
                "roots and branches, and the next year",
                years,
                kind=view.species.name,
            ),
            recorded(
                "Planted or grafted on {day}",
                day=max(view.tree.planted, view.tree.grafted or view.tree.planted),
            ),
        ),
        changes=phrase("Nothing but time; one fruit to know its taste does no harm"),
        details={"keep": 0, "remove": round(estimate.fruit) if estimate else None, "rule": "age"},
    )


def _thin(view: View, bloom: Stage, drop: Stage, start: Stage, end: Stage | None) -> list[Advice]:
    fact = view.species["thin_after_bloom"]
    best = bloom.date + timedelta(days=round(fact.number))
    earliest = min(best, drop.date) - timedelta(days=7)
    latest = min(start.date - timedelta(days=30), best + timedelta(days=75))
    window = Window(
        earliest, max(best, drop.date), max(latest, max(best, drop.date) + timedelta(days=14))
    )
    why_when = from_fact(
        "Thinning about {value} after bloom still helps next year's bloom; later it only helps "
        "what hangs",
        fact,
    )
    targets = crop_targets(view, bloom.date)
    tightest = targets[0]
    count = latest_count(view, bloom, end)
    if _done_since(view, "thin", window.earliest) and not (
        count and any(w.job == "thin" and w.date < count.date for w in view.tree.done)
    ):
        return []
    keep = tightest.fruit
    others = [link for one in targets[1:] for link in (one.because[-1],)] + [
        computed(
            "Rule by {rule}: {fruit}", one.fruit.value, "count", rule=one.rule, fruit=one.fruit
        )
        for one in targets[1:]
    ]
    links: list[Because] = [*tightest.because, *others]
    if others:
        links.append(
            computed(
                "The tightest rule holds: {rule}, {fruit}",
                keep.value,
                "count",
                rule=tightest.rule,
                fruit=keep,
            )
        )
    if count is None:
        return [_count_first(view, bloom, drop, window, tightest, tuple(links))]
    estimate = fruit_now(view, count)
    remove = estimate.fruit - keep.value
    links = [estimate.because, *links, why_when]
    if remove <= view.constant("share not thinned").number * keep.value:
        return []
    low = max(0.0, estimate.low - _end(keep.high, keep.value))
    high = estimate.high - _end(keep.low, keep.value)
    spacing = view.species.get("fruit_spacing")
    share = 100 * remove / estimate.fruit
    steps = [
        phrase(
            "Keep about {keep} of some {fruit}: take off {share} of every 10.",
            keep=round(keep.value),
            fruit=round(estimate.fruit),
            share=f"{share / 10:.0f}",
        ),
        phrase(
            "Small, marked, sun-exposed and inward ones first; leave the best-placed on strong wood."
        ),
    ]
    if spacing is not None:
        steps.append(
            phrase(
                "What stays is about a hand apart: {spacing} along the branch.",
                spacing=Quantity(spacing.number / 100, "m"),
            )
        )
    steps.append(phrase("In two passes: half now, the rest when you see what dropped."))
    return [
        Advice(
            id=view.advice_id("thin", "crop", bloom.date),
            tree=view.tree.id,
            kind="thin",
            window=window,
            headline=phrase("Thin the fruit: more hangs than it can carry"),
            quantity=Quantity(round(remove), "count", round(low), round(high)),
            display=phrase(
                "take off about {remove} of {fruit} fruit, keep {keep}",
                remove=round(remove),
                fruit=round(estimate.fruit),
                keep=round(keep.value),
            ),
            steps=tuple(steps),
            cautions=view.cautions(
                "thin", *view.species.lineage, *(["tall"] if view.size.height > 2.5 else [])
            ),
            minutes=max(10, round(remove / 12)),
            because=tuple(links),
            changes=phrase("A new count after the natural drop, or a measure of girth and canopy"),
            details={
                "keep": round(keep.value),
                "keep_low": round(_end(keep.low, 0.0)),
                "keep_high": round(_end(keep.high, 0.0)),
                "remove": round(remove),
                "counted": round(estimate.fruit),
                "rule": tightest.rule,
                "rules": {one.rule: round(one.fruit.value) for one in targets},
            },
        )
    ]


def _count_first(
    view: View,
    bloom: Stage,
    drop: Stage,
    window: Window,
    target: Target,
    links: tuple[Because, ...],
) -> Advice:
    begin = drop.date - timedelta(days=7)
    return Advice(
        id=view.advice_id("measure", "count", bloom.date),
        tree=view.tree.id,
        kind="measure",
        window=Window(begin, drop.date, min(window.latest, drop.date + timedelta(days=35))),
        headline=phrase(
            "Count the fruit: it can carry about {fruit}", fruit=round(target.fruit.value)
        ),
        quantity=target.fruit,
        display=phrase("about {fruit} fruit to keep", fruit=round(target.fruit.value)),
        steps=(
            phrase(
                "On a small tree count them all; on a large one walk three to six branches from the trunk, "
                "choosing at each fork by thickness, and note the chance of each walk and its fruit."
            ),
            phrase("Write it under counts and the plan says how many to take off."),
        ),
        cautions=view.cautions("measure"),
        minutes=15,
        because=links,
        changes=phrase("The count itself"),
        details={"keep": round(target.fruit.value), "rule": target.rule},
    )
