"""Feeding advice: each round of the schedule in words, with its reasons and what stands against it."""

from __future__ import annotations

from bearwell.garden import NoFeeding, Product
from bearwell.garden.values import grade_of
from bearwell.plan.advice import Advice
from bearwell.plan.area import area_links, band_for
from bearwell.plan.blend import explain
from bearwell.plan.rounds import Round
from bearwell.plan.schedule import Placed, TreeSchedule
from bearwell.plan.shelf import TreeShelf, in_measures, shelf_of
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import (
    Because,
    Phrase,
    amount,
    computed,
    from_fact,
    in_a_row,
    phrase,
    recorded,
)
from bearwell.said import listed, said


def feed_advice(scheduled: TreeSchedule) -> list[Advice]:
    """Every round of one tree that is still to be given, from a little before today to a year ahead."""
    advice = []
    for placed in scheduled.rounds:
        if placed.given is not None or placed.carried_by is not None:
            continue
        if placed.blocked:
            advice.append(_held_back(scheduled, placed))
        elif placed.blend is None or not placed.blend.doses:
            advice.append(_unfed(scheduled, placed))
        else:
            advice.append(_round(scheduled, placed))
    return advice


def _id(view: View, placed: Placed) -> str:
    return view.advice_id("feed", placed.round.key, placed.round.window.best)


def _links(scheduled: TreeSchedule, placed: Placed) -> list[Because]:
    one, need = placed.round, scheduled.need
    links = [*need.because, *scheduled.because]
    text = "Round {number} of {of}: its share of the year, {share} of N"
    if placed.months > 1:
        text = (
            "Round {number} of {of}: its share of the year, {share} of N, given for {months} months at once, "
            "because only controlled release stands on the shelf"
        )
    links.append(
        computed(
            text,
            placed.nitrogen.value,
            "g",
            number=one.number,
            of=one.of,
            share=amount(placed.nitrogen.value, "g"),
            months=placed.months,
        )
    )
    if placed.rule is not None:
        links.append(_rule_link(placed.rule))
    last = scheduled.view.tree.last_done("feed", scheduled.view.today)
    if last is not None:
        links.append(recorded("Last fed on {day}", day=last.date))
    return links


def _rule_link(rule: NoFeeding) -> Because:
    return recorded(
        "Your garden file forbids {nutrients} from {start} to {end}: {reason}",
        nutrients=", ".join(rule.nutrients),
        start=rule.start,
        end=rule.end,
        reason=rule.reason,
    )


def _round(scheduled: TreeSchedule, placed: Placed) -> Advice:
    view, one, blend = scheduled.view, placed.round, placed.blend
    if blend is None or placed.want is None:
        return _unfed(scheduled, placed)
    products = {product.id: product for product in view.garden.products}
    parts = [(products[key], mass) for key, mass in blend.doses]
    main, total = parts[0][0], sum(mass for _, mass in parts)
    supplied = _supplied(parts)
    links = [
        *_links(scheduled, placed),
        *_dose_links(view, scheduled, parts),
        *area_links(view, supplied[0]),
    ]
    remarks = [
        *placed.remarks,
        *_salt_remarks(view, parts),
        *explain(blend, placed.want, placed.bags),
    ]
    if placed.rule is not None and not one.window.holds(placed.window.best):
        remarks.append(
            phrase(
                "Moved from {day} because of the {reason}",
                day=one.window.best,
                reason=placed.rule.reason,
            )
        )
    if placed.bought:
        short = listed((product.name for product, _ in parts), "{one} and {other}")
        remarks.append(
            phrase("The shelf runs out before this round: buy {products}", products=short)
        )
    scale = [
        end / placed.nitrogen.value if end else 1.0
        for end in (placed.nitrogen.low, placed.nitrogen.high)
    ]
    cases = ["pot" if view.tree.pot else "ground"]
    if any(product.release == "quick organic meal" for product, _ in parts):
        cases.append("meal")
    return Advice(
        id=_id(view, placed),
        tree=view.tree.id,
        kind="feed",
        window=placed.window,
        headline=_called(one),
        quantity=amount(
            round(total, 1),
            "g",
            round(total * min(scale[0], 1.0), 1),
            round(total * max(scale[1], 1.0), 1),
        ),
        display=_display(parts),
        steps=_how(view, supplied[0]),
        cautions=view.cautions("feed", *cases),
        minutes=(6 if view.tree.pot else 10) + 2 * (len(parts) - 1),
        because=tuple(links),
        changes=phrase(
            "A leaf or soil test, this year's shoot growth, or rain that washes it through"
        ),
        details={
            "product": main.id,
            "label": main.label,
            "doses": [
                {
                    "product": product.id,
                    "g": round(mass, 2),
                    "measures": in_measures(mass, product.cup_mass),
                }
                for product, mass in parts
            ],
            "n_g": round(supplied[0], 2),
            "p2o5_g": round(supplied[1], 2),
            "k2o_g": round(supplied[2], 2),
            "cost": None if blend.cost is None else round(blend.cost, 2),
            "need_n_a_year_g": round(scheduled.need.nitrogen.value, 1),
            "followed": scheduled.need.followed,
            "months": placed.months,
            "round": one.number,
            "rounds": one.of,
            "part": one.part,
            "parts": one.parts,
        },
        remarks=tuple(remarks),
    )


