"""When each crop is ripe, how long it keeps on the tree, and how much to expect."""

from __future__ import annotations

from datetime import timedelta

from bearwell.plan.advice import Advice, Window
from bearwell.plan.cropload import bearing_share, fruit_now, latest_count
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, computed, from_fact, phrase, recorded
from bearwell.season.cycle import Stage


def plan_harvest(view: View) -> list[Advice]:
    """A picking window for every crop that ends after today."""
    advice = []
    for start in view.cycle.every("harvest start"):
        end = view.cycle.of("harvest end", start.season, start.wave)
        bloom = view.cycle.of("full bloom", start.season, start.wave)
        if end is None or bloom is None or end.date < view.today or end.seen:
            continue
        young = view.tree.years_here(bloom.date) < view.species["fruitless_years"].number
        if young or (start.wave > 1 and start.season > view.site.season):
            continue
        advice.append(_picking(view, bloom, start, end))
    return advice


def expected_crop(view: View, bloom: Stage, end: Stage) -> tuple[Quantity, tuple[Because, ...]]:
    """Mass of the crop [g] with a wide honest range: from a count, else records, else the table."""
    mass = view.species["fruit_mass"]
    count = latest_count(view, bloom, end)
    waves = 1
    if view.species.habit == "ever-bearing":
        waves = int(view.species["blooms_per_year"].number)
    if count is not None:
        estimate = fruit_now(view, count)
        fruit = Quantity(
            estimate.fruit * mass.number, "g", estimate.low * mass.least, estimate.high * mass.most
        )
        told = [estimate.because, from_fact("A fruit weighs about {value}", mass)]
        most = max((harvest.mass for harvest in view.tree.harvests), default=0.0)
        if most and fruit.value > 1.3 * most:
            told.append(
                recorded(
                    "That is more than any crop you recorded, {most}: expect small fruit, or count again",
                    most,
                    "g",
                    most=Quantity(most, "g"),
                )
            )
        return fruit, tuple(told)
    kilos = sorted(harvest.mass for harvest in view.tree.harvests[-5:])
    if len(kilos) >= 2:
        middle = sum(kilos) / len(kilos) / waves
        link = recorded(
            "Its last {count} crops ran from {low} to {high}",
            count=len(kilos),
            low=Quantity(kilos[0], "g"),
            high=Quantity(kilos[-1], "g"),
        )
        return Quantity(middle, "g", kilos[0] / waves, kilos[-1] / waves), (link,)
    full, share = view.species["full_crop"], max(bearing_share(view), 0.05)
    if view.tree.pot is not None:
        carry = view.species["crop_per_canopy"]
        value = carry.number * 1000 * view.size.volume
        links: tuple[Because, ...] = (from_fact("A canopy in a pot carries about {value}", carry),)
        low, high = 0.3 * value, 1.2 * value
    else:
        value = full.number * share
        low, high = full.least * share * 0.3, full.most * share
        links = (
            from_fact("A grown tree crops about {value}", full),
            computed("At its age about {share} % of that", share, "1", share=round(100 * share)),
        )
    return Quantity(value / waves, "g", low / waves, high / waves), links


def _picking(view: View, bloom: Stage, start: Stage, end: Stage) -> Advice:
    crop, why_crop = expected_crop(view, bloom, end)
    test = view.species["harvest_test"]
    earliest = start.date if start.seen else max(start.low, bloom.date + timedelta(days=20))
    window = Window(earliest, max(start.date, earliest), max(end.date, earliest))
    ripe = start.seen or start.date <= view.today
    headline = (
        phrase("Pick as it ripens") if ripe else phrase("Taste the first fruit: it may be ripe")
    )
    if start.wave > 1:
        headline = phrase("Pick the later crop as it ripens")
    return Advice(
        id=view.advice_id("harvest", f"crop-{start.wave}", start.date),
        tree=view.tree.id,
        kind="harvest",
        window=window,
        headline=headline,
        quantity=Quantity(round(crop.value), "g", round(crop.low or 0), round(crop.high or 0)),
        display=phrase("{crop} in all", crop=crop),
        steps=(
            phrase("{test}", test=test.text),
            phrase("Clip, do not pull; pick over it more than once, the ripest first."),
            phrase("Weigh the crop and write it under harvests: the plan learns from it."),
        ),
        cautions=view.cautions(
            "harvest", *view.species.lineage, *(["tall"] if view.size.height > 2.5 else [])
        ),
        minutes=max(10, round(crop.value / 1000 * 2)),
        because=(*start.because, from_fact("How to tell: {value}", test), *why_crop),
        changes=phrase("The taste; a bloom or first picking you record"),
        details={
            "season": start.season,
            "wave": start.wave,
            "ripe_from": start.date.isoformat(),
            "ripe_from_low": start.low.isoformat(),
            "ripe_from_high": start.high.isoformat(),
            "hangs_until": end.date.isoformat(),
            "basis": start.basis,
        },
    )
