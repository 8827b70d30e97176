"""What a tree is fed in a year, by three routes side by side, and which one the plan follows.

Tables by age or size, a balance of what fruit and growth carry off, and the tree's own tests. The sources
differ two- to threefold, so all are shown; the balance of a measured tree is followed, held within what the
ground takes, else the table; tests move the answer.
"""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.knowledge import FeedingRule
from bearwell.plan.leaftest import GRADE_WORDS, optimum_of
from bearwell.plan.picking import expected_year
from bearwell.plan.shortages import LeafVerdict, leaf_verdict, shortages
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, from_rule, recorded
from bearwell.said import said
from bearwell.season.ledger import Demand, tissue_of, yearly_demand

P2O5_OF_P, K2O_OF_K = 2.2914, 1.2046


@dataclass(frozen=True)
class Route:
    """One way to the year's nitrogen [g], with its range and reasons."""

    name: str
    nitrogen: Quantity
    because: tuple[Because, ...]
    remark: str = ""


@dataclass(frozen=True)
class Need:
    """What a tree is given in a year [g]: nitrogen, phosphate and potash, and the routes there."""

    nitrogen: Quantity
    p2o5: Quantity
    k2o: Quantity
    rounds: int | None
    routes: tuple[Route, ...]
    followed: str
    because: tuple[Because, ...]
    demand: Demand


def yearly_need(view: View) -> Need:
    """The need by every route, the one followed, and phosphate and potash to go with it."""
    table, rounds = _by_table(view)
    balance, demand, removed = _by_balance(view)
    followed = balance if view.size.measured else table
    factor, why_tests = _by_tests(view)
    value, why_held = _held_within(view, followed, table)
    tested = _scaled(value, factor)
    routes = [table, balance, Route("tests", tested, why_tests, "moves the route followed")]
    links = [*followed.because, _why_followed(followed, table, balance), *why_held, *why_tests]
    phosphate_ample, why_soil = _soil_phosphorus(view)
    links += why_soil
    potash, why_potash = _potash_by_leaf(view)
    links += why_potash
    p_per_n, k_per_n = view.species["feeding_p2o5_per_n"], view.species["feeding_k2o_per_n"]
    return Need(
        tested,
        Quantity(0.0, "g", 0.0, tested.value * p_per_n.number)
        if phosphate_ample
        else _companion(
            tested, p_per_n.number, p_per_n.least, p_per_n.most, removed[0] * P2O5_OF_P
        ),
        _times(
            _companion(tested, k_per_n.number, k_per_n.least, k_per_n.most, removed[1] * K2O_OF_K),
            potash,
        ),
        rounds,
        tuple(routes),
        followed.name,
        tuple(links),
        demand,
    )


def _scaled(value: Quantity, factor: float) -> Quantity:
    low, high = value.low or value.value, value.high or value.value
    return Quantity(value.value * factor, "g", low * factor, high * factor)


def _times(quantity: Quantity, factor: float) -> Quantity:
    """A quantity moved by a factor; its low end only falls with it."""
    low, high = quantity.low or 0.0, quantity.high or quantity.value
    return Quantity(quantity.value * factor, "g", low * min(factor, 1.0), high * max(factor, 0.0))


def _companion(
    nitrogen: Quantity, ratio: float, least: float, most: float, removed: float
) -> Quantity:
    """Phosphate or potash beside the nitrogen: by the kind's ratio, never less than the fruit takes."""
    value = max(nitrogen.value * ratio, removed)
    return Quantity(
        value, "g", min(nitrogen.value * least, value), max(nitrogen.value * most, value * 1.5)
    )


def _held_within(view: View, followed: Route, table: Route) -> tuple[Quantity, tuple[Because, ...]]:
    """The balance kept within sight of the table: not above it, not below a part of its low end."""
    value = followed.nitrogen
    if followed is table:
        return value, ()
    part = view.constant("least part of the table")
    least = part.number * (table.nitrogen.low or 0.0)
    most = table.nitrogen.high or table.nitrogen.value
    kept = min(max(value.value, least), most)
    if kept == value.value:
        return value, ()
    link = from_fact(
        "That is kept between {value} of the table's low end and its high end: {n}",
        part,
        n=amount(kept, "g"),
    )
    return Quantity(kept, "g", min(value.low or kept, kept), max(value.high or kept, kept)), (link,)


