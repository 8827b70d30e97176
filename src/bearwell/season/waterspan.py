"""The water of one tree over past weeks or months: what it asked for, what it had, and what lacked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.knowledge import Knowledge, Species
from bearwell.science.dualwater import dual_day_fao56
from bearwell.season.cycle import Cycle
from bearwell.season.site import SiteSeason
from bearwell.season.size import Size
from bearwell.season.water import days_of, root_zone


@dataclass(frozen=True)
class WaterSpan:
    """A tree's water between two days, both included, in litres on its ground.

    ``asked`` is what its leaves asked for, ``rain`` what fell on its ground and counted, ``given`` what was
    written down, ``supposed`` what a pot must have had beside that, ``lacking`` what its leaves went without.
    ``short_days`` are days on which it was short, ``unmeasured`` those that stand on the usual weather.
    """

    first: date
    last: date
    asked: float
    rain: float
    given: float
    supposed: float
    lacking: float
    short_days: int
    unmeasured: int

    @property
    def days(self) -> int:
        """How many days."""
        return (self.last - self.first).days + 1


def water_span(
    tree: Tree,
    species: Species,
    cycle: Cycle,
    size: Size,
    site: SiteSeason,
    garden: Garden,
    book: Knowledge,
    first: date,
    last: date,
) -> WaterSpan | None:
    """The account of a span that begins with moist ground; None where even the usual weather is unknown.

    A pot that is short and has no watering on record is supposed to have had what it lacked, as it lives.
    """
    demand = site.demand(first, last, garden.watering.wind_height)
    if not len(demand) or not np.isfinite(demand.et0).all():
        return None
    zone, _ = root_zone(tree, species, size, garden, book, last)
    days = days_of(tree, species, cycle, size, site, book, zone, demand, 0)
    state = 0.0, 0.0, 1.0
    given = days.given.tolist()
    supposed = lacking = 0.0
    short_days = 0
    for index, (rain, *rest) in enumerate(days.inputs):
        day = dual_day_fao56(zone.ground, *state, rain, given[index], *rest)
        state = day[:3]
        short = float(days.share[index]) * zone.total
        if zone.pot and state[0] > short:
            supposed += state[0] - short
            state = short, day.surface, day.wet
        elif state[0] > short:
            short_days += 1
            lacking += (1.0 - day.stress) * float(days.et0[index] * days.basal[index])
    return WaterSpan(
        first,
        last,
        float((days.et0 * days.basal).sum()) * zone.area,
        float(days.rain.sum()) * zone.area,
        float(days.given.sum()) * zone.area,
        supposed * zone.area,
        lacking * zone.area,
        short_days,
        int((~demand.measured).sum()),
    )
