"""The JSON twins of cold: tonight in the whole garden, and its winters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from bearwell.api import (
    Chance,
    FrostDate,
    Harm,
    Hazard,
    LoadedGarden,
    NightAhead,
    Outlook,
    TreeOutlook,
    TreeTonight,
)
from bearwell.faces.language import say
from bearwell.faces.twins import because_twin, said_all
from bearwell.faces.words import Words


def _plain(value: float | None, places: int = 1) -> float | None:
    return None if value is None else round(value, places)


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


# ---------------------------------------------------------------------------- tonight


def tonight_twin(opened: LoadedGarden, ahead: NightAhead, words: Words) -> dict[str, Any]:
    """Tonight as JSON."""
    plan = ahead.plan
    return {
        "garden": opened.garden.about.name,
        "today": plan.today.isoformat(),
        "night": _night(ahead, words),
        "reading": None
        if plan.reading is None
        else {
            "t0_c": plan.reading.t0,
            "td_c": plan.reading.td,
            "wind_m_s": plan.reading.wind,
            "sky": plan.reading.sky,
        },
        "rule": None
        if plan.rule is None
        else {
            "own": plan.rule.own,
            "nights": plan.rule.nights,
            "slope_t": plan.rule.fit.air_slope,
            "slope_td": plan.rule.fit.dew_slope,
            "intercept": plan.rule.fit.intercept,
            "error_k": _plain(plan.rule.error, 2),
        },
        "trees": [_tree(one, words) for one in plan.trees],
        "walk": [
            {
                "place": stop.key,
                "title": say(stop.title),
                "trees": list(stop.trees),
                "minutes": round(stop.minutes),
                "tasks": [
                    {
                        "key": task.key,
                        "tree": task.tree,
                        "when": task.when,
                        "text": words.phrase(task.text),
                        "minutes": round(task.minutes),
                        "because": [because_twin(link, words) for link in task.because],
                    }
                    for task in stop.tasks
                ],
                "cautions": said_all(stop.cautions),
            }
            for stop in plan.stops
        ],
        "minutes": round(plan.minutes),
        "morning": [words.phrase(one) for one in plan.morning],
        "later": [{"night": day.isoformat(), "trees": list(trees)} for day, trees in plan.later],
        "water": None
        if plan.water is None
        else {
            "dew_point_c": _plain(plan.water.dew_point),
            "starts": [{"wet_bulb_c": wet, "air_c": _plain(air)} for wet, air in plan.water.starts],
            "rate_mm": _plain(plan.water.rate),
            "flow_l": _plain(plan.water.flow),
            "windy": plan.water.windy,
            "cautions": said_all(plan.water.cautions),
        },
        "cautions": said_all(plan.cautions),
    }


def _night(ahead: NightAhead, words: Words) -> dict[str, Any] | None:
    night = ahead.plan.night
    if night is None:
        return None
    return {
        "ends_on": night.day.isoformat(),
        "lowest_c": _plain(night.lowest),
        "error_k": _plain(night.error),
        "evening_c": _plain(night.evening),
        "begins": None if ahead.begins is None else ahead.begins.isoformat(timespec="minutes"),
        "ends": None if ahead.ends is None else ahead.ends.isoformat(timespec="minutes"),
        "hours": _plain(night.length),
        "sort": night.sort,
        "basis": say(night.basis),
        "station_c": _plain(night.station),
        "dew_point_c": _plain(night.dew_point),
        "wind_m_s": _plain(night.wind),
        "curve": [
            {"hour": _plain(hour, 2), "air_c": _plain(air, 2)} for hour, air in night.hours()
        ],
        "because": [because_twin(link, words) for link in night.because],
    }


def _tree(one: TreeTonight, words: Words) -> dict[str, Any]:
    spell = one.spell
    return {
        "tree": one.view.tree.id,
        "name": one.view.tree.called,
        "kind": say(one.view.species.name),
        "lowest_c": _plain(one.night.lowest),
        "lift_k": _plain(one.night.lift),
        "hardening": _plain(one.hard.state, 2),
        "hardening_ceiling": _plain(one.hard.ceiling, 2),
        "protect": spell is not None,
        "lacks_k": None if spell is None else _plain(spell.lack.kelvin),
        "organs": [_harm(harm, words) for harm in one.harms],
    }


def _harm(harm: Harm, words: Words) -> dict[str, Any]:
    return {
        "organ": harm.limit.organ,
        "limit_c": _plain(harm.limit.temperature),
        "limit_low_c": _plain(harm.limit.low),
        "limit_high_c": _plain(harm.limit.high),
        "hours_below": _plain(harm.hours),
        "degree_hours_below": _plain(harm.degree_hours),
        "chance": _plain(harm.chance, 3),
        "chance_low": _plain(harm.low, 3),
        "chance_high": _plain(harm.high, 3),
        "stage": None if harm.limit.buds is None else harm.limit.buds.stage,
        "share_killed": _plain(harm.share, 3),
        "because": [because_twin(link, words) for link in harm.limit.because],
    }


# ---------------------------------------------------------------------------- winters


def winter_twin(opened: LoadedGarden, seen: Outlook, words: Words) -> dict[str, Any]:
    """The winters as JSON."""
    zone = seen.zone
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "colder_k": seen.colder,
        "lacking": words.phrase(seen.lacking) or None,
        "winters": [
            {
                "winter": one.label,
                "coldest_c": _plain(one.coldest),
                "date": one.date.isoformat(),
                "chance_by_rank": _plain(one.position, 3),
            }
            for one in seen.winters
        ],
        "made_up_winters": seen.made,
        "location": _plain(seen.location, 4),
        "scale": _plain(seen.scale, 4),
        "levels": [
            {
                "years": one.years,
                "coldest_c": _plain(one.temperature),
                "low_c": _plain(one.low),
                "high_c": _plain(one.high),
            }
            for one in seen.levels
        ],
        "zone": None
        if zone is None
        else {
            "zone": zone.name,
            "low": zone.low,
            "high": zone.high,
            "mean_c": _plain(zone.mean, 2),
            "winters": zone.winters,
        },
        "nights": [
            {
                "below_c": one.temperature,
                "mean": _plain(one.mean),
                "least": one.least,
                "most": one.most,
                "winters": one.winters,
            }
            for one in seen.counts
        ],
        "first_frost": _frost(seen.first),
        "last_frost": _frost(seen.last),
        "trees": [_outlook(one, words) for one in seen.trees],
        "shelters": [
            {
                "shelter": one.shelter.id,
                "cover": one.shelter.cover,
                "lift_k": one.lift.number,
                "lift_low_k": one.lift.least,
                "lift_high_k": one.lift.most,
                "ten_year_night_inside_c": None
                if one.inside is None
                else [_plain(value) for value in one.inside],
                "trees": list(one.trees),
                "cannot_be_closed_for": None if one.through is None else one.through.tree.id,
            }
            for one in seen.shelters
        ],
        "hardening": None
        if seen.hardening is None
        else {
            "start": seen.hardening.start.isoformat(),
            "state": [round(float(value), 3) for value in seen.hardening.state],
            "ceiling": [round(float(value), 3) for value in seen.hardening.ceiling],
        },
    }


def _frost(one: FrostDate | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "middle": _day(one.middle),
        "early": _day(one.early),
        "late": _day(one.late),
        "winters": one.winters,
        "without": one.without,
    }


def _chance(one: Chance | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "yearly": _plain(one.best, 4),
        "low": _plain(one.low, 4),
        "high": _plain(one.high, 4),
        "counted": one.counted,
        "winters": one.winters,
        "nights": _plain(one.nights, 2),
    }


def _hazard(one: Hazard, words: Words) -> dict[str, Any]:
    return {
        "organ": one.organ,
        "what": say(one.what),
        "limit_c": _plain(one.limit),
        "chance": _chance(one.chance),
        "in_the_open": _chance(one.open),
        "because": [because_twin(link, words) for link in one.because],
    }


def _outlook(one: TreeOutlook, words: Words) -> dict[str, Any]:
    optional: Callable[[Hazard | None], dict[str, Any] | None] = lambda h: (  # noqa: E731
        None if h is None else _hazard(h, words)
    )
    return {
        "tree": one.view.tree.id,
        "name": one.view.tree.called,
        "kind": say(one.view.species.name),
        "standing": one.standing,
        "verdict": words.phrase(one.verdict),
        "lost": optional(one.lost),
        "hurt": [_hazard(each, words) for each in one.hurt],
        "because": [because_twin(link, words) for link in one.because],
    }