def _why_followed(followed: Route, table: Route, balance: Route) -> Because:
    ratio = table.nitrogen.value / balance.nitrogen.value if balance.nitrogen.value else 0.0
    if followed is balance:
        text = "The plan follows the balance, because the canopy was measured; the table gives {ratio} times as much"
        if ratio >= 1.5:
            text = (
                "The plan follows the balance, because the canopy was measured; the table gives {ratio} times as "
                "much, made for fast-growing trees, rain and sand"
            )
    else:
        text = (
            "The plan follows the table, because the canopy was not measured; it gives {ratio} times the balance "
            "of a supposed canopy"
        )
    return computed(text, round(ratio, 2), "1", ratio=said("{ratio:.1f}", ratio=ratio))


def _soil_phosphorus(view: View) -> tuple[bool, tuple[Because, ...]]:
    """Whether a soil test shows phosphorus enough, so that none is wanted."""
    test = view.garden.site.soil_test
    if view.tree.pot is not None or test is None or test.p is None:
        return False, ()
    ample = view.constant("ample soil phosphorus")
    if "mehlich-3" not in test.p.method.lower():
        return False, (
            computed("Soil phosphorus by {method} has no limit in the tables, so it moves nothing",
                     method=test.p.method),
        )  # fmt: skip
    found = Quantity(test.p.value, "mg/kg")
    if test.p.value > ample.number:
        return True, (
            from_fact(
                "Soil phosphorus {found} is above {value}: none is wanted", ample, found=found
            ),
        )
    return False, (from_fact("Soil phosphorus {found} is not above {value}", ample, found=found),)


# ---------------------------------------------------------------- by table


def _by_table(view: View) -> tuple[Route, int | None]:
    if view.tree.pot is None:
        return _ground_table(view)
    rule = view.book.feeding["container-by-volume"]
    step, size = rule.step(0), view.tree.pot.volume
    link = from_rule(
        "A container is fed by its volume: {rate} of N a litre of medium and year, so {n} for {volume}",
        rule,
        step.value * size,
        rate=amount(step.value, "g"),
        n=amount(step.value * size, "g"),
        volume=amount(size, "L"),
    )
    by_pot = _table_route(rule, size, 1.0, (link,))
    ground, rounds = _ground_table(view)
    return (by_pot, None) if by_pot.nitrogen.value <= ground.nitrogen.value else (ground, rounds)


def _ground_table(view: View) -> tuple[Route, int | None]:
    book, species = view.book, view.species
    factor = species["feeding_factor"]
    rule = book.feeding[species["feeding_rule"].text]
    diameter = view.size.trunk_diameter
    if rule.basis == "trunk diameter":
        if diameter is not None:
            step = rule.step(0)
            link = from_rule(
                "{kind} takes {rate} of N a year for each {per} of trunk diameter; the trunk is {diameter} "
                "thick",
                rule,
                step.value * diameter,
                kind=species.name,
                rate=amount(step.value * 0.0254, "g"),
                per=amount(0.0254, "m"),
                diameter=amount(diameter, "m"),
            )
            return _table_route(rule, diameter, factor.number, (link,)), None
        if rule.fallback:
            rule = book.feeding[rule.fallback]
    year = max(1, int(view.years_here + 1)) if rule.basis == "years" else 1
    step = rule.step(year)
    links = [
        from_rule(
            "{kind} in its year {year} takes {low} to {high} of N a year",
            rule,
            step.value,
            kind=species.name,
            year=year,
            low=amount(step.low, "g"),
            high=amount(step.high, "g"),
        )
    ]
    if factor.number != 1:
        text = "{kind} is given {value} of that rule"
        links.append(from_fact(text, factor, kind=species.name))
    return _table_route(rule, 1.0, factor.number, tuple(links), year), step.rounds