def _called(one: Round) -> Phrase:
    if one.parts == 1:
        return phrase("Feed: round {number} of {of}", number=one.number, of=one.of)
    return phrase(
        "Feed: round {number} of {of}, part {part} of {parts}",
        number=one.number,
        of=one.of,
        part=one.part,
        parts=one.parts,
    )


def _supplied(parts: list[tuple[Product, float]]) -> tuple[float, float, float]:
    """N, P2O5 and K2O of the doses as their labels print them [g]."""
    n, p2o5, k2o = (
        sum(mass * product.grade[index] / 100 for product, mass in parts) for index in range(3)
    )
    return n, p2o5, k2o


def _dose_links(
    view: View, scheduled: TreeSchedule, parts: list[tuple[Product, float]]
) -> list[Because]:
    n, p2o5, k2o = _supplied(parts)
    links = [
        computed(
            "{mass} of {labels} supplies {n} of N, {p} of P2O5 and {k} of K2O (label arithmetic, whole "
            "measures)",
            n,
            "g",
            mass=amount(sum(mass for _, mass in parts), "g"),
            labels=listed((product.label for product, _ in parts), "{one} and {other}"),
            n=amount(n, "g"),
            p=amount(p2o5, "g"),
            k=amount(k2o, "g"),
        )
    ]
    shelf = shelf_of(view)
    for release, product in sorted(
        {one.release: one for one, _ in parts if one.grade[0] > 0}.items()
    ):
        row = view.book.item("releases", release)["slow_share"]
        share = shelf.freed_in_a_year(product)
        text = (
            "Of {release} nitrogen about {share} % is freed within a year here; {value} of it is the slow part"
            if scheduled.need.followed == "table"
            else "Of {release} nitrogen about {share} % is freed within a year here, which is what the balance "
            "counts; {value} of it is the slow part"
        )
        links.append(from_fact(text, row, release=said(release), share=round(100 * share)))
    for product, _ in parts:
        links += [*_salt_links(shelf, product), *_acidity_links(view, product)]
    return links


def _salt_links(shelf: TreeShelf, product: Product) -> tuple[Because, ...]:
    """How salty a product is, where its material is known; a mixture is reckoned from its label."""
    known = shelf.salt_row(product)
    if known is None:
        return ()
    text = "Salt index of {product}: {value}, where sodium nitrate is 100; it limits how much goes on at once"
    return (from_fact(text, known, product=product.name),)


def _salt_remarks(view: View, parts: list[tuple[Product, float]]) -> list[Phrase]:
    """What is said of a material wherever it is given, such as the chloride in it."""
    table = view.book.table("saltindex")
    rows = [table.get(product.material or "", {}) for product, _ in parts]
    return [phrase(row["remark"].text) for row in rows if "remark" in row]


