"""The bags on the shelf: which may be used on a day, which suits a tree, and a dose a grower can measure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bearwell.garden import NoFeeding, Product
from bearwell.plan.view import View
from bearwell.science.nutrients import product_mass_for_nutrient


@dataclass(frozen=True)
class Dose:
    """So much of one product [g], in level cups where the grower weighed one."""

    product: Product
    mass: float
    cups: float | None


def forbidden(rule: NoFeeding, product: Product) -> bool:
    """Whether a rule that holds keeps this product in its bag."""
    holds = dict(zip("NPK", product.grade, strict=True))
    return any(holds[nutrient] > 0 for nutrient in rule.nutrients)


def feeds(view: View) -> list[Product]:
    """Products that can carry a round for this tree: with nitrogen it can use, not kept for other trees."""
    least = view.constant("least release of a feed").number
    return [
        product
        for product in view.garden.products
        if product.grade[0] > 0
        and view.book.item("releases", product.release)["first_season"].number >= least
        and _kept_for(view, product) is not False
    ]


def _kept_for(view: View, product: Product) -> bool | None:
    """True when the grower keeps it for this tree, False for others, None when for any tree."""
    if not product.kept_for:
        return None
    mine = {view.tree.id, *view.species.lineage, "pot" if view.tree.pot else "ground"}
    return bool(mine & set(product.kept_for))


def closing_rule(view: View, day: date) -> NoFeeding | None:
    """The rule that leaves no usable product on this day, if there is one."""
    usable = feeds(view)
    for rule in view.garden.no_feeding:
        if not rule.covers(day):
            continue
        if all(forbidden(rule, product) for product in usable) and (
            usable or "N" in rule.nutrients
        ):
            return rule
    return None


def choose_dose(view: View, nitrogen: float, day: date) -> Dose | None:
    """The bag whose N-P-K comes nearest to what this kind wants, and how much of it.

    A bag the grower keeps for this tree comes first; one too empty for the dose comes after one that
    is not; products a rule forbids on the day are left out.
    """
    species = view.species
    wanted = (species["feeding_p2o5_per_n"].number, species["feeding_k2o_per_n"].number)
    best: tuple[tuple[float, ...], Dose] | None = None
    for product in feeds(view):
        n, p, k = product.grade
        if any(rule.covers(day) and forbidden(rule, product) for rule in view.garden.no_feeding):
            continue
        mass, cups = _measurable(product_mass_for_nutrient(nitrogen, n / 100), product.cup_mass)
        short = product.on_hand is not None and product.on_hand < mass
        apart = abs(p / n - wanted[0]) + abs(k / n - wanted[1])
        score = (float(not _kept_for(view, product)), float(short), apart, product.price or 0.0)
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


def cups_in_words(cups: float) -> str:
    """Quarter cups as a cook writes them: 3½."""
    whole, part = divmod(round(cups * 4), 4)
    return f"{whole or ''}{('', '¼', '½', '¾')[part]}" or "0"
