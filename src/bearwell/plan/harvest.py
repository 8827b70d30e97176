"""When each crop is ripe, how long it keeps on the tree, and how much to expect."""

from __future__ import annotations

from datetime import timedelta

from bearwell.plan.advice import Advice, Window
from bearwell.plan.picking import picking_of
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import from_fact, phrase
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


def _picking(view: View, bloom: Stage, start: Stage, end: Stage) -> Advice:
    found = picking_of(view, bloom)
    crop, why_crop = found.crop, found.because
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
        quantity=Quantity(round(crop.value), "g", _rounded(crop.low), _rounded(crop.high)),
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
            "crop_basis": found.basis,
        },
    )


def _rounded(grams: float | None) -> int | None:
    return None if grams is None else round(grams)
