"""The weather record as JSON: the same for the page and the command."""

from __future__ import annotations

from typing import Any

from bearwell.api import Fetched, LoadedGarden, Record
from bearwell.faces.language import say
from bearwell.faces.twins import because_twin, problem_twin
from bearwell.faces.words import Words


def weather_twin(
    opened: LoadedGarden, record: Record, words: Words, fetched: Fetched | None = None
) -> dict[str, Any]:
    """The record: days by what they stand on, gaps, flags, how each source was read, its terms."""
    nights, colder = record.nights, opened.site.colder
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "start": None if record.start is None else record.start.isoformat(),
        "end": None if record.end is None else record.end.isoformat(),
        "days": record.days,
        "known": record.known,
        "years": [
            {
                "year": one.year,
                "days": one.days,
                "stretches": [
                    [each.state, each.first.isoformat(), each.last.isoformat()]
                    for each in one.stretches
                ],
            }
            for one in record.years
        ],
        "gaps": [
            {
                "first": one.first.isoformat(),
                "last": one.last.isoformat(),
                "days": one.days,
                "used": say(one.used),
            }
            for one in record.gaps
        ],
        "flags": [
            {
                "reason": say(one.reason),
                "days": one.days,
                "first": [day.isoformat() for day in one.first],
            }
            for one in record.flags
        ],
        "sources": [
            {
                "where": named(opened, one.where),
                "layout": say(one.layout),
                "day": say(one.day),
                "station": None
                if one.station is None
                else {
                    "name": one.station.name,
                    "latitude": one.station.latitude,
                    "longitude": one.station.longitude,
                    "elevation_m": one.station.elevation,
                },
                "units": dict(one.units),
                "dropped": [
                    {"reason": say(left.reason), "count": left.count, "lines": list(left.lines)}
                    for left in one.dropped
                ],
                "doubted": [
                    {"reason": say(left.reason), "count": left.count, "lines": list(left.lines)}
                    for left in one.doubted
                ],
                "terms": one.terms,
            }
            for one in record.reports
        ],
        "terms": list(record.terms),
        "colder": {
            "value_k": colder.value,
            "low_k": colder.low,
            "high_k": colder.high,
            "because": [because_twin(link, words) for link in colder.because],
            "nights": []
            if nights is None
            else [
                {
                    "sort": say(one.sort),
                    "nights": one.count,
                    "value_k": round(one.value, 2),
                    "low_k": round(one.low, 2),
                    "high_k": round(one.high, 2),
                }
                for one in nights.sorts
            ],
        },
        "online": list(record.online),
        "fetched": None
        if fetched is None
        else [
            {
                "service": one.service,
                "sort": one.sort,
                "came": one.came,
                "said": say(one.said),
                "first": None if one.first is None else one.first.isoformat(),
                "last": None if one.last is None else one.last.isoformat(),
                "missing_days": one.missing,
            }
            for one in fetched.outcomes
        ],
        "problems": [
            problem_twin(problem)
            for problem in opened.problems
            if problem.where != str(opened.path)
        ],
    }


def named(opened: LoadedGarden, where: str) -> str:
    """A file as the garden file names it."""
    return where.removeprefix(f"{opened.path.parent}/")
