"""Tonight: the curve to draw, the trees that are in danger, and the readings typed on the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from markupsafe import Markup

from bearwell.api import (
    SORTS,
    Evening,
    LoadedGarden,
    NightAhead,
    TreeTonight,
    evening_reading,
    tonight,
)
from bearwell.errors import BadInput
from bearwell.faces.language import N_, _, say
from bearwell.faces.web.drawing.night import Hour, Level, night_drawing
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, convert

FIELDS = ("temperature", "dew_point", "wind", "sky")
LEVELS_DRAWN = 6
_NEAR = 3.0  # K below the night within which limits are drawn
_STEPS = 4  # of an hour in the drawing
_WHEN = {
    "by day": N_("By day"),
    "before sunset": N_("Before sunset"),
    "at nightfall": N_("At nightfall"),
}


@dataclass(frozen=True)
class Typed:
    """What was typed into the form, the reading it makes, and what is wrong with it."""

    values: Mapping[str, str]
    reading: Evening | None
    complaint: BadInput | None


def typed(opened: LoadedGarden, query: Mapping[str, str]) -> Typed:
    """The readings of a request; nothing typed is no reading."""
    values = {key: query.get(key, "").strip() for key in FIELDS}
    if not any(values.values()):
        return Typed(values, None, None)
    unit = " degF" if opened.garden.about.units == "us" else ""
    air, damp = (
        f"{values[key]}{unit}" if values[key] and values[key][-1:].isdigit() else values[key]
        for key in ("temperature", "dew_point")
    )
    try:
        reading = evening_reading(opened.today, air, damp, values["wind"], values["sky"])
    except BadInput as error:
        return Typed(values, None, error)
    return Typed(values, reading, None)


def shown(opened: LoadedGarden, said: Typed, words: Words) -> dict[str, Any]:
    """Everything the page shows."""
    ahead = tonight(opened, said.reading)
    plan = ahead.plan
    endangered = [one for one in plan.trees if one.spell is not None or one.worst.chance >= 0.05]
    hours = _hours(ahead)
    drawn = marks(plan.trees, min((one.low for one in hours), default=0.0))
    drawings = [_drawing(ahead, drawn, words, narrow=narrow) for narrow in (False, True)]
    return {
        "ahead": ahead,
        "plan": plan,
        "night": plan.night,
        "sort_words": SORTS,
        "when_words": _WHEN,
        "endangered": endangered,
        "safe": len(plan.trees) - len(endangered),
        "drawing": readable(drawings, readings(_hours(ahead, _STEPS), drawn, words)),
        "hours": hours,
        "marks": drawn if hours else [],
        "typed": said,
        "trees": {tree.id: tree for tree in opened.garden.trees},
        "Quantity": Quantity,
        "mark": f"{opened.garden.about.name}/{plan.today.isoformat()}",
    }


def _hours(ahead: NightAhead, parts: int = 1) -> list[Hour]:
    """The night by hours with clock time and how sure it is; none where its evening is unknown."""
    night = ahead.plan.night
    if night is None or ahead.begins is None:
        return []
    found = []
    for hour, air in night.hours(parts):
        share = (hour / night.length) ** 0.5 if night.length else 0.0
        clock = (ahead.begins + timedelta(hours=hour)).strftime("%H:%M")
        reach = night.error * share
        found.append(Hour(hour, clock, air, air - reach, air + reach))
    return found


@dataclass(frozen=True)
class Mark:
    """A level of the drawing: its number, the air in the open [degC], and whose limits lie there."""

    number: int
    air: float
    names: tuple[str, ...]


def marks(trees: tuple[TreeTonight, ...], lowest: float) -> list[Mark]:
    """The limits nearest to the night, as air in the open: what the place lifts is taken off."""
    found: dict[float, list[str]] = {}
    for one in trees:
        worst = one.worst
        at = round(worst.limit.temperature - one.night.lift, 1)
        if at >= lowest - _NEAR and (at in found or len(found) < LEVELS_DRAWN):
            found.setdefault(at, []).append(f"{one.view.tree.called}: {say(worst.limit.organ)}")
    ordered = sorted(found.items(), reverse=True)
    return [Mark(n, air, tuple(names)) for n, (air, names) in enumerate(ordered, 1)]


def _drawing(ahead: NightAhead, drawn: list[Mark], words: Words, *, narrow: bool) -> Markup:
    hours = _hours(ahead, _STEPS)
    if not hours:
        return Markup("")
    near = [Level(one.air, str(one.number)) for one in drawn]
    values = [*(one.high for one in hours), *(one.low for one in hours), *(o.air for o in near)]
    text = _(
        "From {evening} at {begin} to {dawn} at {end}. The table below says the same.",
        evening=words.quantity(Quantity(hours[0].air, "degC")),
        begin=hours[0].clock,
        dawn=words.quantity(Quantity(hours[-1].air, "degC")),
        end=hours[-1].clock,
    )
    return night_drawing(
        hours, near, degrees(min(values), max(values), words), narrow=narrow, described=text
    )


def readings(hours: list[Hour], drawn: list[Mark], words: Words) -> Readings:
    """What each quarter of an hour of the drawing says."""
    found = Readings(
        _("Point at an hour, touch it, or go through the night with the arrow keys, to read it.")
    )

    def said(air: float) -> str:
        return words.quantity(Quantity(air, "degC"))

    for one in hours:
        below = [str(mark.number) for mark in drawn if one.air < mark.air]
        sentence = _("{clock}: {air} ({low} to {high}).")
        if len(below) == 1:
            sentence = _("{clock}: {air} ({low} to {high}); below line {numbers}.")
        elif below:
            sentence = _("{clock}: {air} ({low} to {high}); below lines {numbers}.")
        found.add(
            sentence, clock=one.clock, air=said(one.air), low=said(one.low), high=said(one.high),
            numbers=", ".join(below),
        )  # fmt: skip
    return found


def degrees(low: float, high: float, words: Words) -> list[tuple[float, str]]:
    """Even steps of a scale of temperature, in the garden's units [degC]."""
    fahrenheit = words.units == "us"
    unit = "degF" if fahrenheit else "degC"
    ends = [convert(end, "degC", unit) for end in (low, high)]
    step = next((s for s in (1, 2, 5, 10, 20) if (ends[1] - ends[0]) / s <= 9), 50)
    first = int(ends[0] // step) * step
    marks = range(first, int(ends[1]) + step + 1, step)
    return [
        (
            convert(float(mark), unit, "degC"),
            words.quantity(Quantity(convert(float(mark), unit, "degC"), "degC")),
        )
        for mark in marks
    ]
