"""Reckoners of the crop: bearing, branch-count, crop-target, limb."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import pi, sqrt
from statistics import NormalDist
from typing import Any

from bearwell.errors import BadInput
from bearwell.knowledge import knowledge
from bearwell.plan.bearing import FEWEST, longest_run, swing_of
from bearwell.plan.cropmeasures import Measures
from bearwell.plan.croptargets import (
    girth_doubt,
    like_a_diameter,
    no_rule,
    rule_line,
    targets_of,
    tightest_line,
)
from bearwell.quantities import parse
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.reckon.model import Answer, Option, Reckoner, measured, measures, number
from bearwell.reckon.model import years as years_of
from bearwell.reckon.sky import cited
from bearwell.said import said
from bearwell.science.canopy import canopy_volume_ellipsoid
from bearwell.science.limb import bending_stress, failure_chance, safe_load
from bearwell.science.sampling import (
    branch_path_estimate,
    most_when_none_seen,
    paths_needed,
)

BARE = re.compile(r"[-+−]?\d*[.,]?\d+")


def _kind(text: str) -> str:
    return knowledge().kind(text).key


def _age(text: str) -> float:
    """A reader of a time since planting [d]; a bare number is years."""
    return parse(f"{text.strip()} yr" if BARE.fullmatch(text.strip()) else text, "age")


def _load(text: str) -> float:
    """A reader of a mass [g]; a bare number is kilograms."""
    return parse(f"{text.strip()} kg" if BARE.fullmatch(text.strip()) else text, "mass")


# ---------------------------------------------------------------- bearing


def _bearing(given: Mapping[str, Any]) -> Answer:
    yields = list(given["yields"])
    while math.isnan(yields[0]):
        yields.pop(0)
    while math.isnan(yields[-1]):
        yields.pop()
    known = [value for value in yields if not math.isnan(value)]
    missing = [f"{at}" for at, value in enumerate(yields, 1) if math.isnan(value)]
    if len(known) < FEWEST:
        raise BadInput(
            said("{count} yields are too few", count=len(known)),
            "three years or more, oldest first, commas between",
        )
    if longest_run(yields) < FEWEST:
        raise BadInput(
            said(
                "no three years follow each other: year {listed} of the list is missing",
                listed=", ".join(missing),
            ),
            "three years in a row or more; an empty place between commas is a year without a record",
        )
    if any(value < 0 for value in known):
        raise BadInput("a yield below zero", "masses are zero or more")
    if not any(known):
        raise BadInput("every yield is zero", "alternation needs a crop in some year")
    swing = swing_of(yields)
    results = {
        "intensity": round(swing.intensity, 4),
        "bienniality_pct": round(100 * swing.bienniality, 1),
        "expected_by_chance": round(swing.by_chance, 4),
        "detrended_intensity": round(swing.detrended, 4),
        "p_value": round(swing.p_value, 4),
        "verdict": swing.verdict,
    }
    because = (
        cited(
            "Intensity: mean of |difference| over sum of neighbouring years, 0 to 1",
            round(swing.intensity, 4),
            "1",
            "hoblyn-1936",
            "intensity of biennial bearing",
            "memory",
        ),
        computed(
            "The same yields in other orders average {intensity}",
            round(swing.by_chance, 4),
            "1",
            intensity=said("{intensity:.2f}", intensity=swing.by_chance),
        ),
        cited(
            "A rising trend alone raises intensity, so the swing about the straight trend is shown beside it",
            round(swing.detrended, 4),
            "1",
            "durand-2013",
            "BBI_res_norm, halved to the same scale",
            "secondhand",
        ),
        cited(
            "About the trend, {percent} % of the orders of these years swing as much",
            round(swing.p_value, 4),
            "1",
            "huff-2001",
            "resampling of the years",
            "memory",
            percent=said("{percent:.0f}", percent=100 * swing.p_value),
        ),
    )
    if not missing:
        return results, because, ()
    gap = said(
        "Year {listed} of the list is missing: the pairs of years round a gap do not count."
        if len(missing) == 1
        else "Years {listed} of the list are missing: the pairs of years round a gap do not count.",
        listed=", ".join(missing),
    )
    return results, because, (gap,)


# ---------------------------------------------------------------- counting


def _path(text: str) -> tuple[float, int]:
    """A reader of "0.25:13", the chance of a walk and the fruit at its end."""
    hint = "the chance of the walk, a colon, the fruit at its end: 0.25:13"
    first, colon, last = text.partition(":")
    if not colon:
        raise BadInput(said("'{text}' is not a walk", text=text), hint)
    chance = number(0, 1, "the chance of a walk")(first.strip())
    if chance == 0:
        raise BadInput("a walk that cannot happen was not walked", hint)
    fruit = number(0, 1e6, "a count of fruit")(last.strip())
    if fruit != int(fruit):
        raise BadInput(said("{count} fruit", count=last.strip()), "whole fruit")
    return chance, int(fruit)


def _branch_count(given: Mapping[str, Any]) -> Answer:
    chances, fruit = zip(*given["path"], strict=True)
    book, walks = knowledge(), len(chances)
    sure, spread = book.constant("sure of a count"), book.constant("count spread")
    wanted = book.constant("count worth having")
    if not any(fruit):
        return _none_met(chances)
    found = branch_path_estimate(chances, fruit, sure.number)
    links = [
        cited(
            "Each walk stands for its fruit over its chance; they are averaged",
            round(found.estimate, 2),
            "count",
            "jessen-1955",
            "random-branch sampling",
            "memory",
        )
    ]
    published = spread.number * found.estimate / sqrt(walks)
    half = NormalDist().inv_cdf((1 + sure.number) / 2) * published
    usual = (
        max(found.estimate - half, min(float(max(fruit)), found.estimate)),
        found.estimate + half,
    )
    if walks == 1:
        error, (low, high), variation = published, usual, spread.number
        links.append(
            from_fact(
                "One walk shows no scatter: that of published counts is taken, {value}", spread
            )
        )
    else:
        error, low, high = found.standard_error, found.low, found.high
        variation = error / found.estimate * sqrt(walks)
        links.append(
            computed(
                "The scatter of the walks gives the error, and with Student's t the range",
                round(error, 2),
                "count",
            )
        )
    few = book.constant("paths to know the error")
    lucky = 1 < walks < few.number and variation < spread.number
    if lucky:
        low, high, variation = min(low, usual[0]), max(high, usual[1]), spread.number
        links.append(
            from_fact(
                "Fewer than {value} walks tell little of their own scatter, so the range and the walks still "
                "wanted go by that of published counts, {scatter}",
                few,
                scatter=amount(spread.number, "1"),
            )
        )
    links += [
        from_fact("The range is meant to hold the truth in {value} of counts", sure),
        from_fact("An error of {value} takes so many walks of this scatter", wanted),
    ]
    results = {
        "estimate": round(found.estimate, 2),
        "standard_error": round(error, 2),
        "low": round(low, 2),
        "high": round(high, 2),
        "paths_for_10_pct": paths_needed(variation, wanted.number),
    }
    cautions = (
        said(
            "{walks} walks that agree may have agreed by luck: the error they show, {error:.3g}, is not the one "
            "to trust.",
            walks=walks,
            error=error,
        ),
    )
    return results, tuple(links), cautions if lucky else ()


def _none_met(chances: Sequence[float]) -> Answer:
    """No fruit on any walk: not a proof of an empty tree."""
    book = knowledge()
    sure, spread = book.constant("sure of a count"), book.constant("count spread")
    most = most_when_none_seen(chances, spread.number, sure.number)
    error = most / NormalDist().inv_cdf((1 + sure.number) / 2)
    links = (
        cited(
            "Each walk stands for its fruit over its chance; none met any",
            0.0,
            "count",
            "jessen-1955",
            "random-branch sampling",
            "memory",
        ),
        from_fact(
            "With fruit as clumped as in published counts, {value}, {most} could hang and every walk still be empty "
            "in {odds} of counts",
            spread,
            most=amount(most, "count"),
            odds=said("{percent:.0f} %", percent=100 * (1 - sure.number)),
        ),
    )
    results = {
        "estimate": 0.0,
        "standard_error": round(error, 2),
        "low": 0.0,
        "high": round(most, 2),
        "paths_for_10_pct": paths_needed(spread.number, book.constant("count worth having").number),
    }
    caution = said(
        "No walk met a fruit. That does not make the tree empty: up to {most} may hang. Walk on.",
        most=math.ceil(most),
    )
    return results, links, (caution,)


# ---------------------------------------------------------------- crop target


def _crop_target(given: Mapping[str, Any]) -> Answer:
    book = knowledge()
    species = book.kind(given["kind"])
    spreads = given.get("spread") or []
    if len(spreads) > 2:
        raise BadInput(
            "spread is given once, or twice for along and across", "--spread 2.2 --spread 2.0"
        )
    if bool(spreads) != (given.get("height") is not None):
        raise BadInput("a canopy needs its height and its spread", "--height 2.4 --spread 2.2")
    volume = None
    if spreads:
        skirt = given.get("skirt")
        if skirt is None:
            skirt = book.constant("skirt share").number * given["height"]
        volume = canopy_volume_ellipsoid(given["height"], skirt, spreads[0], spreads[-1])
    years = given["age"] / 365.25
    asked = Measures(
        species,
        book,
        years,
        given["age"],
        given.get("girth"),
        volume,
        sum(spreads) / len(spreads) if spreads else None,
        given.get("pot"),
        tuple(given.get("limb") or ()),
    )
    if asked.volume is not None:
        why = computed(
            "Canopy volume of an ellipsoid: {volume}",
            volume,
            "m3",
            volume=amount(asked.volume, "m3"),
        )
        asked = replace(asked, why_size=(why,))
    targets = targets_of(asked)
    tightest = targets[0]
    mass = species["fruit_mass"].number
    links: list[Because] = list(tightest.because)
    links += (
        [*(rule_line(one) for one in targets[1:]), tightest_line(tightest)] if targets[1:] else []
    )
    best, low, high = tightest.fruit.value, tightest.fruit.low or 0.0, tightest.fruit.high or 0.0
    doubt, silent = girth_doubt(asked, targets), no_rule(asked)
    notes = (*silent, *([doubt] if doubt is not None else []))
    results = {
        "fruit_low": round(low),
        "fruit_best": round(best),
        "fruit_high": round(high),
        "mass_kg": round(best * mass / 1000, 2),
        "rule": tightest.rule,
        "rules": [
            {
                "rule": one.rule,
                "fruit_low": round(one.fruit.low or 0.0),
                "fruit_best": round(one.fruit.value),
                "fruit_high": round(one.fruit.high or 0.0),
            }
            for one in targets
        ],
    }
    cautions = []
    if doubt is not None:
        cautions.append(
            "The girth looks like a diameter: measure round the trunk with a string."
            if like_a_diameter(asked, targets) is not None
            else "The trunk is too thick for such a canopy: measure girth and spread again."
        )
    if silent:
        cautions.append("The girth moved nothing: no rule by girth is printed for this kind.")
    return results, (*links, *notes), tuple(cautions)


# ---------------------------------------------------------------- limb


def _limb(given: Mapping[str, Any]) -> Answer:
    thick = given["diameter"]
    book = knowledge()
    load, reach = given["load"], given["distance"]
    strength, part = book.constant("limb strength"), book.constant("working share of strength")
    scatter = book.constant("scatter of limb strength")
    stress = bending_stress(load, reach, thick)
    working = strength.number * part.number
    safe = safe_load(working, reach, thick)
    chance = failure_chance(stress, strength.number, scatter.number)
    if stress <= working:
        verdict = "carries it"
    elif stress <= strength.number:
        verdict = "prop it or take fruit off: beyond what such limbs are trusted with"
    else:
        verdict = "will more likely break than hold: take fruit off and prop it"
    results = {
        "stress_mpa": round(stress, 2),
        "working_stress_mpa": round(working, 2),
        "safe_load_kg": round(safe / 1000, 2),
        "failure_chance_pct": round(100 * chance, 2),
        "verdict": verdict,
    }
    links = (
        cited(
            "Bending of a round section: 32 F L/(π d³)",
            round(stress, 2),
            "MPa",
            "niklas-1992",
            "bending of a circular section",
            "memory",
        ),
        from_fact("Limbs measured over the bark break at about {value}", strength),
        from_fact("and {value} of that is taken, for wind and weak forks", part),
        from_fact(
            "Strength varies between limbs by about {value}, which gives the chance", scatter
        ),
        computed(
            "A limb of {thick} is {round} round: girth is not diameter",
            thick=amount(thick, "m"),
            round=amount(thick * pi, "m"),
        ),
    )
    return results, links, ()


RECKONERS = (
    Reckoner(
        "bearing",
        "Whether a tree's yields swing between on and off years.",
        (
            Option(
                "yields",
                years_of,
                "list",
                "yields by year, oldest first, commas between; an empty place is a year without a record",
            ),
        ),
        _bearing,
        (
            "intensity",
            "bienniality_pct",
            "expected_by_chance",
            "detrended_intensity",
            "p_value",
            "verdict",
        ),
        "--yields 12,30,8,41,10",
    ),
    Reckoner(
        "branch-count",
        "Fruit on a whole tree from branches walked by chance, with its error.",
        (
            Option(
                "path",
                _path,
                "text",
                "a walk as its chance and the fruit at its end, 0.25:13; repeat it",
                multiple=True,
            ),
        ),
        _branch_count,
        ("estimate", "standard_error", "low", "high", "paths_for_10_pct"),
        "--path 0.42:21 --path 0.25:13 --path 0.33:19",
    ),
    Reckoner(
        "crop-target",
        "How many fruit a tree should keep, by every rule that applies; the tightest holds.",
        (
            Option("kind", _kind, "kind", "kind of tree"),
            Option(
                "age",
                _age,
                "yr",
                'time since planting or grafting, such as "5 yr"; a bare number is years',
            ),
            Option(
                "girth",
                measured("girth"),
                "m",
                "girth of the trunk 15 cm above the union",
                required=False,
            ),
            Option("height", measured("height"), "m", "height of the tree", required=False),
            Option(
                "spread",
                measured("spread"),
                "m",
                "spread; give it twice for along and across",
                required=False,
                multiple=True,
            ),
            Option("skirt", measured("skirt"), "m", "height of the lowest foliage", required=False),
            Option("pot", measured("pot"), "L", "volume of its pot", required=False),
            Option(
                "limb",
                measures("branch"),
                "m",
                "girths of the main limbs, commas between",
                required=False,
            ),
        ),
        _crop_target,
        ("fruit_low", "fruit_best", "fruit_high", "mass_kg", "rule", "rules"),
        '--kind satsuma --age "8 yr" --girth "31 cm" --height 2.4 --spread 2.6 --spread 2.4',
    ),
    Reckoner(
        "limb",
        "Whether a limb carries a load of fruit.",
        (
            Option("diameter", measured("thickness"), "m", "diameter of the limb at its base"),
            Option(
                "load",
                _load,
                "kg",
                'mass of fruit on it, such as "8 kg"; a bare number is kilograms',
            ),
            Option(
                "distance",
                measured("reach"),
                "m",
                "level distance from its base to the load; half the limb where the load is spread",
            ),
        ),
        _limb,
        ("stress_mpa", "working_stress_mpa", "safe_load_kg", "failure_chance_pct", "verdict"),
        '--diameter "3 cm" --load "10 kg" --distance "1 m"',
    ),
)
