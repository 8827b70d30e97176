"""Advice on the crop: count it, thin it in passes, strip it from young trees, prop it, know the off year."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from bearwell.plan.advice import Advice, Window
from bearwell.plan.bearing import current_crop, outlook_detail
from bearwell.plan.cropload import CropPlan, crop_of
from bearwell.plan.croptargets import rule_line, tightest_line
from bearwell.plan.fruitcount import counted_after
from bearwell.plan.view import LOOK_BACK, View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.said import listed, said

TALL = 2.5  # m, above which a ladder is needed


def plan_crop(view: View) -> list[Advice]:
    """Thinning, or the count that it needs, for each crop of this and next season."""
    advice: list[Advice] = []
    current = current_crop(view)[0]
    for bloom in view.cycle.every("full bloom"):
        if bloom.wave != 1:
            continue
        plan = crop_of(view, bloom)
        if plan is None or plan.start.date < view.today - timedelta(days=LOOK_BACK):
            continue
        if not plan.bears:
            advice.append(_strip(plan))
            continue
        if plan.thins:
            advice += _thin(plan)
        if bloom == current:
            advice += [*_props(plan), *_light_year(plan)]
    return advice


def _end(end: float | None, otherwise: float) -> float:
    """One end of a range, or something else where it has none."""
    return otherwise if end is None else end


def _done_since(view: View, job: str, begin: date) -> bool:
    return any(work.job == job and begin <= work.date <= view.today for work in view.tree.done)


def _cautions(view: View) -> tuple[str, ...]:
    tall = ["tall"] if view.size.height > TALL else []
    return view.cautions("thin", *view.species.lineage, *tall)


# ---------------------------------------------------------------------- too young


def _strip(plan: CropPlan) -> Advice:
    view, bloom = plan.view, plan.bloom
    years, estimate = view.species["fruitless_years"], plan.estimate
    begun = max(view.tree.planted, view.tree.grafted or view.tree.planted)
    first = begun + timedelta(days=round(365.25 * years.number))
    return Advice(
        id=view.advice_id("thin", "strip", bloom.date),
        tree=view.tree.id,
        kind="thin",
        window=plan.window,
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
            phrase("It may keep its first few from the bloom after {day}.", day=first),
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
            recorded("Planted or grafted on {day}", day=begun),
        ),
        changes=phrase("Nothing but time; one fruit to know its taste does no harm"),
        details={
            "keep": 0,
            "remove": round(estimate.fruit) if estimate else None,
            "rule": "age",
        },
    )


# ---------------------------------------------------------------------- too many


def _thin(plan: CropPlan) -> list[Advice]:
    view = plan.view
    since = plan.bloom.date  # thinning before its best days is thinning too
    thinned = _done_since(view, "thin", since)
    if thinned and not counted_after(view, "thin", since):
        return [] if plan.estimate is None or not plan.too_many else _count_again(plan)
    if plan.estimate is None:
        return [_count_first(plan)]
    return [_thinning(plan)] if plan.too_many else []


def _rules(plan: CropPlan) -> list[Because]:
    """The tightest rule with its reasons, then the others in a line each."""
    tightest, others = plan.keep, plan.targets[1:]
    links = list(tightest.because)
    if others:
        links += [*(rule_line(one) for one in others), tightest_line(tightest)]
    if plan.doubt is not None:
        links.append(plan.doubt)
    return links


def _thinning(plan: CropPlan) -> Advice:
    view, estimate, keep = plan.view, plan.estimate, plan.keep.fruit
    fruit = 0.0 if estimate is None else estimate.fruit
    least, most = (0.0, 0.0) if estimate is None else (estimate.low, estimate.high)
    remove = fruit - keep.value
    why_when = from_fact(
        "Thinning about {value} after bloom still helps next year's bloom; later it only helps "
        "what hangs",
        view.species["thin_after_bloom"],
    )
    links = [
        *([estimate.because] if estimate else []),
        *_rules(plan),
        why_when,
        *_why_gain(plan),
    ]
    advice = Advice(
        id=view.advice_id("thin", "crop", plan.bloom.date),
        tree=view.tree.id,
        kind="thin",
        window=plan.window,
        headline=phrase("Thin the fruit: more hangs than it can carry"),
        quantity=Quantity(
            round(remove),
            "count",
            round(max(0.0, least - _end(keep.high, keep.value))),
            round(min(most - _end(keep.low, keep.value), fruit)),
        ),
        display=phrase(
            "take off about {remove} of {fruit} fruit, keep {keep}",
            remove=round(remove),
            fruit=round(fruit),
            keep=round(keep.value),
        ),
        steps=tuple(_thin_steps(plan, remove, fruit)),
        cautions=_cautions(view),
        minutes=max(10, round(remove / view.constant("fruit thinned a minute").number)),
        because=tuple(links),
        changes=phrase("A new count after the natural drop, or a measure of girth and canopy"),
        details={
            "keep": round(keep.value),
            "keep_low": round(_end(keep.low, 0.0)),
            "keep_high": round(_end(keep.high, 0.0)),
            "remove": round(remove),
            "counted": round(fruit),
            "rule": plan.keep.rule,
            "rules": {one.rule: round(one.fruit.value) for one in plan.targets},
            "passes": _passes_detail(plan),
            "limbs": [
                {
                    "limb": one.number,
                    "share": round(one.share, 3),
                    "keep": one.keep,
                    "remove": one.remove,
                }
                for one in plan.by_limb
            ],
            "fruit_g": _sizes(plan),
            "bearing": outlook_detail(plan.outlook),
        },
    )
    return advice.remarked(plan.doubt.statement) if plan.doubt is not None else advice


def _passes_detail(plan: CropPlan) -> list[dict[str, Any]]:
    return [
        {
            "pass": one.number,
            "earliest": one.window.earliest.isoformat(),
            "best": one.window.best.isoformat(),
            "latest": one.window.latest.isoformat(),
            "remove": one.remove,
            "leave": one.leave,
        }
        for one in plan.passes
    ]


def _sizes(plan: CropPlan) -> dict[str, float] | None:
    gain = plan.gain
    if gain is None:
        return None
    return {"kept": round(gain.kept.size.value, 1), "thinned": round(gain.thinned.size.value, 1)}


def _why_gain(plan: CropPlan) -> list[Because]:
    gain = plan.gain
    if gain is None:
        return []
    before, after = gain.kept, gain.thinned
    return [
        *gain.because[:2],
        computed(
            "Left alone a fruit would weigh about {small}, thinned about {large}; the crop {all} or {less}",
            after.size.value,
            "g",
            small=amount(before.size.value, "g"),
            large=amount(after.size.value, "g"),
            all=amount(before.crop.value, "g"),
            less=amount(after.crop.value, "g"),
        ),
    ]


def _thin_steps(plan: CropPlan, remove: float, fruit: float) -> list[Phrase]:
    view, keep = plan.view, plan.keep.fruit.value
    steps = [
        phrase(
            "Keep about {keep} of some {fruit}: take off {share} of every 10.",
            keep=round(keep),
            fruit=round(fruit),
            share=said("{share:.0f}", share=10 * remove / fruit),
        ),
        phrase(
            "Small, marked, sun-exposed and inward ones first; leave the best-placed on strong wood."
        ),
    ]
    spacing = view.species.get("fruit_spacing")
    if spacing is not None:
        steps.append(
            phrase(
                "What stays is about a hand apart: {spacing} along the branch.",
                spacing=Quantity(spacing.number / 100, "m"),
            )
        )
    if plan.by_limb:
        told = listed(
            said("{count} on limb {number}", count=one.keep, number=one.number)
            for one in plan.by_limb
        )
        steps.append(phrase("Leave by the girths of the limbs: {limbs}.", limbs=told))
    passes = plan.passes
    if len(passes) == 2:
        steps += [
            phrase(
                "First pass, by {day}: take off about {remove}, leave {leave}.",
                day=passes[0].window.latest,
                remove=passes[0].remove,
                leave=passes[0].leave,
            ),
            phrase(
                "Then count again, as more will drop by itself. Second pass from {day}, about {remove}, down to "
                "{leave}.",
                day=passes[1].window.earliest,
                remove=passes[1].remove,
                leave=passes[1].leave,
            ),
        ]
    elif passes:
        steps.append(phrase("One pass: there is no time left for two."))
    return steps


def _counting_steps() -> tuple[Phrase, ...]:
    return (
        phrase(
            "On a small tree count them all; on a large one walk three to six branches from the trunk, "
            "choosing at each fork by thickness, and note the chance of each walk and its fruit."
        ),
        phrase(
            "The page of its count chooses for you from the girths and gives the line to write under counts."
        ),
    )


def _count_first(plan: CropPlan) -> Advice:
    view, target, drop = plan.view, plan.keep, plan.drop.date
    advice = Advice(
        id=view.advice_id("measure", "count", plan.bloom.date),
        tree=view.tree.id,
        kind="measure",
        window=Window(
            drop - timedelta(days=7), drop, min(plan.window.latest, drop + timedelta(days=35))
        ),
        headline=phrase(
            "Count the fruit: it can carry about {fruit}", fruit=round(target.fruit.value)
        ),
        quantity=target.fruit,
        display=phrase("about {fruit} fruit to keep", fruit=round(target.fruit.value)),
        steps=_counting_steps(),
        cautions=view.cautions("measure"),
        minutes=15,
        because=tuple(_rules(plan)),
        changes=phrase("The count itself"),
        details={"keep": round(target.fruit.value), "rule": target.rule},
    )
    return advice.remarked(plan.doubt.statement) if plan.doubt is not None else advice


def _count_again(plan: CropPlan) -> list[Advice]:
    """After a first pass: what to count before the second."""
    view, target = plan.view, plan.keep
    done = view.tree.last_done("thin", view.today)
    begun = view.today if done is None else done.date
    gap = timedelta(days=round(view.constant("days between passes").number))
    window = Window(begun + gap / 2, begun + gap, max(plan.window.latest, begun + gap))
    if plan.window.latest < begun + gap:
        return []
    return [
        Advice(
            id=view.advice_id("measure", "recount", plan.bloom.date),
            tree=view.tree.id,
            kind="measure",
            window=window,
            headline=phrase("Count again before the second pass"),
            quantity=target.fruit,
            display=phrase("about {fruit} fruit to keep", fruit=round(target.fruit.value)),
            steps=_counting_steps(),
            cautions=view.cautions("measure"),
            minutes=15,
            because=(
                recorded("Thinned on {day}, and not counted since", day=begun),
                from_fact(
                    "After about {value} you see what dropped by itself",
                    view.constant("days between passes"),
                ),
                *_rules(plan),
            ),
            changes=phrase("The count itself"),
            details={"keep": round(target.fruit.value), "rule": target.rule},
        )
    ]


# ---------------------------------------------------------------------- limbs and light years


def _props(plan: CropPlan) -> list[Advice]:
    """Props for limbs that the crop it is to carry would bend beyond what they are trusted with."""
    gain, limbs, view = plan.gain, plan.limbs, plan.view
    if gain is None or limbs is None:
        return []
    side = gain.thinned if plan.thins and plan.too_many else gain.kept
    at_risk = [one for one in side.limbs if one.prop]
    if not at_risk:
        return []
    worst = max(at_risk, key=lambda one: one.stress)
    place = view.constant("prop place")
    best = max(plan.start.date - timedelta(days=45), plan.drop.date)
    numbers = ", ".join(str(one.number) for one in at_risk)
    which = numbers if limbs.measured else said("those that bend most")
    return [
        Advice(
            id=view.advice_id("inspect", "props", plan.bloom.date),
            tree=view.tree.id,
            kind="inspect",
            window=Window(plan.drop.date, best, max(plan.start.date - timedelta(days=7), best)),
            headline=phrase("Prop its limbs before the fruit swells"),
            quantity=Quantity(len(at_risk), "count"),
            display=phrase(
                "limb {which}, at {where} from the trunk"
                if len(at_risk) == 1
                else "limbs {which}, at {where} from the trunk",
                which=which,
                where=Quantity(place.number * limbs.reach, "m"),
            ),
            steps=(
                phrase("Set a forked pole under each, padded, at about two thirds of its length."),
                phrase(
                    "A limb that hangs below the level, or bends over a third of its length, wants one too."
                ),
            ),
            cautions=view.cautions("inspect", *view.species.lineage),
            minutes=10.0 * len(at_risk),
            because=(
                *limbs.because,
                computed(
                    "The crop of {crop} puts {stress} on the weakest of them: one in {odds} like it would break",
                    worst.stress,
                    "MPa",
                    crop=amount(side.crop.value, "g"),
                    stress=amount(worst.stress, "MPa"),
                    odds=_odds(worst.chance),
                ),
                from_fact("A prop stands best at about {value} of the length", place),
            ),
            changes=phrase("Taking off more fruit; the girth of each limb, under limbs"),
            details={
                "limbs": [one.number for one in at_risk],
                "stress_mpa": round(worst.stress, 1),
                "chance": round(worst.chance, 3),
                "prop_at_m": round(place.number * limbs.reach, 2),
            },
        )
    ]


def _odds(chance: float) -> str:
    return said("two") if chance > 0.4 else str(max(round(1 / max(chance, 1e-6)), 2))


def _light_year(plan: CropPlan) -> list[Advice]:
    """An off year after an on year, told before anyone wonders."""
    view, outlook = plan.view, plan.outlook
    last = outlook.last
    if plan.estimate is not None or last is None or outlook.next_state != "off":
        return []
    year, _, state = last
    if state != "on" or outlook.year - year != 1:
        return []
    crop = outlook.expected.mass(outlook.even_in(outlook.year))
    bloom = plan.bloom.date
    return [
        Advice(
            id=view.advice_id("inspect", "off-year", bloom),
            tree=view.tree.id,
            kind="inspect",
            window=Window(bloom - timedelta(days=20), bloom, plan.drop.date),
            headline=phrase("Expect a light year after the heavy one"),
            display=phrase("about {crop} of fruit", crop=crop),
            steps=(
                phrase("Look at the bloom: few flowers and much new wood are the sign of it."),
                phrase(
                    "Cut hardly at all and keep what sets; the heavy year that follows is the one to thin."
                ),
            ),
            cautions=view.cautions("inspect", *view.species.lineage),
            minutes=5,
            because=(
                *outlook.because,
                computed(
                    "so {crop} is the middle of what to expect, and {chance} of the chances lie above an even crop",
                    crop.value,
                    "g",
                    crop=crop,
                    chance=said("{percent:.0f} %", percent=100 * outlook.expected.heavy),
                ),
            ),
            changes=phrase("The bloom itself, and a count of what sets"),
            details={
                "expected_g": round(crop.value),
                "expected_low_g": round(_end(crop.low, 0.0)),
                "expected_high_g": round(_end(crop.high, 0.0)),
                "last_year": year,
            },
        )
    ]
