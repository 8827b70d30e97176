"""The bags on the shelf as one tree sees them: which may be used, on which days, in which measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import groupby

import numpy as np

from bearwell.garden import NoFeeding, Product
from bearwell.garden.values import grade_of
from bearwell.knowledge import Fact
from bearwell.plan.advice import Window
from bearwell.plan.blend import Bag
from bearwell.plan.view import View
from bearwell.said import said
from bearwell.science.mineralization import released_fraction_two_pool

CONTROLLED = "controlled release"
CUP_PARTS = (4, 16)


def shelf_of(view: View) -> TreeShelf:
    """The shelf as a tree sees it, looked through once."""
    return view.once("shelf", lambda: TreeShelf(view))


def forbidden(rule: NoFeeding, product: Product) -> bool:
    """Whether a rule that holds keeps this product in its bag."""
    holds = dict(zip("NPK", product.grade, strict=True))
    return any(holds[nutrient] > 0 for nutrient in rule.nutrients)


@dataclass(frozen=True)
class TreeShelf:
    """The products that can feed one tree."""

    view: View

    @cached_property
    def products(self) -> tuple[Product, ...]:
        """What may be given to this tree; bags the grower keeps for it push all others aside."""
        usable = [product for product in self.view.garden.products if self._usable(product)]
        kept = [product for product in usable if product.kept_for and self._feeds(product)]
        return tuple(kept or usable)

    def _usable(self, product: Product) -> bool:
        least = self.view.constant("least release of a feed").number
        release = self.view.book.item("releases", product.release)["first_season"].number
        mine = {self.view.tree.id, *self.view.species.lineage}
        mine.add("pot" if self.view.tree.pot else "ground")
        return (
            any(product.grade)
            and release >= least
            and (not product.kept_for or bool(mine & set(product.kept_for)))
        )

    @staticmethod
    def _feeds(product: Product) -> bool:
        return product.grade[0] > 0

    def on(self, day: date) -> list[Product]:
        """What no rule forbids on a day."""
        return list(self._open[tuple(rule.covers(day) for rule in self.view.garden.no_feeding)])

    def closed(self, day: date) -> NoFeeding | None:
        """The rule that leaves no nitrogen to give on a day, if there is one."""
        rules = self.view.garden.no_feeding
        holding = tuple(rule.covers(day) for rule in rules)
        if not any(holding) or any(self._feeds(product) for product in self._open[holding]):
            return None
        return rules[holding.index(True)]

    @cached_property
    def _open(self) -> _Open:
        return _Open(self.view.garden.no_feeding, self.products)

    def opens(self, day: date) -> date | None:
        """The first day from this one on which nitrogen may be given; None when a year stays closed."""
        for ahead in range(367):
            if self.closed(day + timedelta(days=ahead)) is None:
                return day + timedelta(days=ahead)
        return None

    def open_runs(
        self, first: date, last: date, shut: frozenset[date] = frozenset()
    ) -> list[Window]:
        """Unbroken stretches of open days between two dates; ``shut`` are days closed for another reason."""
        days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        runs = []
        for is_open, group in groupby(
            days, lambda one: one not in shut and self.closed(one) is None
        ):
            stretch = list(group)
            if is_open:
                runs.append(Window(stretch[0], stretch[0], stretch[-1]))
        return runs

    def bags(
        self, day: date, nitrogen: float, left: dict[str, float], *, by_label: bool
    ) -> list[Bag]:
        """Every usable bag on a day, in measures fit for a dose of so much nitrogen [g].

        ``left`` is what stands on the shelf of each product [g], for those the grower has weighed. With
        ``by_label`` nitrogen counts as printed, else as far as it is freed within a year.
        """
        return [self._bag(product, nitrogen, left, by_label) for product in self.on(day)]

    def freed_in_a_year(self, product: Product) -> float:
        """The share of a product's nitrogen that is freed within a year in this place."""
        if product.release not in self._freed:
            row = self.view.book.item("releases", product.release)
            usual = self.view.site.usual_mean
            warmth = 15.0 if usual is None else float(np.mean(usual))
            pools = ("fast_share", "fast_half_life", "slow_share", "slow_half_life", "q10")
            figures = [row[name].number for name in pools]
            freed = float(released_fraction_two_pool(365.0, warmth, *figures))
            self._freed[product.release] = freed
        return self._freed[product.release]

    @cached_property
    def _freed(self) -> dict[str, float]:
        return {}

    def salt(self, product: Product) -> float:
        """Salt of a gram of product, as grams of sodium nitrate: by its material, else by its label."""
        known = self.salt_row(product)
        if known is not None:
            return known.number / 100
        n, _, k2o = (part / 100 for part in product.grade)
        return (n + k2o) * self.view.constant("salt of quick nutrients").number

    def salt_row(self, product: Product) -> Fact | None:
        """The salt index of the material a product names, or is by its label; None where it is a mixture."""
        table = self.view.book.table("saltindex")
        if product.material is not None:
            row = table.get(product.material)
            return None if row is None else row["index"]
        materials = self.view.book.table("materials")
        for name, row in table.items():
            label = materials.get(name, {}).get("label")
            if label is not None and grade_of(label.text) == product.grade:
                return row["index"]
        return None

    def _bag(
        self, product: Product, nitrogen: float, left: dict[str, float], by_label: bool
    ) -> Bag:
        n, p2o5, k2o = (part / 100 for part in product.grade)
        if not by_label:
            n *= self.freed_in_a_year(product)
        release = self.view.book.item("releases", product.release)
        mass = nitrogen / (n or max(p2o5, k2o))
        price = None
        if product.price is not None and product.pack:
            price = product.price / product.pack
        return Bag(
            id=product.id,
            name=product.name,
            n=n,
            p2o5=p2o5,
            k2o=k2o,
            step=measure_of(mass, product.cup_mass),
            on_hand=left.get(product.id),
            price=price,
            opened=product.opened,
            at_most=product.at_most,
            salt=self.salt(product) * release["fast_share"].number,
        )


