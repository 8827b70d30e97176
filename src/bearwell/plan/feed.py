"""Feeding advice: each round put on an open day and turned into so much of a bag."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from math import pi

from bearwell.garden import Done, NoFeeding
from bearwell.plan.advice import Advice, Window
from bearwell.plan.rounds import Need, Round, feeding_rounds, yearly_need
from bearwell.plan.shelf import Dose, choose_dose, closing_rule, cups_in_words
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.science.nutrients import nutrient_in_product

REACH = timedelta(days=42)


@dataclass(frozen=True)
class Placed:
    """A round where local rules let it stand: moved, or held back, and why."""

    round: Round
    window: Window
    rule: NoFeeding | None = None
    blocked: bool = False


def plan_feed(view: View) -> list[Advice]:
    """Every feeding round from a little before today to a year ahead."""
    need = yearly_need(view)
    rounds, why_rounds = feeding_rounds(view, need)
    settled = view.tree.planted + timedelta(days=round(view.constant("feeding settles in").number))
    taken: set[int] = set()
    advice: list[Advice] = []
    for placed in _place(view, rounds):
        if placed.window.latest < settled or _given(view, placed.window, taken) is not None:
            continue
        if placed.blocked:
            advice.append(_held_back(view, placed, (*need.because, *why_rounds)))
        else:
            advice.append(_round_advice(view, need, placed, why_rounds))
    return advice


# ---------------------------------------------------------------- where rounds may stand


def _place(view: View, rounds: list[Round]) -> list[Placed]:
    """Rounds on open days.

    In the ground a closed round moves to the nearest open days; a pot's month is held back and its share
    goes to the open months of its year, up to half as much again.
    """
    closed = {one: closing_rule(view, one.window.best) for one in rounds}
    placed: list[Placed] = []
    for one in rounds:
        rule = closed[one]
        if rule is None:
            placed.append(Placed(one, one.window))
        elif view.tree.pot is not None:
            placed.append(Placed(one, one.window, rule, blocked=True))
        else:
            window = _open_window(one.window, rule)
            blocked = window is None
            placed.append(Placed(one, window or one.window, rule, blocked))
    if view.tree.pot is None or not any(one.blocked for one in placed):
        return placed
    year = [one for one in placed if one.round.window.best > view.today][: placed[0].round.of]
    still_open = sum(not one.blocked for one in year)
    more = min(1.5, len(year) / still_open) if still_open else 1.0
    return [
        one if one.blocked else replace(one, round=replace(one.round, share=one.round.share * more))
        for one in placed
    ]


def _open_window(window: Window, rule: NoFeeding) -> Window | None:
    """The nearest open days within reach of a round, before the rule starts or after it ends."""
    before, after = window.best, window.best
    while rule.covers(before) and window.best - before <= REACH:
        before -= timedelta(days=1)
    after = rule.day_after(after)
    choices = []
    if not rule.covers(before):
        early = Window(before - timedelta(days=14), before - timedelta(days=3), before)
        choices.append((window.best - before, early))
    if after - window.best <= REACH:
        late = Window(after, after + timedelta(days=3), after + timedelta(days=21))
        choices.append((after - window.best, late))
    return min(choices, key=lambda choice: choice[0])[1] if choices else None


def _given(view: View, window: Window, taken: set[int]) -> Done | None:
    """The record of a round, if it was given; each record counts once."""
    slack = timedelta(days=10)
    for index, work in enumerate(view.tree.done):
        near = window.earliest - slack <= work.date <= window.latest + slack
        if work.job == "feed" and index not in taken and near and work.date <= view.today:
            taken.add(index)
            return work
    return None


# ---------------------------------------------------------------- how much


def fed_ring(view: View) -> tuple[float, float, float]:
    """Inner and outer radius of the ring that is fed [m] and its area [m2]."""
    outer = sum(view.size.spread) / 4 + view.constant("beyond the drip line").number
    inner = min(view.constant("off the trunk").number, outer / 2)
    return inner, outer, pi * (outer**2 - inner**2)


def _round_share(view: View, need: Need, one: Round) -> tuple[Quantity, tuple[Because, ...]]:
    """Nitrogen of one round [g]: its share of the year, or less if the ground takes less at once."""
    asked = [total * one.share for total in (need.nitrogen, need.low, need.high)]
    links = [
        computed(
            "Round {number} of {of}: its share of the year, {share} of N",
            asked[0],
            "g",
            number=one.number,
            of=one.of,
            share=amount(asked[0], "g"),
        )
    ]
    if view.tree.pot is None:
        cap = view.constant("most nitrogen on the ground")
        area = fed_ring(view)[2]
        most = cap.number * area
        if asked[0] > most:
            links.append(
                from_fact(
                    "The fed ground of {area} takes {most} of N at once ({value}); the age rule was made "
                    "for grown trees and asks more than this canopy's ground can use, so the plan keeps "
                    "to the ground",
                    cap,
                    area=amount(area, "m2"),
                    most=amount(most, "g"),
                )
            )
        asked = [min(value, most) for value in asked]
    return amount(asked[0], "g", min(asked), max(asked)), tuple(links)


# ---------------------------------------------------------------- what to say


def _rule_link(rule: NoFeeding) -> Because:
    return recorded(
        "Your garden file forbids {nutrients} from {start} to {end}: {reason}",
        nutrients=", ".join(rule.nutrients),
        start=rule.start,
        end=rule.end,
        reason=rule.reason,
    )


def _id(view: View, placed: Placed) -> str:
    return view.advice_id("feed", f"round-{placed.round.number}", placed.round.window.best)


def _round_advice(
    view: View, need: Need, placed: Placed, why_rounds: tuple[Because, ...]
) -> Advice:
    one = placed.round
    share, why_share = _round_share(view, need, one)
    links: list[Because] = [*need.because, *why_rounds, *why_share]
    remarks: list[Phrase] = []
    if placed.rule is not None:
        remarks.append(
            phrase(
                "Moved from {day} because of the {reason}",
                day=one.window.best,
                reason=placed.rule.reason,
            )
        )
        links.append(_rule_link(placed.rule))
    last = view.tree.last_done("feed", view.today)
    if last is not None:
        links.append(recorded("Last fed on {day}", day=last.date))
    dose = choose_dose(view, share.value, placed.window.best)
    if dose is None:
        return _unfed(view, placed, share, tuple(links))
    supplied = [nutrient_in_product(dose.mass, part / 100) for part in dose.product.grade]
    links += _dose_links(view, dose, supplied)
    if dose.product.on_hand is not None and dose.product.on_hand < dose.mass:
        remarks.append(
            phrase(
                "Only {left} of {product} is on the shelf",
                left=amount(dose.product.on_hand, "g"),
                product=dose.product.name,
            )
        )
    low, high = (dose.mass * (end or 0.0) / share.value for end in (share.low, share.high))
    cases = ["pot" if view.tree.pot else "ground"]
    if dose.product.release == "quick organic meal":
        cases.append("meal")
    return Advice(
        id=_id(view, placed),
        tree=view.tree.id,
        kind="feed",
        window=placed.window,
        headline=phrase("Feed: round {number} of {of}", number=one.number, of=one.of),
        quantity=amount(
            round(dose.mass, 1), "g", round(min(low, dose.mass), 1), round(max(high, dose.mass), 1)
        ),
        display=_display(dose),
        steps=_how(view),
        cautions=view.cautions("feed", *cases),
        minutes=6 if view.tree.pot else 10,
        because=tuple(links),
        changes=phrase(
            "A leaf or soil test, this year's shoot growth, or rain that washes it through"
        ),
        details={
            "product": dose.product.id,
            "label": dose.product.label,
            "cups": dose.cups,
            "n_g": round(supplied[0], 2),
            "p2o5_g": round(supplied[1], 2),
            "k2o_g": round(supplied[2], 2),
            "rule_n_a_year_g": round(need.nitrogen, 1),
            "plan_n_a_year_g": round(share.value / one.share, 1),
            "round": one.number,
            "rounds": one.of,
        },
        remarks=tuple(remarks),
    )


def _dose_links(view: View, dose: Dose, supplied: list[float]) -> list[Because]:
    release = view.book.item("releases", dose.product.release)["first_season"]
    return [
        computed(
            "{mass} of {label} supplies {n} of N, {p} of P2O5 and {k} of K2O (label arithmetic)",
            dose.mass,
            "g",
            mass=amount(dose.mass, "g"),
            label=dose.product.label,
            n=amount(supplied[0], "g"),
            p=amount(supplied[1], "g"),
            k=amount(supplied[2], "g"),
        ),
        from_fact(
            "Of that nitrogen about {value} is set free within a warm season ({release})",
            release,
            release=dose.product.release,
        ),
    ]


def _display(dose: Dose) -> Phrase:
    mass, product = amount(dose.mass, "g"), dose.product.name
    if dose.cups is None:
        return phrase("{mass} of {product}", mass=mass, product=product)
    text = "{mass} ({cups} level cup) of {product}"
    if dose.cups > 1:
        text = "{mass} ({cups} level cups) of {product}"
    return phrase(text, mass=mass, product=product, cups=cups_in_words(dose.cups))


def _held_back(view: View, placed: Placed, links: tuple[Because, ...]) -> Advice:
    rule, one = placed.rule, placed.round
    after = one.window.best if rule is None else rule.day_after(one.window.best)
    reason = "" if rule is None else rule.reason
    return Advice(
        id=_id(view, placed),
        tree=view.tree.id,
        kind="feed",
        window=placed.window,
        headline=phrase("No feeding: {reason}", reason=reason),
        steps=(
            phrase("This round is left out; feeding is open again from {day}.", day=after),
            phrase("A pot's open months carry its share, up to half as much again.")
            if view.tree.pot
            else phrase("Water evenly meanwhile, so that roots can use what is there."),
        ),
        minutes=0,
        because=(*links, *([_rule_link(rule)] if rule else [])),
        details={
            "rule": reason,
            "open_from": after.isoformat(),
            "round": one.number,
            "rounds": one.of,
        },
        changes=phrase("A product without what the rule forbids, or a permit"),
        standing="blocked",
    )


def _unfed(view: View, placed: Placed, share: Quantity, links: tuple[Because, ...]) -> Advice:
    one = placed.round
    return Advice(
        id=_id(view, placed),
        tree=view.tree.id,
        kind="feed",
        window=placed.window,
        headline=phrase(
            "Feed: round {number} of {of}, but nothing on the shelf suits",
            number=one.number,
            of=one.of,
        ),
        quantity=share,
        display=phrase("{n} of nitrogen", n=share),
        steps=(
            phrase(
                "Add a product with nitrogen under [[product]] and the plan turns this into grams."
            ),
        ),
        cautions=view.cautions("feed"),
        because=links,
        details={"n_g": round(share.value, 2), "round": one.number, "rounds": one.of},
    )


def _how(view: View) -> tuple[Phrase, ...]:
    if view.tree.pot is not None:
        return (
            phrase("Scatter it over the medium, off the stem and away from the rim."),
            phrase("Water until a little runs out below; empty the saucer."),
        )
    inner, outer, ring = fed_ring(view)
    return (
        phrase(
            "Spread it evenly on a ring from {inner} off the trunk to {outer} out, past the drip line: "
            "{area}.",
            inner=amount(inner, "m"),
            outer=amount(outer, "m"),
            area=amount(ring, "m2"),
        ),
        phrase(
            "Rake it in lightly without cutting roots, and water it in unless rain is on the way."
        ),
        phrase("Not on dry or frozen ground, nor before heavy rain."),
    )
