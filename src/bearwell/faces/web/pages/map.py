"""The garden from above: what the page says of crowding, and how a place is written."""

from __future__ import annotations

from typing import Any

from bearwell.api import Canopy, Crowd, GroundPlan, LoadedGarden
from bearwell.faces.language import _
from bearwell.faces.web.drawing.map import map_drawing
from bearwell.faces.words import Words
from bearwell.quantities import Quantity


def map_shown(opened: LoadedGarden, plan: GroundPlan, words: Words) -> dict[str, Any]:
    """What the page shows."""
    waiting = [one for one in plan.shelters if one.place is None]
    return {
        "plan": plan,
        "drawing": map_drawing(plan, words, opened.garden.about.name),
        "ahead": words.quantity(Quantity(float(plan.years), "yr")),
        "crowds": [crowd_words(crowd, plan, words) for crowd in plan.crowds],
        "shelters": waiting,
        "supposed": any(one.supposed for one in plan.placed),
        "example": place_line(3.2, 1.5),
        "Quantity": Quantity,
    }


def crowd_words(crowd: Crowd, plan: GroundPlan, words: Words) -> str:
    """Two crowded trees in a sentence."""
    values = {
        "one": _name(crowd.one),
        "other": _name(crowd.other),
        "trunks": _length(crowd.trunks, words),
        "years": words.quantity(Quantity(float(plan.years), "yr")),
    }
    if crowd.trunks == 0:
        return _("{one} and {other} stand on the same spot: check their places", **values)
    if crowd.touching:
        return _(
            "{one} and {other} touch already: {trunks} from trunk to trunk, {overlap} of canopy in each other's way",
            overlap=_length(-crowd.apart, words),
            **values,
        )
    gap = _length(crowd.apart, words)
    if crowd.expected:
        return _(
            "{one} and {other} will touch within {years} if nobody cuts them back: {trunks} from trunk to trunk, "
            "{gap} between their canopies now",
            gap=gap,
            **values,
        )
    return _(
        "{one} and {other} may touch within {years} if both grow fast: {trunks} from trunk to trunk, {gap} between "
        "their canopies now",
        gap=gap,
        **values,
    )


def _name(canopy: Canopy) -> str:
    return canopy.tree.called


def _length(metres: float, words: Words) -> str:
    return words.quantity(Quantity(round(metres, 2), "m"))


def place_line(east: float, north: float) -> str:
    """The line of a garden file that says where something stands."""
    return f'place = {{ east = "{east:g} m", north = "{north:g} m" }}'
