"""The best mix of the bags on the shelf for one dose, and what shaped it, in words.

It knows no tables: every figure is an argument. Whole measures of each bag are the integers of a small
programme (HiGHS through its own package: 8 MB against a hundred for scipy's wrapper of the same solver);
a yes or no says whether a bag is used at all. When the limits cannot all hold, a second programme lets the
least costly of them give and says by how much; what a label allows, the salt and the top of the nitrogen
range never give, since giving less is always possible.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

from bearwell.errors import BadInput
from bearwell.plan.programme import (
    NUTRIENTS,
    Item,
    Limit,
    Problem,
    Weights,
    measures_in,
    measures_to_reach,
    not_negative,
    rounded_down,
    solve,
)
from bearwell.reasons import Phrase, amount, phrase
from bearwell.said import said

__all__ = ["Bag", "Blend", "Range", "Want", "Weights", "best_blend", "explain", "usual_price"]


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag as the programme sees it: shares by mass, measures and limits in g.

    ``salt`` is the relative salt load of a gram (salt-index points), 0 when unknown. ``on_hand`` and
    ``price`` (per g) are None when the grower did not say; ``at_most`` is what the label allows in one
    dose of this tree.
    """

    id: str
    name: str
    n: float
    p2o5: float
    k2o: float
    step: float
    on_hand: float | None = None
    price: float | None = None
    opened: bool = False
    at_most: float | None = None
    salt: float = 0.0

    def __post_init__(self) -> None:
        shares = self.shares
        if not all(math.isfinite(share) and 0 <= share <= 1 for share in shares):
            raise BadInput(
                said("{name}: a nutrient's share is not between 0 and 1", name=self.name),
                "check the label",
            )
        if sum(shares) > 1 + 1e-9:
            raise BadInput(
                said("{name}: the label adds up to more than 100 %", name=self.name),
                "check the bag",
            )
        if not (math.isfinite(self.step) and self.step > 0):
            raise BadInput(
                said("{name}: the smallest measure is not above 0 g", name=self.name), "such as 5 g"
            )
        not_negative("{name}: what is on hand", self.on_hand, name=self.name)
        not_negative("{name}: the price", self.price, name=self.name)
        not_negative("{name}: the most the label allows", self.at_most, name=self.name)
        not_negative("{name}: the salt load", self.salt, name=self.name)

    @property
    def shares(self) -> tuple[float, float, float]:
        """N, P2O5 and K2O by mass."""
        return self.n, self.p2o5, self.k2o


@dataclass(frozen=True, slots=True)
class Range:
    """The least, the best and the most of something in one dose [g]; the most may be infinite."""

    low: float
    best: float
    high: float

    def __post_init__(self) -> None:
        if not (0 <= self.low <= self.best <= self.high and math.isfinite(self.best)):
            raise BadInput(
                said(
                    "the range {low:g} to {high:g} with {best:g} as best is out of order",
                    low=self.low,
                    high=self.high,
                    best=self.best,
                ),
                "low, best, high: none below 0 and each at least the one before",
            )


@dataclass(frozen=True, slots=True)
class Want:
    """What one dose should bring [g] and what it must keep to.

    ``least_dose`` is the smallest amount of any one bag worth walking for [g]; ``most_salt`` the salt
    load the dose may carry, in the points of the bags times g.
    """

    n: Range
    p2o5: Range
    k2o: Range
    least_dose: float = 0.0
    most_products: int = 3
    most_salt: float | None = None

    def __post_init__(self) -> None:
        not_negative("the least dose", self.least_dose)
        not_negative("the most products", self.most_products)
        not_negative("the most salt", self.most_salt)

    @property
    def ranges(self) -> tuple[Range, Range, Range]:
        """The ranges of N, P2O5 and K2O."""
        return self.n, self.p2o5, self.k2o


@dataclass(frozen=True, slots=True)
class Blend:
    """The doses [g] by bag, what they bring, and which limits shaped them.

    ``binding`` holds the codes of limits without which a better blend stands close by: "n high",
    "stock balanced", "salt", "label meal", "products", "least dose meal". ``relaxed`` pairs a limit that
    had to give with the amount, in g (for "products" a count). ``cost`` is None when a bag in it has no
    price. ``score`` is what was minimised, ``gap`` how far it may be from the best (0: proved best).
    """

    doses: tuple[tuple[str, float], ...]
    n: float
    p2o5: float
    k2o: float
    cost: float | None
    binding: tuple[str, ...]
    relaxed: tuple[tuple[str, float], ...]
    score: float
    gap: float
    nodes: int
    seconds: float = field(compare=False)


