"""When each crop is ripe, how long it keeps on the tree, and how much to expect."""

from __future__ import annotations

from datetime import date, timedelta

from bearwell.garden import Count
from bearwell.knowledge import Fact
from bearwell.plan.advice import Advice, Window
from bearwell.plan.bearing import current_crop
from bearwell.plan.cropload import crop_of, crop_targets, share_at
from bearwell.plan.fruitcount import fruit_now, latest_count
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
    """Mass of the crop of one bloom [g] with a wide honest range: from a count, else records, else tables."""
    mass = view.species["fruit_mass"]
    count = latest_count(view, bloom, end)
    if count is not None:
        return _by_count(view, count, mass)
    year, links = _by_bearing(view, bloom) or expected_year(view, bloom.date)
    waves = 1.0
    if view.species.habit == "ever-bearing":
        fact = view.species["blooms_per_year"]
        waves = fact.number
        links = (*links, from_fact("The year's crop comes in about {value} waves", fact))
    return Quantity(year.value / waves, "g", _low(year) / waves, _high(year) / waves), links


def _by_bearing(view: View, bloom: Stage) -> tuple[Quantity, tuple[Because, ...]] | None:
    """What its on and off years let expect of the crop to come, where its records show them."""
    plan = crop_of(view, bloom) if len(view.tree.harvests) > 1 else None
    if plan is None or current_crop(view)[0] != bloom or not plan.alternates:
        return None
    outlook = plan.outlook
    crop = outlook.expected.mass(outlook.even_in(outlook.year))
    return crop, outlook.because


def _low(crop: Quantity) -> float:
    return crop.value if crop.low is None else crop.low


def _high(crop: Quantity) -> float:
    return crop.value if crop.high is None else crop.high


def _by_count(view: View, count: Count, mass: Fact) -> tuple[Quantity, tuple[Because, ...]]:
    estimate = fruit_now(view, count)
    fruit = Quantity(
        estimate.fruit * mass.number, "g", estimate.low * mass.least, estimate.high * mass.most
    )
    links = [estimate.because, from_fact("A fruit weighs about {value}", mass)]
    most = max((harvest.mass for harvest in view.tree.harvests), default=0.0)
    if most and fruit.value > 1.3 * most:
        links.append(
            recorded(
                "That is more than any crop you recorded, {most}: expect small fruit, or count again",
                most,
                "g",
                most=Quantity(most, "g"),
            )
        )
    return fruit, tuple(links)


def expected_year(view: View, bloom: date) -> tuple[Quantity, tuple[Because, ...]]:
    """Mass of a year's crop [g]: the mean of the last recorded ones, else what the tables let it carry."""
    last = sorted(view.tree.harvests, key=lambda harvest: harvest.year)[-5:]
    if len(last) >= 2:
        masses = [harvest.mass for harvest in last]
        link = recorded(
            "Its last {count} crops ran from {low} to {high}, {mean} on average",
            count=len(masses),
            low=Quantity(min(masses), "g"),
            high=Quantity(max(masses), "g"),
            mean=Quantity(sum(masses) / len(masses), "g"),
        )
        return Quantity(sum(masses) / len(masses), "g", min(masses), max(masses)), (link,)
    full, share = view.species["full_crop"], share_at(view, bloom)
    value, low, high = full.number * share, full.least * share, full.most * share
    links: tuple[Because, ...] = (
        from_fact("A grown tree crops about {value}", full),
        computed("At its age about {share} % of that", share, "1", share=round(100 * share)),
    )
    tightest = crop_targets(view, bloom)[0]
    mass = view.species["fruit_mass"].number
    carried = tightest.fruit.value * mass
    if carried < value:
        value, low = carried, min(low, _low(tightest.fruit) * mass)
        high = min(high, _high(tightest.fruit) * mass)
        links = (
            *tightest.because,
            computed(
                "It is let carry {fruit} fruit by its {rule}, {crop}",
                carried,
                "g",
                fruit=round(tightest.fruit.value),
                rule=tightest.rule,
                crop=Quantity(carried, "g"),
            ),
        )
    # Crops fall short of what a tree could carry more often than they pass it.
    return Quantity(value, "g", 0.4 * min(low, value), max(high, value)), links


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
        quantity=Quantity(round(crop.value), "g", round(_low(crop)), round(_high(crop))),
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
