"""What to buy: the doses of every tree together, less what is on the shelf, in whole bags."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bearwell.errors import BadInput
from bearwell.said import said


@dataclass(frozen=True, slots=True)
class Purchase:
    """One product to buy.

    Masses in g: ``needed`` in all doses, ``on_hand`` on the shelf (None: the grower did not say, so
    none is counted), ``short`` the difference, ``left`` what stays over. ``bags`` and ``left`` are None
    when the pack is not known, ``cost`` when the pack or the price is not.
    """

    id: str
    needed: float
    on_hand: float | None
    short: float
    pack: float | None
    bags: int | None
    left: float | None
    cost: float | None


def together(doses: Iterable[tuple[str, float]]) -> dict[str, float]:
    """Doses (bag, g) of any number of blends added up by bag."""
    total: dict[str, float] = {}
    for bag, mass in doses:
        total[bag] = total.get(bag, 0.0) + mass
    return total


def shopping(
    doses: Mapping[str, float],
    stock: Mapping[str, float | None],
    packs: Mapping[str, float | None],
    prices: Mapping[str, float | None] | None = None,
) -> list[Purchase]:
    """Whole bags that cover the doses [g by bag] beyond the stock, by id; prices are per g."""
    for what, table in (
        (said("dose"), doses),
        (said("stock"), stock),
        (said("price"), prices or {}),
    ):
        for bag, value in table.items():
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise BadInput(
                    said(
                        "the {what} of '{bag}' is {value:g}, which cannot be",
                        what=what,
                        bag=bag,
                        value=value,
                    ),
                    "0 or more",
                )
    for bag, pack in packs.items():
        if pack is not None and not (math.isfinite(pack) and pack > 0):
            raise BadInput(
                said("the pack of '{bag}' is {pack:g} g, which cannot be", bag=bag, pack=pack),
                "above 0",
            )
    bought = []
    for bag, needed in sorted(doses.items()):
        on_hand = stock.get(bag)
        short = needed - (on_hand or 0.0)
        if short <= 1e-6:  # a microgram is rounding, not feed
            continue
        pack, price = packs.get(bag), (prices or {}).get(bag)
        bags = None if pack is None else math.ceil((short - 1e-6) / pack)
        mass = None if bags is None or pack is None else bags * pack
        bought.append(
            Purchase(
                bag,
                needed,
                on_hand,
                short,
                pack,
                bags,
                None if mass is None else max(0.0, mass - short),
                None if mass is None or price is None else mass * price,
            )
        )
    return bought
