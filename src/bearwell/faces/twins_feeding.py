"""The JSON twins of feeding: a tree's feeding year, the shelf, the feeding sheet."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from bearwell.api import FeedingYear, LoadedGarden, Shelf, Window
from bearwell.faces.feeding import (
    Account,
    Dose,
    Floats,
    Shown,
    brought,
    shares,
    why_this_route,
)
from bearwell.faces.language import say
from bearwell.faces.shelf import Sheet, unserved, unused_because
from bearwell.faces.twins import because_twin
from bearwell.faces.words import Words
from bearwell.quantities import Quantity


def _amount(quantity: Quantity, places: int = 2) -> dict[str, float | None]:
    return {
        name: None if value is None else round(value, places)
        for name, value in (
            ("value", quantity.value),
            ("low", quantity.low),
            ("high", quantity.high),
        )
    }


def _window(window: Window) -> dict[str, str]:
    return {
        "earliest": window.earliest.isoformat(),
        "best": window.best.isoformat(),
        "latest": window.latest.isoformat(),
    }


def _dose(dose: Dose) -> dict[str, Any]:
    return {"product": dose.product.id, "g": round(dose.mass, 2), "measures": say(dose.measures)}


def _sums(sums: dict[str, float]) -> dict[str, float]:
    return {name: round(value, 3) for name, value in sums.items()}


def _daily(values: Floats, places: int) -> list[float]:
    return [float(one) for one in np.round(values, places)]


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def feeding_twin(
    year: FeedingYear, rounds: list[Shown], kept: Account, today: date, words: Words
) -> dict[str, Any]:
    """A tree's feeding year; daily flows in g of nitrogen, the bank as a share of full."""
    need, ledger = year.need, year.ledger
    part = slice(ledger.index(kept.first), ledger.index(kept.last) + 1)
    totals = brought(rounds, today)
    return {
        "tree": year.tree.id,
        "name": year.tree.called,
        "today": today.isoformat(),
        "need": {
            "n_g": _amount(need.nitrogen),
            "p2o5_g": _amount(need.p2o5),
            "k2o_g": _amount(need.k2o),
            "followed": need.followed,
            "routes": [
                {
                    "route": route.name,
                    "n_g": _amount(route.nitrogen),
                    "followed": route.name == need.followed,
                    "because": [because_twin(link, words) for link in route.because],
                }
                for route in need.routes
            ],
            "because": [because_twin(link, words) for link in why_this_route(year)],
        },
        "others": [
            {
                "nutrient": one.nutrient,
                "removed_g": None if one.removed is None else _amount(one.removed, 4),
                "leaf_grade": one.grade,
                "short": one.short,
                "because": [because_twin(link, words) for link in one.because],
            }
            for one in year.others
        ],
        "given_n_g": round(year.given, 2),
        "past_supposed": year.past_supposed,
        "planned_g": {
            "n": round(totals.n, 2),
            "n_counted": round(totals.counted, 2),
            "p2o5": round(totals.p2o5, 2),
            "k2o": round(totals.k2o, 2),
        },
        "rounds": [
            {
                "round": one.placed.round.number,
                "rounds": one.placed.round.of,
                "part": one.placed.round.part,
                "parts": one.placed.round.parts,
                "window": _window(one.placed.window),
                "standing": one.standing,
                "doses": [_dose(dose) for dose in one.doses],
                "n_g": round(one.label[0], 2),
                "p2o5_g": round(one.label[1], 2),
                "k2o_g": round(one.label[2], 2),
                "n_counted_g": None if one.counted is None else round(one.counted, 2),
                "bought": one.placed.bought,
                "given_on": None if one.placed.given is None else _day(one.placed.given.date),
                "carried_by": _day(one.placed.carried_by),
                "rule": None if one.placed.rule is None else one.placed.rule.reason,
                "notes": list(one.notes),
            }
            for one in rounds
        ],
        "bloom": _day(year.bloom),
        "bank_at_bloom": None
        if kept.at_bloom is None
        else {
            "with_late_rounds": round(kept.at_bloom[0], 3),
            "without": round(kept.at_bloom[1], 3),
        },
        "late_rounds": {
            "from": kept.late[0].isoformat(),
            "to": kept.late[1].isoformat(),
            "planned": kept.late_rounds,
        },
        "year_behind_g": _sums(kept.behind),
        "year_ahead_g": _sums(kept.ahead),
        "year_ahead_without_late_g": _sums(kept.ahead_without),
        "months": [
            {
                "from": month.first.isoformat(),
                "to": month.last.isoformat(),
                **_sums(month.sums),
                "bank": round(month.bank, 3),
                "bank_without": round(month.bank_without, 3),
            }
            for month in kept.months
        ],
        "daily": {
            "start": kept.first.isoformat(),
            "given": _daily(ledger.given[part], 2),
            "wanted": _daily(ledger.wanted[part], 4),
            "freed": _daily(ledger.flow.freed[part], 4),
            "humus": _daily(ledger.humus[part], 4),
            "uptake": _daily(ledger.flow.uptake[part], 4),
            "leached": _daily(ledger.flow.leached[part], 4),
            "short": _daily(ledger.flow.short[part], 4),
            "bank": _daily(shares(ledger)[part], 4),
            "bank_without": _daily(shares(year.without_late)[part], 4),
        },
    }


