"""The JSON twins of what is printed and of the garden from above."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from bearwell.api import Advice, Canopy, GroundPlan, LoadedGarden
from bearwell.faces.language import say
from bearwell.faces.twins import advice_twin
from bearwell.faces.words import Words

if TYPE_CHECKING:
    from bearwell.faces.web.drawing.poster import Line
    from bearwell.faces.web.pages.paper import TagSheet, WeekSheet


def week_sheet_twin(found: WeekSheet, words: Words) -> dict[str, Any]:
    """The week's sheet."""
    return {
        "today": found.today.isoformat(),
        "days": found.days,
        "minutes": round(found.minutes),
        "minutes_looking": round(found.minutes_looking),
        "carry": [
            {
                "product": one.product.id,
                "g": one.mass,
                "measures": say(one.measures),
                "lacking_g": one.lacking,
            }
            for one in found.carry
        ],
        "walk": [
            {
                "tree": stop.tree.id,
                "name": stop.tree.called,
                "place": stop.place,
                "jobs": [advice_twin(one, words) for one in stop.jobs],
            }
            for stop in found.stops
        ],
        "looks": [
            {
                "trees": group.trees,
                "headline": words.phrase(group.lead.headline),
                "until": group.window.latest.isoformat(),
            }
            for group in found.looks
        ],
        "held": [_brief(one, words) for one in found.held],
        "missed": [_brief(one, words) for one in found.missed],
        "cautions": [{"kind": kind, "texts": list(texts)} for kind, texts in found.cautions],
    }


def _brief(one: Advice, words: Words) -> dict[str, Any]:
    return {
        "id": one.id,
        "tree": one.tree,
        "headline": words.phrase(one.headline),
        "latest": one.window.latest.isoformat(),
    }


def poster_twin(
    garden: str, first: date, last: date, lines: Sequence[Line], paper: str
) -> dict[str, Any]:
    """The year's poster."""
    return {
        "garden": garden,
        "paper": paper,
        "from": first.isoformat(),
        "to": last.isoformat(),
        "trees": [
            {
                "tree": line.tree,
                "name": line.name,
                "kind": line.kind,
                "stages": [
                    {
                        "name": one.name,
                        "from": one.start.isoformat(),
                        "to": one.end.isoformat(),
                        "seen": one.seen,
                    }
                    for one in line.stretches
                ],
                "jobs": [
                    {
                        "name": one.name,
                        "kind": one.kind,
                        "earliest": one.first.isoformat(),
                        "best": one.best.isoformat(),
                        "latest": one.last.isoformat(),
                        "held": one.held,
                    }
                    for one in line.jobs
                ],
            }
            for line in lines
        ],
    }


def tags_twin(found: TagSheet) -> dict[str, Any]:
    """Tags for the trees."""
    return {
        "garden": found.garden,
        "base": found.base,
        "size": found.size,
        "across": found.across,
        "down": found.down,
        "skip": found.skip,
        "tags": [
            {
                "tree": one.tree,
                "name": one.name,
                "kind": one.kind,
                "botanical": one.botanical,
                "rootstock": one.rootstock,
                "planted": one.planted.isoformat(),
                "address": one.address,
            }
            for one in found.tags
        ],
    }


def paper_twin(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """What there is to print."""
    return {"sheets": [dict(row) for row in rows]}


def map_twin(opened: LoadedGarden, plan: GroundPlan) -> dict[str, Any]:
    """The garden from above."""
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "years_ahead": plan.years,
        "trees": [
            {
                "tree": one.tree.id,
                "name": one.tree.called,
                "kind": say(one.kind),
                "east_m": one.east,
                "north_m": one.north,
                "spread_m": _cm(one.spread),
                "spread_ahead_m": _cm(one.later),
                "spread_ahead_low_m": _cm(one.later_low),
                "spread_ahead_high_m": _cm(one.later_high),
                "height_m": _cm(one.height),
                "supposed": one.supposed,
            }
            for one in plan.canopies
        ],
        "shelters": [
            {
                "shelter": one.id,
                "shape": one.shape,
                "east_m": None if one.place is None else one.place.east,
                "north_m": None if one.place is None else one.place.north,
                "length_m": one.length,
                "width_m": one.width,
                "lies_deg": one.lies,
            }
            for one in plan.shelters
        ],
        "crowding": [
            {
                "trees": [_id(crowd.one), _id(crowd.other)],
                "trunks_m": _cm(crowd.trunks),
                "apart_m": _cm(crowd.apart),
                "apart_ahead_m": _cm(crowd.apart_later),
                "apart_ahead_least_m": _cm(crowd.apart_least),
                "touching": crowd.touching,
                "expected": crowd.expected,
            }
            for crowd in plan.crowds
        ],
    }


def _cm(metres: float) -> float:
    """Metres to the centimetre: no tape in a garden reads finer."""
    return round(metres, 2)


def _id(canopy: Canopy) -> str:
    return canopy.tree.id