class _Open(dict[tuple[bool, ...], tuple[Product, ...]]):
    """What may be given under each set of rules that hold together, looked up when first asked for."""

    def __init__(self, rules: Sequence[NoFeeding], products: Sequence[Product]) -> None:
        super().__init__()
        self.rules, self.products = rules, products

    def __missing__(self, holding: tuple[bool, ...]) -> tuple[Product, ...]:
        hold = [rule for rule, holds in zip(self.rules, holding, strict=True) if holds]
        found = self[holding] = tuple(
            product
            for product in self.products
            if not any(forbidden(rule, product) for rule in hold)
        )
        return found


def measure_of(mass: float, cup: float | None) -> float:
    """The measure a dose of about this mass is taken in [g]: quarter cups, spoons, or round grams.

    A measure is only taken where a dose is at least three of it, so that rounding stays small.
    """
    for parts in CUP_PARTS if cup else ():
        if cup and mass >= 3 * cup / parts:
            return cup / parts
    for most, grams in ((20.0, 1.0), (100.0, 5.0), (1000.0, 10.0)):
        if mass < most:
            return grams
    return 50.0


def in_measures(mass: float, cup: float | None) -> str:
    """A mass in level cups or spoons as a cook says it, or nothing where no cup was weighed."""
    if not cup:
        return ""
    quarters = 4 * mass / cup
    if abs(quarters - round(quarters)) < 0.02 and round(quarters) >= 1:
        whole, part = divmod(round(quarters), 4)
        text = f"{whole or ''}{('', '¼', '½', '¾')[part]}"
        return said("{cups} level cups" if quarters > 4 else "{cups} level cup", cups=text)
    spoons = 16 * mass / cup
    if abs(spoons - round(spoons)) < 0.02 and round(spoons) >= 1:
        count = round(spoons)
        return said(
            "{count} level tablespoons" if count > 1 else "{count} level tablespoon", count=count
        )
    return ""
