"""The garden as it was read: site, weather, shelf, rules, shelters and problems."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from bearwell import api
from bearwell.api import LoadedGarden, gravest_first
from bearwell.faces.twins import problem_twin
from bearwell.faces.web.pages.record import Kept, one, stamp_of
from bearwell.faces.web.pages.typed import Form

if TYPE_CHECKING:
    from bearwell.api import Store


@dataclass(frozen=True)
class WeatherRecord:
    """What the daily weather covers."""

    start: date
    end: date
    days: int
    filled: int
    missing: int
    ahead: int
    sources: tuple[str, ...]
    terms: tuple[str, ...] = ()


def weather_record(opened: LoadedGarden) -> WeatherRecord | None:
    """The daily record in a few figures, or nothing where there is none."""
    series = opened.site.series
    if series is None:
        return None
    known = np.isfinite(series.tmin) & np.isfinite(series.tmax)
    return WeatherRecord(
        series.start,
        series.end,
        series.days,
        int(series.filled.sum()),
        int((~known).sum()),
        max((series.end - opened.today).days, 0),
        tuple(source.removeprefix(f"{opened.path.parent}/") for source in series.sources),
        tuple(dict.fromkeys(one.terms for one in series.reports if one.terms)),
    )


def change(store: Store, opened: LoadedGarden, form: Form, at: datetime) -> list[Kept]:
    """Record other units, or another clock, of the garden."""
    stamp = stamp_of(form, at)
    if store.knows(stamp.id):
        return [Kept(stamp.id, repeated=True)]
    done = api.record_units_and_clock(
        store, stamp, opened.today, units=one(form, "units"), timezone=one(form, "timezone")
    )
    return [Kept(done.id, done.repeated, done.problems)]


def garden_twin(opened: LoadedGarden) -> dict[str, Any]:
    """The page of the garden as JSON."""
    garden, record, site = opened.garden, weather_record(opened), opened.site
    chill = site.winter_chill
    return {
        "garden": garden.about.name,
        "units": garden.about.units,
        "today": opened.today.isoformat(),
        "site": garden.site.model_dump(mode="json"),
        "weather": None
        if record is None
        else {
            "start": record.start.isoformat(),
            "end": record.end.isoformat(),
            "days": record.days,
            "filled": record.filled,
            "missing": record.missing,
            "forecast_days": record.ahead,
            "sources": list(record.sources),
            "terms": list(record.terms),
        },
        "climate": {
            "mean_coldest_night_c": site.mean_coldest_night,
            "chill_portions": None if chill is None else chill[0],
            "chill_hours": None if chill is None else chill[1],
        },
        "products": [one.model_dump(mode="json") for one in garden.products],
        "no_feeding": [one.model_dump(mode="json", by_alias=True) for one in garden.no_feeding],
        "shelters": [one.model_dump(mode="json") for one in garden.shelters],
        "trees": [tree.id for tree in garden.trees],
        "problems": [problem_twin(problem) for problem in gravest_first(opened.problems)],
    }