def shelf_twin(opened: LoadedGarden, listed: Shelf, words: Words) -> dict[str, Any]:
    """The shelf over the coming year, and what to buy."""
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "products": [
            {
                "product": one.product.id,
                "name": one.product.name,
                "label": one.product.label,
                "release": one.product.release,
                "on_hand_g": one.product.on_hand,
                "used_g": round(one.used, 2),
                "trees": list(one.trees),
                "runs_out": _day(one.runs_out),
                "unused_because": None if one.used else unused_because(opened, one.product, words),
            }
            for one in listed.products
        ],
        "shopping": [
            {
                "product": one.id,
                "needed_g": round(one.needed, 2),
                "on_hand_g": one.on_hand,
                "short_g": round(one.short, 2),
                "pack_g": one.pack,
                "bags": one.bags,
                "cost": None if one.cost is None else round(one.cost, 2),
                "left_g": None if one.left is None else round(one.left, 2),
            }
            for one in listed.shopping
        ],
        "cost": None if listed.cost is None else round(listed.cost, 2),
        "unserved": [{"tree": one.tree.id, "rounds": one.rounds} for one in unserved(opened)],
    }


def sheet_twin(opened: LoadedGarden, listed: Sheet) -> dict[str, Any]:
    """The feeding sheet."""
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "days": listed.days,
        "minutes": round(listed.minutes),
        "lines": [
            {
                "tree": one.tree.id,
                "name": one.tree.called,
                "pot_l": None if one.tree.pot is None else one.tree.pot.volume,
                "round": one.placed.round.number,
                "rounds": one.placed.round.of,
                "part": one.placed.round.part,
                "parts": one.placed.round.parts,
                "window": _window(one.placed.window),
                "doses": [_dose(dose) for dose in one.doses],
                "ring_m": None
                if one.ring is None
                else {
                    "inner": round(one.ring.inner, 2),
                    "outer": round(one.ring.outer, 2),
                    "area_m2": round(one.ring.area, 2),
                },
                "bought": one.placed.bought,
                "notes": list(one.notes),
            }
            for one in listed.lines
        ],
        "totals": [
            {
                "product": one.product.id,
                "g": round(one.mass, 2),
                "measures": say(one.measures),
                "lacking_g": round(one.lacking, 2),
            }
            for one in listed.totals
        ],
        "held_back": [
            {"tree": one.tree.id, "window": _window(one.window), "reason": one.reason}
            for one in listed.held
        ],
        "cautions": list(listed.cautions),
    }
