"""The garden from above: what the page says of crowding, and how a place is written."""

from __future__ import annotations

from typing import Any

from bearwell.api import Canopy, Crowd, GroundPlan, LoadedGarden
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
    pair = f"{_name(crowd.one)} and {_name(crowd.other)}"
    trunks = f"{_length(crowd.trunks, words)} from trunk to trunk"
    if crowd.trunks == 0:
        return f"{pair} stand on the same spot: check their places"
    if crowd.touching:
        return f"{pair} touch already: {trunks}, {_length(-crowd.apart, words)} of canopy in each other's way"
    years = words.quantity(Quantity(float(plan.years), "yr"))
    gap = f"{trunks}, {_length(crowd.apart, words)} between their canopies now"
    if crowd.expected:
        return f"{pair} will touch within {years} if nobody cuts them back: {gap}"
    return f"{pair} may touch within {years} if both grow fast: {gap}"


def _name(canopy: Canopy) -> str:
    return canopy.tree.called


def _length(metres: float, words: Words) -> str:
    return words.quantity(Quantity(round(metres, 2), "m"))


def place_line(east: float, north: float) -> str:
    """The line of a garden file that says where something stands."""
    return f'place = {{ east = "{east:g} m", north = "{north:g} m" }}'