_USUAL = Weights()


def best_blend(
    want: Want, bags: Sequence[Bag], weights: Weights | None = None, *, buy: bool = False
) -> Blend:
    """The blend of whole measures that comes nearest to what is wanted; with ``buy`` stock is no limit.

    The answer does not depend on the order of the bags, nor on what was asked before.
    """
    if len({bag.id for bag in bags}) < len(bags):
        raise BadInput("two bags have the same id", "give each its own")
    shelf = sorted(bags, key=lambda bag: bag.id)
    problem = _problem(want, shelf, weights or _USUAL, buy)
    answer = solve(problem)
    doses = tuple(
        (bag.id, round(float(count * bag.step), 9))
        for bag, count in zip(shelf, answer.counts, strict=True)
        if count
    )
    used = {bag.id: bag for bag in shelf}
    supplied = [sum((used[key].shares[j] * mass for key, mass in doses), 0.0) for j in range(3)]
    prices = [(used[key].price, mass) for key, mass in doses]
    known = [price * mass for price, mass in prices if price is not None]
    return Blend(
        doses,
        n=supplied[0],
        p2o5=supplied[1],
        k2o=supplied[2],
        cost=sum(known, 0.0) if len(known) == len(prices) else None,
        binding=tuple(_code(limit, shelf) for limit in answer.binding),
        relaxed=tuple((_code(limit, shelf), by) for limit, by in answer.relaxed),
        score=answer.score,
        gap=answer.gap,
        nodes=answer.nodes,
        seconds=answer.seconds,
    )


def usual_price(bags: Sequence[Bag]) -> float:
    """What a g of nutrients usually costs: the median of the bags that have a price, else 0."""
    known = [
        bag.price / sum(bag.shares) for bag in bags if bag.price is not None and any(bag.shares)
    ]
    return median(known) if known else 0.0


# ---------------------------------------------------------------- the problem in whole measures


def _problem(want: Want, shelf: Sequence[Bag], weights: Weights, buy: bool) -> Problem:
    best = tuple(round(one.best, 3) for one in want.ranges)
    low = tuple(round(one.low, 3) for one in want.ranges)
    high = tuple(
        max(b, rounded_down(one.high, 1e-3)) for b, one in zip(best, want.ranges, strict=True)
    )
    scale = best[0] or max(best) or 1.0
    price = usual_price(shelf) if weights.usual_price is None else weights.usual_price
    usual_cost = price * sum(best)
    items = []
    for bag in shelf:
        brings = tuple(round(share * bag.step, 9) for share in bag.shares)
        least = measures_to_reach(want.least_dose, bag.step)
        useful = max(
            (measures_to_reach(b, one) for b, one in zip(best, brings, strict=True) if one),
            default=0,
        )
        useful = max(useful, least) if useful else 0
        stock = None if buy or bag.on_hand is None else rounded_down(bag.on_hand, 1e-3)
        if stock is not None and stock >= useful * bag.step:
            stock = None
        label = None if bag.at_most is None else measures_in(bag.at_most, bag.step)
        if label is not None and label >= useful:
            label = None
        paid = price * sum(bag.shares) if bag.price is None else bag.price
        items.append(
            Item(
                brings=(brings[0], brings[1], brings[2]),
                mass=bag.step,
                salt=bag.salt * bag.step,
                cost=round(weights.cost * paid * bag.step / usual_cost, 9) if usual_cost else 0.0,
                use=weights.product + (0.0 if bag.opened else weights.unopened),
                useful=useful,
                label=label,
                stock=stock,
                out_of_stock=weights.give_stock * _of_a_dose(bag, scale),
            )
        )
    return Problem(
        (low[0], low[1], low[2]),
        (best[0], best[1], best[2]),
        (high[0], high[1], high[2]),
        scale,
        want.least_dose,
        want.most_products,
        want.most_salt,
        tuple(items),
        weights,
    )


