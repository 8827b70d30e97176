"""Use cases of feeding: a tree's feeding year with its ledger, the shelf, and a round to carry out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from bearwell.api.gardens import LoadedGarden
from bearwell.api.walking import open_within, walked
from bearwell.garden import Product, Tree
from bearwell.plan.need import Need, Other, other_nutrients
from bearwell.plan.schedule import Placed
from bearwell.plan.shopping import Purchase
from bearwell.plan.view import View
from bearwell.season.ledger import Given, Ledger, LedgerInputs, run_ledger

LOOK_BACK = timedelta(days=400)
LOOK_AHEAD = timedelta(days=366)
# The part of the (northern) year whose rounds the late-season question is about: September to mid-February.
LATE_FROM, LATE_TO = 244, 46


@dataclass(frozen=True)
class FeedingYear:
    """A tree's need by every route, its rounds, and its ledger with and without the late rounds.

    ``given`` is nitrogen of the last year and ``planned`` of the next [g]; ``past_supposed`` says that no
    feeding was written down, so that the last year is supposed to have gone by the plan. ``others`` are
    calcium, magnesium and the trace elements: what fruit takes of them and what leaves say.
    """

    tree: Tree
    need: Need
    rounds: tuple[Placed, ...]
    ledger: Ledger
    without_late: Ledger
    bloom: date | None
    given: float
    planned: float
    past_supposed: bool
    others: tuple[Other, ...]


def feeding_year(opened: LoadedGarden, tree_id: str) -> FeedingYear:
    """The feeding year of a tree; BadInput for an unknown one."""
    tree = opened.garden.tree(tree_id)
    view, scheduled = opened.view(tree), opened.schedule.trees[tree.id]
    today = opened.today
    inputs = LedgerInputs(
        tree,
        view.species,
        view.cycle,
        view.size,
        view.site,
        opened.garden,
        view.book,
        scheduled.need.demand,
        today - LOOK_BACK,
        today + LOOK_AHEAD,
    )
    planned = _planned(opened.garden.products, scheduled.rounds, today)
    early = [one for one in planned if not _late(view, one.date)]
    given = _records(view)
    supposed = not given
    if supposed:
        # Nothing is written down: last year is supposed to have been fed as the next one is planned.
        given = [replace(one, date=one.date - timedelta(days=365)) for one in planned]
    bloom = view.cycle.next_after("full bloom", today)
    return FeedingYear(
        tree,
        scheduled.need,
        scheduled.rounds,
        run_ledger(inputs, [*given, *planned]),
        run_ledger(inputs, [*given, *early]),
        None if bloom is None else bloom.date,
        sum(one.nitrogen for one in given if one.date > today - timedelta(days=365)),
        sum(one.nitrogen for one in planned),
        supposed,
        tuple(other_nutrients(view)),
    )


def _records(view: View) -> list[Given]:
    """What was given, by the records that name a product and an amount."""
    names = {product.id: product for product in view.garden.products}
    found = []
    for work in view.tree.done:
        product = names.get(work.product or "")
        if (
            work.job == "feed"
            and product is not None
            and work.amount is not None
            and work.date <= view.today
        ):
            nitrogen = work.amount * product.grade[0] / 100
            found.append(Given(work.date, nitrogen, product.release))
    return found


def _planned(products: Sequence[Product], rounds: Sequence[Placed], today: date) -> list[Given]:
    """What the rounds still to come will give."""
    names = {product.id: product for product in products}
    found = []
    for placed in rounds:
        if placed.blend is None or placed.given is not None or placed.window.latest < today:
            continue
        day = max(placed.window.best, today)
        for key, mass in placed.blend.doses:
            product = names[key]
            found.append(Given(day, mass * product.grade[0] / 100, product.release))
    return found


def _late(view: View, day: date) -> bool:
    number = view.site.northern_day(day)
    return number >= LATE_FROM or (view.species.keeps_leaves and number <= LATE_TO)


@dataclass(frozen=True)
class OnShelf:
    """A product, what the year takes of it and when it runs out."""

    product: Product
    used: float
    trees: tuple[str, ...]
    runs_out: date | None


@dataclass(frozen=True)
class Shelf:
    """Every product of the garden and what has to be bought for the coming year."""

    products: tuple[OnShelf, ...]
    shopping: tuple[Purchase, ...]
    cost: float | None


def shelf(opened: LoadedGarden) -> Shelf:
    """The shelf over the coming year: doses of all trees drawn from it in the order of their days."""
    schedule = opened.schedule
    draws: dict[str, list[tuple[date, str, float]]] = {}
    for key, one in schedule.trees.items():
        for placed in one.rounds:
            if (
                placed.blend is None
                or placed.given is not None
                or placed.window.latest < opened.today
            ):
                continue
            for bag, mass in placed.blend.doses:
                draws.setdefault(bag, []).append((placed.window.best, key, mass))
    rows = []
    for product in opened.garden.products:
        taken = sorted(draws.get(product.id, []))
        trees = tuple(dict.fromkeys(key for _, key, _ in taken))
        rows.append(OnShelf(product, sum(m for _, _, m in taken), trees, _runs_out(product, taken)))
    costs = [one.cost for one in schedule.shopping]
    total = sum(cost for cost in costs if cost is not None) if None not in costs else None
    return Shelf(tuple(rows), schedule.shopping, total)


def _runs_out(product: Product, taken: Sequence[tuple[date, str, float]]) -> date | None:
    if product.on_hand is None:
        return None
    left = product.on_hand
    for day, _, mass in taken:
        left -= mass
        if left < 0:
            return day
    return None


@dataclass(frozen=True)
class SheetLine:
    """One tree on a feeding sheet: what to give, in the order the garden file lists the trees."""

    tree: Tree
    placed: Placed


def feeding_sheet(opened: LoadedGarden, days: int = 21) -> tuple[SheetLine, ...]:
    """The rounds that can be given in the coming days, in walking order."""

    def rounds(tree: Tree) -> list[Placed]:
        scheduled = opened.schedule.trees.get(tree.id)  # none for a tree that cannot be planned
        return [
            placed
            for placed in (scheduled.rounds if scheduled else ())
            if placed.blend is not None
            and placed.blend.doses
            and placed.given is None
            and open_within(placed.window, opened.today, days)
        ]

    return tuple(SheetLine(tree, placed) for tree, placed in walked(opened, rounds))