def _table_route(
    rule: FeedingRule, size: float, factor: float, links: tuple[Because, ...], year: float = 0
) -> Route:
    step = rule.step(year)
    cap = rule.cap if rule.cap is not None else float("inf")
    value, low, high = (
        min(rate * size, cap) * factor for rate in (step.value, step.low, step.high)
    )
    return Route("table", Quantity(value, "g", low, high), links)


# ---------------------------------------------------------------- by balance


def growing_share(view: View) -> float:
    """The part of its canopy that a tree puts on in a year: much while young, regrowth once grown."""
    regrowth = view.constant("yearly regrowth").number
    age, grown = max(view.tree.age(view.today), 0.5), view.species["years_to_grown"].number
    if age >= grown or view.tree.pot is not None:
        return regrowth
    shape = 3 * view.constant("growth shape").number
    return float(min(max(((age + 1) / age) ** shape - 1, regrowth), 1.5))


def _by_balance(view: View) -> tuple[Route, Demand, tuple[float, float]]:
    """Nitrogen that fruit, growth and leaf fall take, over the efficiency of uptake."""
    book, species = view.book, view.species
    crop = Quantity(0.0, "g", 0.0, 0.0)
    links: list[Because] = []
    if view.bears:
        crop, why_crop = expected_year(view)
        links += why_crop
    growing = growing_share(view)
    demand = yearly_demand(species, view.size, crop.value, growing, book)
    back = book.constant("withdrawn before leaf drop")
    lost = demand.total - back.number * demand.leaves
    name = "efficiency in a pot" if view.tree.pot is not None else "efficiency of nitrogen use"
    efficiency = book.constant(name)
    value = lost / efficiency.number
    low = 0.6 * value if efficiency.high is None else lost / efficiency.high
    high = 1.5 * value if efficiency.low is None else lost / efficiency.low
    removal = species["removal_n"]
    links += [
        from_fact("Fruit carries off {value}, {n} a year", removal, n=amount(demand.fruit, "g")),
        from_fact(
            "A canopy of {volume} stands for {held} of N in the tree ({value} of dry mass); it grows {share} % a "
            "year and renews its leaves, {n}",
            tissue_of(species, book)["n"],
            volume=amount(view.size.volume, "m3"),
            held=amount(demand.held, "g"),
            share=round(100 * growing),
            n=amount(demand.growth, "g"),
        ),
        from_fact("of which {value} of ageing leaves' nitrogen comes back", back),
        from_fact("About {value} of what is given reaches the tree", efficiency),
        computed("so the balance asks {n} a year", value, "g", n=amount(value, "g")),
    ]
    removed = tuple(crop.value / 1000 * species[f"removal_{x}"].number for x in ("p", "k"))
    return (
        Route("balance", Quantity(value, "g", low, high), tuple(links)),
        demand,
        (removed[0], removed[1]),
    )


# ---------------------------------------------------------------- by tests


def _by_tests(view: View) -> tuple[float, tuple[Because, ...]]:
    """How far the tree's own tests move the year's nitrogen, as a factor."""
    factor, links = 1.0, []
    most = view.constant("most a test moves").number
    verdict = leaf_verdict(view)
    if verdict is not None and verdict.test.n is not None:
        moved, link = _leaf_nitrogen(view, verdict)
        factor *= moved
        links.append(link)
    shoots = view.tree.shoot_growth
    if shoots is not None and view.bears:
        short, long = view.constant("shoots too short"), view.constant("shoots too long")
        move = view.constant("move for shoots").number
        length = amount(shoots, "m")
        if shoots < short.number:
            factor *= 1 + move
            links.append(
                from_fact(
                    "Shoots of {length} are shorter than {value}: more nitrogen",
                    short,
                    length=length,
                )
            )
        elif shoots > long.number:
            factor *= 1 - move
            links.append(
                from_fact(
                    "Shoots of {length} are longer than {value}: less nitrogen", long, length=length
                )
            )
        else:
            links.append(recorded("Shoots of {length} are as they should be", length=length))
    if not links:
        links.append(
            computed("No leaf test or shoot length is written down, so nothing moves it", 1.0, "1")
        )
    return min(max(factor, 1 - most), 1 + most), tuple(links)