def _acidity_links(view: View, product: Product) -> tuple[Because, ...]:
    """Whether a product that carries the label of a known material sours or sweetens the ground."""
    materials = view.book.table("materials")
    for name, row in view.book.table("acidity").items():
        label = materials.get(name, {}).get("label")
        named = product.material == name
        if named or (label is not None and grade_of(label.text) == product.grade):
            fact = row["lime_equivalent"]
            text = (
                "By its label {product} is {material}, which sours the ground; in lime, for its weight: {value}"
                if fact.number < 0
                else "By its label {product} is {material}, which sweetens the ground; in lime, for its weight: "
                "{value}"
            )
            return (from_fact(text, fact, product=product.name, material=said(name)),)
    return ()


def _display(parts: list[tuple[Product, float]]) -> Phrase:
    """Every product with its mass, and its cups or spoons where one was weighed."""
    doses = []
    for product, mass in parts:
        measures = in_measures(mass, product.cup_mass)
        text = "{mass} ({measures}) of {product}" if measures else "{mass} of {product}"
        dose = phrase(text, mass=amount(mass, "g"), measures=measures, product=product.name)
        doses.append(dose)
    return in_a_row(doses, "{one} and {other}")


def _held_back(scheduled: TreeSchedule, placed: Placed) -> Advice:
    view, rule, one = scheduled.view, placed.rule, placed.round
    opens = shelf_of(view).opens(one.window.best)
    reason = said("closed days") if rule is None else rule.reason
    when = (
        phrase("Feeding stays closed all year with what stands on the shelf.")
        if opens is None
        else phrase("This round is left out; feeding is open again from {day}.", day=opens)
    )
    return Advice(
        id=_id(view, placed),
        tree=view.tree.id,
        kind="feed",
        window=placed.window,
        headline=phrase("No feeding: {reason}", reason=reason),
        steps=(
            when,
            phrase("A pot's open months carry its share, up to half as much again.")
            if view.tree.pot
            else phrase("Water evenly meanwhile, so that roots can use what is there."),
        ),
        minutes=0,
        because=tuple(_links(scheduled, placed)),
        details={
            "rule": reason,
            "open_from": None if opens is None else opens.isoformat(),
            "round": one.number,
            "rounds": one.of,
        },
        changes=phrase("A product without what the rule forbids, or a permit"),
        standing="blocked",
    )


def _unfed(scheduled: TreeSchedule, placed: Placed) -> Advice:
    view, one = scheduled.view, placed.round
    share: Quantity = placed.nitrogen
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
        because=tuple(_links(scheduled, placed)),
        details={"n_g": round(share.value, 2), "round": one.number, "rounds": one.of},
    )


def _how(view: View, nitrogen: float) -> tuple[Phrase, ...]:
    if view.tree.pot is not None:
        medium = view.book.item("containers", view.tree.pot.medium)
        return (
            phrase("Scatter it over the medium, off the stem and away from the rim."),
            phrase("Water until a little runs out below; empty the saucer."),
            phrase(
                "If you have a conductivity meter: what runs out may show {low} to {high}; above {flush} water "
                "the pot through with plain water before you feed.",
                low=amount(medium["leachate_coated"].least, "dS/m"),
                high=amount(medium["leachate_fed"].most, "dS/m"),
                flush=amount(medium["leachate_flush"].number, "dS/m"),
            ),
        )
    band = band_for(view, nitrogen)
    steps = [
        phrase(
            "Spread it evenly on a ring from {inner} off the trunk to {outer} out, well past the drip line, so "
            "that no ground gets too much: {area}."
            if band.widened
            else "Spread it evenly on a ring from {inner} off the trunk to {outer} out, past the drip line: "
            "{area}.",
            inner=amount(band.inner, "m"),
            outer=amount(band.outer, "m"),
            area=amount(band.area, "m2"),
        ),
        phrase(
            "Rake it in lightly without cutting roots, and water it in unless rain is on the way."
        ),
        phrase("Not on dry or frozen ground, nor before heavy rain."),
    ]
    water = view.garden.feeding.distance_to_water
    setback = view.constant("water setback")
    if water is not None and water < setback.number + band.outer:
        steps.append(
            phrase(
                "Open water is {water} away: leave {setback} towards it unfed.",
                water=amount(water, "m"),
                setback=amount(setback.number, "m"),
            )
        )
    return tuple(steps)