def _of_a_dose(bag: Bag, scale: float) -> float:
    """The part of a whole dose that one g of a bag is: by its nitrogen, else by what it holds most of."""
    return (bag.n or max(bag.shares)) / scale


# ---------------------------------------------------------------- words

_CALLED = dict(zip(NUTRIENTS, (said("Nitrogen"), said("Phosphate"), said("Potash")), strict=True))
_ENDS = {f"{key} {end}": (name, end) for key, name in _CALLED.items() for end in ("low", "high")}


def explain(blend: Blend, want: Want, bags: Sequence[Bag]) -> tuple[Phrase, ...]:
    """What shaped a blend, in plain words: what had to give first, then the limits that hold it."""
    shelf = {bag.id: bag for bag in bags}
    told: list[Phrase] = []
    if not bags:
        told.append(phrase("There is no bag on the shelf to feed from"))
    elif not blend.doses:
        told.append(phrase("No dose of the bags on the shelf serves this round"))
    for code, by in blend.relaxed:
        told.append(_gave(code, by, shelf))
        if code == "n low":
            told += _why_no_nitrogen(want, bags)
    told += [_holds(code, want, shelf) for code in blend.binding]
    told += [
        phrase("{product} has no price, so the cost is not known", product=shelf[key].name)
        for key, _ in blend.doses
        if shelf[key].price is None
    ]
    return tuple(told)


def _why_no_nitrogen(want: Want, bags: Sequence[Bag]) -> list[Phrase]:
    if bags and not any(bag.n for bag in bags):
        return [phrase("No bag on the shelf holds nitrogen")]
    return [
        phrase(
            "One measure of {product} ({step}) brings more nitrogen than the round may have: "
            "weigh out a smaller one",
            product=bag.name,
            step=amount(bag.step, "g"),
        )
        for bag in bags
        if bag.n * bag.step > want.n.high
    ]


def _gave(code: str, by: float, shelf: Mapping[str, Bag]) -> Phrase:
    if code == "products":
        more = "It takes {count} product more than you wished to mix"
        if by > 1:
            more = "It takes {count} products more than you wished to mix"
        return phrase(more, count=round(by))
    if code in _ENDS:
        nutrient, end = _ENDS[code]
        text = (
            "{nutrient} is {by} short of the least this round should bring"
            if end == "low"
            else "{nutrient} goes {by} over the most this round should bring"
        )
        return phrase(text, nutrient=nutrient, by=amount(by, "g"))
    kind, bag = _of_bag(code, shelf)
    text = (
        "{by} more of {product} is needed than is on the shelf"
        if kind == "stock"
        else "The dose of {product} is {by} below the least worth measuring out"
    )
    return phrase(text, by=amount(by, "g"), product=bag.name)


def _holds(code: str, want: Want, shelf: Mapping[str, Bag]) -> Phrase:
    if code == "salt":
        return phrase("The salt of the dose is as high as it may be")
    if code == "products":
        return phrase("No more than {count} products go into one round", count=want.most_products)
    if code in _ENDS:
        nutrient, end = _ENDS[code]
        text = "{nutrient} is at the bottom of its range"
        if end == "high":
            text = "{nutrient} is at the top of its range"
        return phrase(text, nutrient=nutrient)
    kind, bag = _of_bag(code, shelf)
    if kind == "stock":
        left = amount(bag.on_hand or 0.0, "g")
        return phrase("The bag of {product} runs out: {left} is left", product=bag.name, left=left)
    if kind == "label":
        most = amount(bag.at_most or 0.0, "g")
        return phrase("The label of {product} allows {most} at once", product=bag.name, most=most)
    least = amount(want.least_dose, "g")
    return phrase(
        "Less than {least} of {product} is not worth measuring out", least=least, product=bag.name
    )


def _of_bag(code: str, shelf: Mapping[str, Bag]) -> tuple[str, Bag]:
    """The kind of a limit on one bag, and the bag."""
    for kind in ("stock", "label", "least dose"):
        if code.startswith(f"{kind} "):
            return kind, shelf[code.removeprefix(f"{kind} ")]
    raise BadInput(said("'{code}' is not a limit of a blend", code=code))


def _code(limit: Limit, shelf: Sequence[Bag]) -> str:
    kind, which = limit
    return kind if which < 0 else f"{kind} {shelf[which].id}"
