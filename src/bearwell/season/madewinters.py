"""Winters made up about the monthly normals of a place, for odds where none was measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from bearwell.knowledge import Knowledge
from bearwell.reasons import Because, from_fact
from bearwell.season.site import SiteSeason
from bearwell.weather.generator import generate
from bearwell.weather.normals import CoolSeason, Normals, climate

SEED = 20


@dataclass(frozen=True)
class MadeWinters:
    """Winters that never were: how many, how far off their cold nights may be [K], and how they were made."""

    seasons: tuple[CoolSeason, ...]
    error: float
    because: tuple[Because, ...]


def made_winters(site: SiteSeason, book: Knowledge) -> MadeWinters | None:
    """Winters about the normals of a site; None where a winter was measured or no normals are given.

    One garden on one day of a year has one set of them: the seed is settled.
    """
    place = site.climate
    if place is None or place.seasons or place.normals is None:
        return None
    count, error = (
        book.constant(name) for name in ("winters made from normals", "error of made winters")
    )
    normals = place.normals
    seasons = _drawn(_key(normals), round(count.number), site.today.year, site.southern)
    links = (
        from_fact(
            "No winter is measured: {value} were made up about the monthly normals, with the spread of a mild "
            "maritime place",
            count,
        ),
        from_fact("so their cold nights may lie {value} off those of this place", error),
    )
    return MadeWinters(seasons, error.number, links)


_Key = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]


def _key(normals: Normals) -> _Key:
    low, high, rain = (
        tuple(float(one) for one in column)
        for column in (normals.tmin, normals.tmax, np.nan_to_num(normals.rain))
    )
    return low, high, rain


@lru_cache(maxsize=32)
def _drawn(key: _Key, count: int, year: int, southern: bool) -> tuple[CoolSeason, ...]:
    normals = Normals(*(np.array(column) for column in key))
    start, end = date(year - count - 1, 1, 1), date(year - 1, 12, 31)
    made = generate(normals, start, end, np.random.default_rng(SEED))
    return climate(made, southern=southern).seasons[-count:]
