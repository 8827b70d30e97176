"""A tree's crop: rules side by side, what to take off, what it buys, its limbs, and how it bears."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bearwell.api import POLICIES, CropYear, Future, Side
from bearwell.faces.language import N_, _, _n, say
from bearwell.faces.twins import because_twin
from bearwell.faces.web.drawing.bearing import Fan, bearing_drawing
from bearwell.faces.web.drawing.ledger import range_bar
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, convert
from bearwell.reasons import Because

POLICY_WORDS = {
    "keep all": N_("Keep all that sets"),
    "plan": N_("Thin each year to an even crop"),
    "strip": N_("Strip a heavy year, keep the next"),
}
STATE_WORDS = {
    "on": N_("an on year"),
    "off": N_("an off year"),
    "even": N_("an even year"),
}
BASIS_WORDS = {
    "count": N_("by your count if all is kept"),
    "thinned": N_("by your count, thinned as you wrote down"),
    "to be thinned": N_("by your count if it is thinned as is advised"),
    "last crop": N_("by its last crops if all is kept"),
    "last crops": N_("by the mean of its last crops if all is kept"),
    "kind": N_("by its kind alone if all is kept"),
}
# How the years swing, by the beginning of the verdict.
_VERDICTS = {
    "alternates": N_("It alternates: {orders} of 100 orders swing as much."),
    "may alternate": N_("It may alternate: {orders} of 100 orders swing as much."),
    "swings": N_(
        "It swings, but the record is too short to be sure: {orders} of 100 orders swing as much."
    ),
    "": N_("It shows no alternation beyond chance: {orders} of 100 orders swing as much."),
}


SCALES = 4  # times the high end of the tightest rule that the bars of the rules reach


def _figures(quantity: Quantity, places: int = 0) -> dict[str, float | None]:
    return {
        name: None if value is None else round(value, places) if places else round(value)
        for name, value in (
            ("value", quantity.value),
            ("low", quantity.low),
            ("high", quantity.high),
        )
    }


def crop_twin(crop: CropYear, words: Words) -> dict[str, Any]:
    """The page as JSON."""
    plan, outlook, tree = crop.plan, crop.outlook, crop.tree
    gain, estimate, swing = plan.gain, plan.estimate, outlook.swing
    return {
        "tree": tree.id,
        "name": tree.called,
        "today": plan.view.today.isoformat(),
        "bloom": plan.bloom.date.isoformat(),
        "crop_year": outlook.year,
        "old_enough": plan.bears,
        "counted": None
        if estimate is None
        else {
            "fruit": round(estimate.fruit),
            "low": round(estimate.low),
            "high": round(estimate.high),
            "standard_error": round(estimate.error, 1),
            "way": estimate.way,
            "more_for_10_pct": estimate.more,
            "halves": dict(estimate.halves),
        },
        "rules": [
            {
                "rule": one.rule,
                "fruit": _figures(one.fruit),
                "holds": one.rule == plan.keep.rule,
                "moved": one.moved is not None,
                "because": [because_twin(link, words) for link in one.because],
            }
            for one in plan.targets
        ],
        "no_rule": [because_twin(link, words) for link in plan.no_rule],
        "phase": plan.phase,
        "taking_off": None
        if not plan.comes_off
        else {
            "earliest": plan.window.earliest.isoformat(),
            "best": plan.window.best.isoformat(),
            "latest": plan.window.latest.isoformat(),
            "closed": plan.closed,
        },
        "to_pick": {
            "crop_g": _figures(crop.picking.crop),
            "year_g": _figures(crop.picking.year),
            "basis": crop.picking.basis,
            "because": [because_twin(link, words) for link in crop.picking.because],
        },
        "next": _next_twin(crop),
        "keep": 0 if not plan.bears else round(plan.keep.fruit.value),
        "remove": max(round(plan.excess), 0) if plan.bears else _all(crop),
        "passes": [
            {
                "pass": one.number,
                "earliest": one.window.earliest.isoformat(),
                "best": one.window.best.isoformat(),
                "latest": one.window.latest.isoformat(),
                "remove": one.remove,
                "leave": one.leave,
            }
            for one in plan.passes
        ],
        "limbs": [
            {
                "limb": one.number,
                "share": round(one.share, 3),
                "keep": one.keep,
                "remove": one.remove,
            }
            for one in plan.by_limb
        ],
        "buys": None
        if gain is None
        else {
            name: _side_twin(side)
            for name, side in (("kept", gain.kept), ("thinned", gain.thinned))
        },
        "bearing": {
            "even_crop_g": round(outlook.even_in(outlook.year)),
            "basis": outlook.basis,
            "state": outlook.next_state,
            "missing_years": list(outlook.missing),
            "halves": {
                side: {"year": year, "state": state}
                for side, (year, state) in outlook.halves().items()
            },
            "swing_back": round(outlook.strength.strength, 3),
            "swing": round(outlook.habit.swing, 3),
            "swing_back_of_kind": round(outlook.prior, 3),
            "own_weight": round(outlook.strength.weight, 3),
            "expected_g": _figures(crop.picking.year),
            "intensity": None if swing is None else round(swing.intensity, 4),
            "detrended_intensity": None if swing is None else round(swing.detrended, 4),
            "expected_by_chance": None if swing is None else round(swing.by_chance, 4),
            "p_value": None if swing is None else round(swing.p_value, 4),
            "verdict": None if swing is None else say(swing.verdict),
            "year_after_g": {
                name: _figures(one.mass(outlook.even_in(outlook.year + 1)))
                for name, one in crop.after.items()
            },
            "because": [because_twin(link, words) for link in outlook.because],
        },
        "years_ahead": {
            "years": list(crop.ahead.years),
            "even_crop_g": [round(float(one)) for one in crop.ahead.even],
            "policies": {
                name: _policy_twin(future) for name, future in crop.ahead.policies.items()
            },
        },
    }


def _next_twin(crop: CropYear) -> dict[str, Any] | None:
    """The crop of the bloom that follows."""
    following = crop.next
    if following is None:
        return None
    return {
        "bloom": following.bloom.date.isoformat(),
        "drop_ends": following.drop.date.isoformat(),
        "keep": round(following.keep.fruit.value),
        "old_enough": following.bears,
    }


def _side_twin(side: Side) -> dict[str, Any]:
    """The crop with all of it kept, or thinned."""
    return {
        "fruit": round(side.fruit),
        "fruit_g": _figures(side.size, 1),
        "fruit_width_m": None if side.width is None else _figures(side.width, 4),
        "crop_g": _figures(side.crop),
        "ripe_from": side.ripe.isoformat(),
        "a_limb_breaks": round(side.breaks, 4),
        "limbs": [
            {
                "limb": one.number,
                "diameter_m": round(one.diameter, 4),
                "load_g": round(one.load),
                "stress_mpa": round(one.stress, 2),
                "chance": round(one.chance, 4),
                "prop": one.prop,
            }
            for one in side.limbs
        ],
    }


def _policy_twin(future: Future) -> dict[str, Any]:
    """The years ahead under one way to treat the tree."""
    return {
        "quantiles_10_25_50_75_90_g": [
            [round(float(one)) for one in row] for row in future.quantiles
        ],
        "mean_g": [round(float(one)) for one in future.mean],
        "total_g": _figures(future.total),
        "intensity": round(future.intensity, 4),
        "nearly_empty_years": round(future.empty, 4),
    }


def _all(crop: CropYear) -> int:
    return 0 if crop.plan.estimate is None else round(crop.plan.estimate.fruit)


def told(crop: CropYear, words: Words) -> list[str]:
    """How the tree bears, in sentences."""
    outlook = crop.outlook
    sentences = [*_last_crop(outlook.last, words), _swing(crop)]
    if outlook.missing:
        sentences.append(
            _(
                "Not written down: {years}. The pairs of years round a gap are left out, and the index stands on the "
                "last unbroken run.",
                years=", ".join(str(year) for year in outlook.missing),
            )
        )
    for side, (year, state) in outlook.halves().items():
        sentences.append(
            _(
                "Its {side} half had {state} in {year}.",
                side=say(side),
                state=_(STATE_WORDS[state]),
                year=year,
            )
        )
    if crop.plan.bears:
        sentences.append(
            _(
                "For {year} an even crop is put at {even}, and {crop} is to be expected {basis}: {state}.",
                year=outlook.year,
                even=words.quantity(Quantity(outlook.even_in(outlook.year), "g")),
                crop=words.quantity(crop.picking.year, with_range=True),
                basis=_(BASIS_WORDS[crop.picking.basis]),
                state=_(STATE_WORDS[outlook.next_state]),
            )
        )
    return sentences


def _last_crop(last: tuple[int, float, str] | None, words: Words) -> list[str]:
    """How the last year was, against an even crop."""
    if last is None:
        return []
    year, load, state = last
    said = {"year": year, "state": _(STATE_WORDS[state])}
    if load >= 1:
        times = words.number(load, 1)
        return [
            _("{year} was {state}: {times} times an even crop, by number.", times=times, **said)
        ]
    share = f"{100 * load:.0f}"
    return [_("{year} was {state}: {share} % of an even crop, by number.", share=share, **said)]


def _swing(crop: CropYear) -> str:
    """How its years swing, and whether chance would do as much."""
    swing, count = crop.outlook.swing, len(crop.tree.harvests)
    if swing is None:
        if not count:
            return _(
                "No crop is written down; it takes three years in a row to tell a swing from chance."
            )
        return _n(
            "One crop is written down; it takes three years in a row to tell a swing from chance.",
            "{number} crops are written down; it takes three years in a row to tell a swing from chance.",
            count,
        )
    figures = _(
        "Its years swing by {swing} % ({detrended} % about their trend); the same crops in any order would by "
        "{chance} %.",
        swing=f"{100 * swing.intensity:.0f}",
        detrended=f"{100 * swing.detrended:.0f}",
        chance=f"{100 * swing.by_chance:.0f}",
    )
    verdict = next(text for start, text in _VERDICTS.items() if swing.verdict.startswith(start))
    return f"{figures} {_(verdict, orders=f'{100 * swing.p_value:.0f}')}"


def shown(crop: CropYear, words: Words) -> dict[str, Any]:
    """What the template needs."""
    plan, outlook = crop.plan, crop.outlook
    top = _scale([one.fruit for one in plan.targets])
    unit = "lb" if words.units == "us" else "kg"

    def people(grams: float) -> float:
        return convert(float(grams), "g", unit)

    fans = [
        Fan(
            name,
            _(POLICY_WORDS[name]),
            {
                year: [people(one) for one in crop.ahead.policies[name].quantiles[:, at]]
                for at, year in enumerate(crop.ahead.years)
            },
        )
        for name in POLICIES
    ]
    past = {
        one.year: people(one.mass) for one in sorted(crop.tree.harvests, key=lambda one: one.year)
    }
    even = {
        year: people(grams) for year, grams in zip(crop.ahead.years, crop.ahead.even, strict=True)
    }
    drawings = [
        bearing_drawing(
            past, fans, even, narrow=thin, unit=unit, name=crop.tree.called,
            described=_(
                "Past crops as bars; for each way to treat the tree the middle of the years ahead as a line with "
                "the spans that hold half and eight tenths of the futures. The table below says the same."
            ),
        )
        for thin in (False, True)
    ]  # fmt: skip
    return {
        "crop": crop, "plan": plan, "picking": crop.picking, "outlook": outlook, "told": told(crop, words),
        "bars": {
            one.rule: range_bar(one.fruit.low or 0.0, one.fruit.value, one.fruit.high or 0.0, top)
            for one in plan.targets
        },
        "beyond": {one.rule for one in plan.targets if one.fruit.value > top},
        "drawing": readable(drawings, readings(crop, words)), "policy_words": POLICY_WORDS, "policies": POLICIES,
        "Quantity": Quantity, "why_bearing": _why_bearing(crop),
        "after": {
            name: one.mass(outlook.even_in(outlook.year + 1)) for name, one in crop.after.items()
        },
        "past": past,
    }  # fmt: skip


def readings(crop: CropYear, words: Words) -> Readings:
    """What each year of the drawing says."""
    picked = {one.year: words.quantity(Quantity(one.mass, "g")) for one in crop.tree.harvests}
    ahead = list(crop.ahead.years)
    years = range(min([*picked, *ahead]), max([*picked, *ahead]) + 1)
    found = Readings(
        _(
            "Point at a year, touch it, or go through the years with the arrow keys, to read its crops."
        ),
        years.index(ahead[0]),
    )
    for year in years:
        if year in picked:
            found.add(_("{year}: {mass} picked."), year=str(year), mass=picked[year])
        if year not in ahead:
            if year not in picked:
                found.add(_("{year}: nothing is written down."), year=str(year))
            continue
        place = ahead.index(year)
        each = "; ".join(
            _(
                "{policy}: {middle} ({low} to {high})",
                policy=_(POLICY_WORDS[name]),
                **_span(crop.ahead.policies[name].quantiles[:, place], words),
            )
            for name in POLICIES
        )
        even = words.quantity(Quantity(float(crop.ahead.even[place]), "g"))
        found.add(
            _("{year}. {each}. An even crop is {even}."), year=str(year), each=each, even=even
        )
    return found


def _span(quantiles: NDArray[np.float64], words: Words) -> dict[str, str]:
    """The middle of what may come and the ends that hold eight tenths of it."""
    low, _, middle, _, high = (words.quantity(Quantity(float(one), "g")) for one in quantiles)
    return {"low": low, "middle": middle, "high": high}


def _scale(rules: list[Quantity]) -> float:
    """The end of the bars: room for every rule, but not so much that the one that holds cannot be read."""
    highs = [one.high or one.value for one in rules]
    least = next((high for high in highs if high > 0), 1.0)
    return min(max(highs), SCALES * least) or 1.0


def _why_bearing(crop: CropYear) -> tuple[Because, ...]:
    return crop.outlook.because
