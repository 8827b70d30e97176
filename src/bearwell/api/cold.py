"""Use cases of cold: tonight in the whole garden, and what its winters are like."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from bearwell.api.gardens import LoadedGarden
from bearwell.errors import BadInput, BearwellError
from bearwell.garden import Evening
from bearwell.plan.nights import clock_times
from bearwell.plan.outlook import Outlook, plan_outlook
from bearwell.plan.tonight import Tonight, plan_tonight
from bearwell.plan.view import View
from bearwell.quantities import parse
from bearwell.said import said


@dataclass(frozen=True)
class NightAhead:
    """Tonight with its clock times: two hours after sunset, and sunrise; None where there is neither."""

    plan: Tonight
    begins: datetime | None
    ends: datetime | None


def _views(opened: LoadedGarden) -> list[View]:
    """Every tree that can be planned, in the order of the garden file."""
    views = []
    for tree in opened.garden.trees:
        try:
            views.append(opened.view(tree))
        except BearwellError as error:
            opened.trouble(tree, error)
    return views


def evening_reading(
    today: date, air: str, dew_point: str = "", wind: str = "", sky: str = ""
) -> Evening:
    """An evening's readings as typed; BadInput says which cannot be.

    A bare number is in degrees Celsius, or metres a second for wind; units may be written.
    """
    named = (
        (said("temperature"), air, "air_temperature"),
        (said("dew point"), dew_point, "air_temperature"),
        (said("wind"), wind, "wind_speed"),
    )
    t0, td, speed = (_typed(*one) for one in named)
    if t0 is None:
        raise BadInput("the evening has no temperature", "read two hours after sunset, such as 5.2")
    if td is not None and td > t0:
        raise BadInput(
            "the dew point is above the air temperature", "were the two readings exchanged?"
        )
    if sky not in ("", "clear", "cloudy"):
        raise BadInput(said("sky '{sky}' is not known", sky=sky), "clear or cloudy")
    told: Literal["clear", "cloudy"] | None = (
        "clear" if sky == "clear" else "cloudy" if sky else None
    )
    return Evening.model_construct(date=today, t0=t0, td=td, wind=speed, sky=told)


def _typed(what: str, text: str, quantity: str) -> float | None:
    if not text.strip():
        return None
    try:
        return parse(text, quantity, bare=True)
    except BadInput as error:
        raise BadInput(
            said("{what}: {message}", what=what, message=error.message), error.hint
        ) from None


def tonight(opened: LoadedGarden, reading: Evening | None = None) -> NightAhead:
    """Tonight for the whole garden; ``reading`` stands in for the evening's readings of the file."""
    if reading is None and "tonight" in opened.kept:
        kept: NightAhead = opened.kept["tonight"]
        return kept
    plan = plan_tonight(_views(opened), opened.today, reading)
    times = None if plan.night is None else clock_times(opened.site, plan.night, opened.book)
    begins, ends = times or (None, None)
    ahead = NightAhead(plan, begins, ends)
    if reading is None:
        opened.kept["tonight"] = ahead
    return ahead


def winter(opened: LoadedGarden) -> Outlook:
    """The winters of a garden by its record, its shelters, and how its trees fit the place."""
    if "winter" not in opened.kept:
        opened.kept["winter"] = plan_outlook(
            _views(opened), opened.site, opened.garden, opened.book
        )
    kept: Outlook = opened.kept["winter"]
    return kept
