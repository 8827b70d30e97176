"""The page of the weather record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bearwell.api import STATES, LoadedGarden, Record, gravest_first
from bearwell.faces.language import N_, _
from bearwell.faces.twins_weather import named
from bearwell.faces.weather import STATE_WORDS, apart
from bearwell.faces.web.drawing.record import record_drawing
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

_GAPS = 12  # listed on the page; the twin has them all


@dataclass(frozen=True)
class Column:
    """A column of the record and how much of it was measured."""

    title: str
    days: int
    percent: int


_TITLES = {
    "tmin": N_("Lowest of the day"),
    "tmax": N_("Highest of the day"),
    "rain": N_("Rain"),
    "rh_min": N_("Lowest humidity"),
    "rh_max": N_("Highest humidity"),
    "dew_point": N_("Dew point"),
    "wind": N_("Wind"),
    "sunshine": N_("Sunshine"),
    "solar": N_("Sun's energy"),
}


def weather_shown(opened: LoadedGarden, record: Record, words: Words) -> dict[str, Any]:
    """What the page shows."""
    span = sum(record.days.values())
    whole = (
        1 if record.start is None or record.end is None else (record.end - record.start).days + 1
    )
    wide, narrow = (
        record_drawing(record.years, opened.today, words, narrow=narrow) for narrow in (False, True)
    )
    series = opened.site.series
    here = {one.where for one in record.reports} | set(series.sources if series else ())
    return {
        "opened": opened,
        "record": record,
        "wide": wide,
        "narrow": narrow,
        "state_words": STATE_WORDS,
        "counts": [(state, record.days[state]) for state in STATES if record.days[state]],
        "span": span,
        "columns": [
            Column(_(_TITLES[name]), days, round(100 * days / whole))
            for name, days in record.known.items()
        ],
        "gaps": sorted(record.gaps, key=lambda one: -one.days)[:_GAPS],
        "more_gaps": max(len(record.gaps) - _GAPS, 0),
        "sources": [(named(opened, one.where), one) for one in record.reports],
        "problems": [
            problem for problem in gravest_first(opened.problems) if problem.where in here
        ],
        "colder": opened.site.colder,
        "apart": lambda one: apart(one.value, one.low, one.high, words),
        "Quantity": Quantity,
    }
