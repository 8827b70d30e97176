"""Feeding advice: each round turned into so much of a bag, and what forbids it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import pi

from bearwell.garden import Done, NoFeeding, Product
from bearwell.plan.advice import Advice, Window
from bearwell.plan.rounds import Need, Round, feeding_rounds, yearly_need
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import (
    Because,
    Phrase,
    amount,
    computed,
    from_fact,
    phrase,
    recorded,
)
from bearwell.science.nutrients import nutrient_in_product, product_mass_for_nutrient


@dataclass(frozen=True)
class Dose:
    """So much of one product."""

    product: Product
    mass: float
    cups: float | None


def plan_feed(view: View) -> list[Advice]:
    """Every feeding round from a little before today to a year ahead."""
    need = yearly_need(view)
    rounds, why_rounds = feeding_rounds(view, need)
    rounds = [one for one in rounds if one.window.latest >= view.tree.planted]
    settled = view.tree.planted + timedelta(days=round(view.constant("feeding settles in").number))
    taken: set[int] = set()
    advice: list[Advice] = []
    for one in rounds:
        done = _match(view, one, taken)
        if done is not None or one.window.latest < settled:
            continue
        advice += _round_advice(view, need, one, why_rounds)
    return advice


def _match(view: View, one: Round, taken: set[int]) -> Done | None:
    """The record of this round, if it was given; each record counts once."""
    for index, work in enumerate(view.tree.done):
        near = (
            one.window.earliest - timedelta(days=10)
            <= work.date
            <= one.window.latest + timedelta(days=10)
        )
        if work.job == "feed" and index not in taken and near and work.date <= view.today:
            taken.add(index)
            return work
    return None


def _round_advice(
    view: View, need: Need, one: Round, why_rounds: tuple[Because, ...]
) -> list[Advice]:
    share, why_share = _round_share(view, need, one)
    nitrogen = share.value
    links: list[Because] = [*need.because, *why_rounds, *why_share]
    open_shelf = view.garden.products
    rule = _blocking(view, one.window.best, open_shelf)
    window, remarks = one.window, []
    if rule is not None:
        moved = _open_window(view, one.window, rule)
        if moved is None:
            return [_blocked(view, one, rule, links)]
        window = moved
        remarks.append(
            phrase(
                "Moved from {day} because of the {reason} ({start} to {end})",
                day=one.window.best,
                reason=rule.reason,
                start=rule.start,
                end=rule.end,
            )
        )
        links.append(
            recorded(
                "Your garden file forbids {nutrients} from {start} to {end}: {reason}",
                nutrients=", ".join(rule.nutrients),
                start=rule.start,
                end=rule.end,
                reason=rule.reason,
            )
        )
    dose = choose_product(view, nitrogen, window.best)
    last = view.tree.last_done("feed", view.today)
    if last is not None:
        links.append(recorded("Last fed on {day}", day=last.date))
    if dose is None:
        return [_unfed(view, one, window, share, tuple(links))]
    n, p2o5, k2o = (nutrient_in_product(dose.mass, part / 100) for part in dose.product.grade)
    links.append(
        computed(
            "{mass} of {label} supplies {n} of N, {p} of P2O5 and {k} of K2O (label arithmetic)",
            dose.mass,
            "g",
            mass=amount(dose.mass, "g"),
            label=dose.product.label,
            n=amount(n, "g"),
            p=amount(p2o5, "g"),
            k=amount(k2o, "g"),
        )
    )
    release = view.book.item("releases", dose.product.release)["first_season"]
    links.append(
        from_fact(
            "Of that nitrogen about {value} is set free within a warm season ({release})",
            release,
            release=dose.product.release,
        )
    )
    low, high = (
        dose.mass * (end or 0.0) / nitrogen if nitrogen else dose.mass
        for end in (share.low, share.high)
    )
    if dose.product.on_hand is not None and dose.product.on_hand < dose.mass:
        remarks.append(
            phrase(
                "Only {left} of {product} is on the shelf",
                left=amount(dose.product.on_hand, "g"),
                product=dose.product.name,
            )
        )
    shown = phrase("{mass} of {product}", mass=amount(dose.mass, "g"), product=dose.product.name)
    if dose.cups is not None:
        shown = phrase(
            "{mass} ({cups} level cups) of {product}"
            if dose.cups != 1
            else "{mass} (1 level cup) of {product}",
            mass=amount(dose.mass, "g"),
            cups=_cups(dose.cups),
            product=dose.product.name,
        )
    return [
        Advice(
            id=view.advice_id("feed", f"round-{one.number}", one.window.best),
            tree=view.tree.id,
            kind="feed",
            window=window,
            headline=phrase("Feed: round {number} of {of}", number=one.number, of=one.of),
            quantity=amount(round(dose.mass, 1), "g", round(low, 1), round(high, 1)),
            display=shown,
            steps=_how(view),
            cautions=view.cautions("feed", "pot" if view.tree.pot else "ground"),
            minutes=6 if view.tree.pot else 10,
            because=tuple(links),
            changes=phrase(
                "A leaf or soil test, this year's shoot growth, or rain that washes it through"
            ),
            details={
                "product": dose.product.id,
                "label": dose.product.label,
                "cups": dose.cups,
                "n_g": round(n, 2),
                "p2o5_g": round(p2o5, 2),
                "k2o_g": round(k2o, 2),
                "n_a_year_g": round(need.nitrogen, 1),
                "round": one.number,
                "rounds": one.of,
            },
            remarks=tuple(remarks),
        )
    ]


def _round_share(view: View, need: Need, one: Round) -> tuple[Quantity, tuple[Because, ...]]:
    """Nitrogen of one round [g]: its share of the year, or less if the ground takes less at once."""
    asked = [total * one.share for total in (need.nitrogen, need.low, need.high)]
    links = [
        computed(
            "Round {number} of {of}: an even share, {share} of N",
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
                    "The fed ground of {area} takes {most} of N at once ({value}); the age rule was made for grown "
                    "trees and asks more than this canopy's ground can use, so the plan keeps to the ground",
                    cap,
                    area=amount(area, "m2"),
                    most=amount(most, "g"),
                )
            )
        asked = [min(value, most) for value in asked]
    return amount(*_ordered(asked)), tuple(links)


def _ordered(asked: list[float]) -> tuple[float, str, float, float]:
    return asked[0], "g", min(asked), max(asked)


def fed_ring(view: View) -> tuple[float, float, float]:
    """Inner and outer radius of the ring that is fed [m] and its area [m2]."""
    outer = sum(view.size.spread) / 4 + view.constant("beyond the drip line").number
    inner = min(view.constant("off the trunk").number, outer / 2)
    return inner, outer, pi * (outer**2 - inner**2)


def _blocking(view: View, day: date, products: tuple[Product, ...]) -> NoFeeding | None:
    """The rule that leaves no usable product on this day, if there is one."""
    for rule in view.garden.no_feeding:
        if rule.covers(day) and (
            not products
            or all(_forbidden(rule, product) for product in products if product.grade[0] > 0)
        ):
            return rule
    return None


def _forbidden(rule: NoFeeding, product: Product) -> bool:
    holds = dict(zip("NPK", product.grade, strict=True))
    return any(holds[nutrient] > 0 for nutrient in rule.nutrients)


def _open_window(view: View, window: Window, rule: NoFeeding) -> Window | None:
    """The nearest open days within six weeks of the round, before the rule starts or after it ends."""
    before, after = window.best, window.best
    while rule.covers(before):
        before -= timedelta(days=1)
    after = rule.day_after(after)
    early, late = (window.best - before).days, (after - window.best).days
    reach = 42
    if min(early, late) > reach:
        return None
    if early <= late and before >= view.today - timedelta(days=7):
        return Window(before - timedelta(days=14), before - timedelta(days=3), before)
    if late <= reach:
        return Window(after, after + timedelta(days=3), after + timedelta(days=21))
    return Window(before - timedelta(days=14), before - timedelta(days=3), before)


def _blocked(view: View, one: Round, rule: NoFeeding, links: list[Because]) -> Advice:
    after = rule.day_after(one.window.best)
    return Advice(
        id=view.advice_id("feed", f"round-{one.number}", one.window.best),
        tree=view.tree.id,
        kind="feed",
        window=one.window,
        headline=phrase("No feeding: {reason}", reason=rule.reason),
        steps=(
            phrase("This round is left out; feeding is open again from {day}.", day=after),
            phrase(
                "Look at the leaves meanwhile, and water evenly so that roots can use what is there."
            ),
        ),
        minutes=0,
        because=(
            *links,
            recorded(
                "Your garden file forbids {nutrients} from {start} to {end}: {reason}",
                nutrients=", ".join(rule.nutrients),
                start=rule.start,
                end=rule.end,
                reason=rule.reason,
            ),
        ),
        details={
            "rule": rule.reason,
            "open_from": after.isoformat(),
            "round": one.number,
            "rounds": one.of,
        },
        changes=phrase(
            "A product without {nutrients}, or a permit", nutrients=" and ".join(rule.nutrients)
        ),
        standing="blocked",
    )


def _unfed(
    view: View, one: Round, window: Window, share: Quantity, links: tuple[Because, ...]
) -> Advice:
    return Advice(
        id=view.advice_id("feed", f"round-{one.number}", one.window.best),
        tree=view.tree.id,
        kind="feed",
        window=window,
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
        details={"n_g": round(share.value, 2)},
    )


def choose_product(view: View, nitrogen: float, day: date) -> Dose | None:
    """The bag whose N-P-K comes nearest to what this kind wants, and how much of it.

    Products a rule forbids on the day, or that hold no nitrogen, are left out; a bag that is too
    empty for the dose comes after one that is not.
    """
    species = view.species
    wanted = (species["feeding_p2o5_per_n"].number, species["feeding_k2o_per_n"].number)
    best: tuple[tuple[float, ...], Dose] | None = None
    for product in view.garden.products:
        n, p, k = product.grade
        if n <= 0 or any(
            rule.covers(day) and _forbidden(rule, product) for rule in view.garden.no_feeding
        ):
            continue
        if species.belongs_to("blueberry") and product.release == "composted manure":
            continue
        mass = product_mass_for_nutrient(nitrogen, n / 100)
        mass, cups = _measurable(mass, product.cup_mass)
        short = product.on_hand is not None and product.on_hand < mass
        score = (
            float(short),
            abs(p / n - wanted[0]) + abs(k / n - wanted[1]),
            product.price or 0.0,
        )
        if best is None or score < best[0]:
            best = score, Dose(product, mass, cups)
    return None if best is None else best[1]


def _measurable(mass: float, cup: float | None) -> tuple[float, float | None]:
    """A dose a grower can measure out: quarter cups when a cup was weighed, else round grams."""
    if cup:
        cups = max(0.25, round(4 * mass / cup) / 4)
        return cups * cup, cups
    step = 5 if mass < 200 else 10 if mass < 1000 else 50
    return max(float(step), round(mass / step) * step), None


def _cups(cups: float) -> str:
    whole, part = divmod(round(cups * 4), 4)
    fraction = {0: "", 1: "¼", 2: "½", 3: "¾"}[part]
    return f"{whole or ''}{fraction}" or "0"


def _how(view: View) -> tuple[Phrase, ...]:
    if view.tree.pot is not None:
        return (
            phrase("Scatter it over the medium, off the stem and away from the rim."),
            phrase("Water until a little runs out below; empty the saucer."),
        )
    inner, outer, ring = fed_ring(view)
    return (
        phrase(
            "Spread it evenly on a ring from {inner} off the trunk to {outer} out, past the drip line: {area}.",
            inner=amount(inner, "m"),
            outer=amount(outer, "m"),
            area=amount(ring, "m2"),
        ),
        phrase(
            "Rake it in lightly without cutting roots, and water it in unless rain is on the way."
        ),
        phrase("Not on dry or frozen ground, nor before heavy rain."),
    )
