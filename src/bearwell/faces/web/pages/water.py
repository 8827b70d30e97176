"""The pages of water: a tree's account with its drawing, and the sheet of the whole garden."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bearwell.api import LoadedGarden, TreeWatering, WaterDay, reasons, water_days, watered_deep
from bearwell.faces.language import _, say
from bearwell.faces.watering import (
    RANK_WORDS,
    WHY_WORDS,
    notes_of,
    rounds_shown,
    sheet_of,
    stretches,
    turns,
)
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.web.drawing.water import water_drawing
from bearwell.faces.web.pages.tree import place
from bearwell.faces.words import Words
from bearwell.quantities import Quantity


def tree_shown(opened: LoadedGarden, watering: TreeWatering, words: Words) -> dict[str, Any]:
    """What the page of a tree's water shows."""
    tree, state = watering.view.tree, watering.state
    days = water_days(opened, watering)
    known = max((one.day for one in days if one.ahead and one.measured), default=None)
    drawings = [
        water_drawing(days, state.zone.total, known, words, narrow=narrow, name=tree.called)
        for narrow in (False, True)
    ]
    return {
        "tree": tree,
        "watering": watering,
        "state": state,
        "place": place(tree, words),
        "turns": turns(rounds_shown(watering, words), words),
        "notes": notes_of(watering, words),
        "because": reasons(watering),
        "stretches": stretches(days),
        "drawing": readable(drawings, readings(days, words)),
        "known": known,
        "deep": watered_deep(watering),
        "ready_mm": state.ready / state.zone.area,
        "why_words": WHY_WORDS,
        "Quantity": Quantity,
    }


def readings(days: Sequence[WaterDay], words: Words) -> Readings:
    """What each day of the drawing says."""
    today = next((place for place, one in enumerate(days) if one.ahead), len(days) - 1)
    found = Readings(
        _(
            "Point at a day, touch it, or go through the days with the arrow keys, to read its figures."
        ),
        today,
    )

    def mm(value: float) -> str:
        return words.quantity(Quantity(value, "mm"))

    for one in days:
        sentence = _(
            "{day}: rain {rain}, given {given}, used {used}, ran through {drained}; "
            "missing in the evening {missing}, short from {short}."
        )
        if one.ahead:
            sentence = _(
                "{day}, as planned: rain {rain}, given {given}, used {used}, runs through {drained}; "
                "missing in the evening {missing}, short from {short}."
            )
        found.add(
            sentence, day=words.day(one.day), rain=mm(one.rain), given=mm(one.given + one.supposed), used=mm(one.used),
            drained=mm(one.drained), missing=mm(one.missing), short=mm(one.short),
        )  # fmt: skip
    return found


def sheet_shown(opened: LoadedGarden, words: Words) -> dict[str, Any]:
    """What the sheet of water shows."""
    cautions = dict.fromkeys(
        say(text)
        for tree in opened.garden.trees
        for one in opened.advice(tree)
        if one.kind == "water"
        for text in one.cautions
    )
    return {
        "listed": sheet_of(opened, words),
        "rules": opened.garden.no_watering,
        "cautions": list(cautions),
        "ranks": RANK_WORDS,
        "why_words": WHY_WORDS,
        "Quantity": Quantity,
    }