def _leaf_nitrogen(view: View, verdict: LeafVerdict) -> tuple[float, Because]:
    """How a leaf test's nitrogen moves the year's, by the set of norms it is held against."""
    if verdict.unusable is not None:
        wrong = verdict.unusable
        return 1.0, recorded("The leaf test moves nothing: {why}", verdict.test.n, "%", why=wrong)
    nitrogen = next(one for one in verdict.judged if one.nutrient == "N")
    row = view.constant("nitrogen step of a leaf test")
    optimum = optimum_of("N", view.species, verdict.norms, view.book)
    tenths = 0.0
    if optimum is not None:
        outside = max(optimum[0] - nitrogen.value, 0.0) - max(nitrogen.value - optimum[1], 0.0)
        tenths = outside / (100 * row.number)
    text = (
        "Leaf nitrogen of {leaf} % is {grade} by the norms {set}; each {step} % outside the optimum moves "
        "the dose by a tenth"
    )
    grade = GRADE_WORDS[nitrogen.grade] if nitrogen.grade else said("not graded")
    return 1 + 0.1 * tenths, from_fact(
        text,
        row,
        leaf=said("{percent:g}", percent=nitrogen.value),
        grade=grade,
        set=said(verdict.norms),
        step=said("{percent:g}", percent=100 * row.number),
    )


def _potash_by_leaf(view: View) -> tuple[float, tuple[Because, ...]]:
    """How a leaf test's potassium moves the year's potash, as a factor; 0 where leaves hold an excess."""
    verdict = leaf_verdict(view)
    found = verdict.grade("K") if verdict is not None else None
    if found is None or found.grade is None or found.grade == "optimum":
        return 1.0, ()
    row = view.constant("potash for a short leaf")
    step = row.number - 1
    factor = {"deficient": 1 + 2 * step, "low": 1 + step, "high": 1 - step, "excess": 0.0}[
        str(found.grade)
    ]
    link = from_fact(
        "Leaf potassium of {leaf} % is {grade} by the norms {set}, so potash is {factor} times the usual",
        row,
        leaf=said("{percent:g}", percent=found.value),
        grade=GRADE_WORDS[found.grade],
        set=said(verdict.norms) if verdict else "",
        factor=said("{factor:.2g}", factor=factor),
    )
    return factor, (link,)


# ---------------------------------------------------------------- what else fruit carries off


@dataclass(frozen=True)
class Other:
    """A nutrient beside N, P and K: what the year's fruit carries off [g], what leaves say of it.

    ``removed`` is None where no table tells; ``grade`` is None without a usable test.
    """

    nutrient: str
    removed: Quantity | None
    grade: str | None
    short: bool
    because: tuple[Because, ...]


_PER_GRAM = {"g/kg": 1e-3, "mg/kg": 1e-6}
OTHERS = ("Ca", "Mg", "Fe", "Mn", "Zn", "B", "Cu")


def other_nutrients(view: View) -> list[Other]:
    """Calcium, magnesium and the trace elements: what fruit takes and what the tree's own leaves say."""
    crop, _ = expected_year(view) if view.bears else (Quantity(0.0, "g", 0.0, 0.0), ())
    verdict = leaf_verdict(view)
    short = {one.nutrient for one in shortages(view)}
    found = []
    for nutrient in OTHERS:
        fact = view.species.get(f"removal_{nutrient.lower()}")
        links: list[Because] = []
        removed = None
        if fact is not None:
            least, most = crop.low or 0.0, crop.high or crop.value
            gram = _PER_GRAM[fact.unit]
            removed = Quantity(
                crop.value * fact.number * gram,
                "g",
                least * fact.least * gram,
                most * fact.most * gram,
            )
            links.append(
                from_fact(
                    "A crop of {crop} carries off {taken} ({value})",
                    fact,
                    crop=crop,
                    taken=removed,
                )
            )
        judged = verdict.grade(nutrient) if verdict is not None else None
        if judged is not None:
            links += judged.because
        found.append(
            Other(
                nutrient,
                removed,
                None if judged is None else str(judged.grade),
                nutrient in short,
                tuple(links),
            )
        )
    return found
