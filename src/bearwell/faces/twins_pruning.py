"""The JSON twins of pruning: a tree's cuts and what they rest on, and the pruning sheet."""

from __future__ import annotations

from datetime import date
from typing import Any

from bearwell.api import FACTOR_WORDS, CutLine, DayScores, LoadedGarden, PruningYear
from bearwell.faces.language import say
from bearwell.faces.twins import advice_twin, because_twin, said_all
from bearwell.faces.words import Words
from bearwell.quantities import Quantity


def factor_names(scores: DayScores) -> dict[str, str]:
    """The factors of a chart with their words, in the order they are shown."""
    return {key: say(name) for key, name in FACTOR_WORDS.items() if key in scores.factors}


def _size(size: Any) -> dict[str, Any]:
    return {
        "height_m": round(size.height, 3),
        "spread_m": [round(size.spread_along, 3), round(size.spread_across, 3)],
    }


def _range(quantity: Quantity, places: int = 3) -> dict[str, float | None]:
    return {
        end: None if value is None else round(value, places)
        for end, value in (
            ("value", quantity.value),
            ("low", quantity.low),
            ("high", quantity.high),
        )
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def pruning_twin(year: PruningYear, today: date, words: Words) -> dict[str, Any]:
    """A tree's pruning."""
    size = year.size
    return {
        "tree": year.tree.id,
        "name": year.tree.called,
        "today": today.isoformat(),
        "pattern": words.phrase(year.pattern),
        "shape": size.form.name,
        "now": {
            **_size(size.canopy),
            "skirt_m": size.skirt,
            "volume_m3": round(size.volume, 3),
            "supposed": list(size.supposed),
        },
        "share": round(year.share.share, 4),
        "most_share": round(year.share.most, 4),
        "after": {**_size(year.after), "volume_m3": round(year.after_volume, 3)},
        "why_uncut": None if year.uncut is None else words.phrase(year.uncut),
        "cut": None if year.cut is None else year.cut.id,
        "cuts": [advice_twin(one, words) for one in year.cuts],
        "ahead_uncut": [_ahead(one) for one in year.ahead],
        "ahead_after_cut": [_ahead(one) for one in year.ahead_cut],
        "growth_because": [because_twin(link, words) for link in year.growth],
        "light": {
            "inner_now": _range(year.light.now),
            "inner_after": _range(year.light.after),
            "wanted": _range(year.light.wanted),
            "because": [because_twin(link, words) for link in year.light.because],
        },
        "fit": _fit(year, words),
        "reduction": _reduction(year, words),
        "window": _window(year),
        "barest": _day(year.barest),
        "wood": _wood(year, words),
        "heading_cuts": [
            {
                "thickness": one.name,
                "thickness_m": _range(one.thickness),
                "cuts": _range(one.cuts, 0),
                "new_shoots": _range(one.shoots, 0),
            }
            for one in year.headings
        ],
        "heading_because": [because_twin(link, words) for link in year.why_headings],
        "brush_m3": _range(year.brush, 2),
        "crop_lost_share": _range(year.crop_lost),
        "care": [
            {
                "about": row["about"].text,
                "text": say(row["text"].text),
                "followed": row["followed"].text,
                "source": row["text"].source,
                "confidence": row["text"].confidence,
            }
            for row in year.care
        ],
    }


def _ahead(one: Any) -> dict[str, Any]:
    return {
        "years": one.years,
        **_size(one.size),
        "low": _size(one.low),
        "high": _size(one.high),
        "volume_m3": {
            "value": round(one.volume, 2),
            "low": round(one.volume_low, 2),
            "high": round(one.volume_high, 2),
        },
    }


def _fit(year: PruningYear, words: Words) -> dict[str, Any] | None:
    fit = year.fit
    if fit is None:
        return None
    return {
        "shelter": fit.shelter.id,
        "shape": fit.shelter.shape,
        "fits": fit.fits,
        "room_m": fit.room,
        "wanted_room_m": fit.wanted_room,
        "share_off_now": fit.share,
        "fits_at": None if fit.fits_at is None else _size(fit.fits_at),
        "cut_to_for_next_winter": None if fit.by_winter is None else _size(fit.by_winter),
        "above_wall_m": fit.above_wall,
        "cover_needed_m": None if fit.needs is None else [round(one, 2) for one in fit.needs],
        "spread_kept": round(fit.crowded, 3),
        "neighbours": list(fit.neighbours),
        "points": [
            {"from_middle_m": out, "cover_m": cover, "canopy_m": canopy}
            for out, cover, canopy in fit.points
        ],
        "because": [because_twin(link, words) for link in fit.because],
    }


def _reduction(year: PruningYear, words: Words) -> dict[str, Any] | None:
    plan = year.reduction
    if plan is None:
        return None
    return {
        "wanted": _size(plan.aim.wanted),
        "by": plan.aim.by,
        "share_in_all": round(plan.aim.share, 4),
        "most_a_year": round(plan.most, 4),
        "reached": plan.reached,
        "warning": None if plan.warning is None else words.phrase(plan.warning),
        "years": [
            {
                "year": number,
                "share": round(one.share, 4),
                "after": _size(one.after),
                "before_the_next_cut": _size(one.grown),
            }
            for number, one in enumerate(plan.years, 1)
        ],
        "because": [because_twin(link, words) for link in plan.aim.because],
    }


def _window(year: PruningYear) -> dict[str, Any]:
    cut, scores = year.cut, year.scores
    return {
        "earliest": None if cut is None else cut.window.earliest.isoformat(),
        "best": None if cut is None else cut.window.best.isoformat(),
        "latest": None if cut is None else cut.window.latest.isoformat(),
        "may_close_by": _day(year.closes),
        "chance_closed_by_then": None
        if year.chance_closed is None
        else round(year.chance_closed, 3),
        "chance_closed_at_best": None
        if cut is None
        else round(scores.chance_closed(cut.window.best), 3),
        "chance_closed_at_latest": None
        if cut is None
        else round(scores.chance_closed(cut.window.latest), 3),
        "days": {
            "start": scores.first.isoformat(),
            "score": [round(float(one), 3) for one in scores.score],
            "factors": {
                key: [round(float(one), 3) for one in values]
                for key, values in scores.factors.items()
            },
            "meaning": factor_names(scores),
        },
    }


def _wood(year: PruningYear, words: Words) -> dict[str, Any]:
    wood = year.wood
    rows = {"renewed": wood.renewed, "left_alone": wood.left}
    return {
        "counted_in": wood.unit,
        "bears_from_yr": wood.bears_from,
        "bears_until_yr": wood.bears_until,
        "renewal_share": wood.renewal,
        "by_age": [round(one, 4) for one in wood.ages],
        **{
            name: [
                {
                    "year": one.year,
                    "new": round(one.new, 4),
                    "bearing": round(one.bearing, 4),
                    "old": round(one.old, 4),
                }
                for one in years
            ]
            for name, years in rows.items()
        },
        "because": [because_twin(link, words) for link in wood.because],
    }


def prune_sheet_twin(
    opened: LoadedGarden, days: int, lines: list[CutLine], words: Words
) -> dict[str, Any]:
    """The pruning sheet."""
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "days": days,
        "minutes": round(sum(line.cut.minutes for line in lines)),
        "brush_m3": round(sum(line.cut.details["brush_m3"] for line in lines), 2),
        "lines": [
            {
                "tree": line.tree.id,
                "name": line.tree.called,
                "cut": advice_twin(line.cut, words),
                "now": _size(line.sketch.size.canopy),
                "after": _size(line.sketch.after),
                "heading_cuts": {one.name: _range(one.cuts, 0) for one in line.sketch.headings},
            }
            for line in lines
        ],
        "cautions": said_all(dict.fromkeys(text for line in lines for text in line.cut.cautions)),
    }
