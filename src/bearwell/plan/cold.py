"""Cold nights ahead against what each tree stands: this week, or the odds where none is forecast."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import NormalDist

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase
from bearwell.season.cold import Limit, cold_limits, said_colder, shelter_lift

DAYS_AHEAD = 8
WEEKS_AHEAD = 15


def plan_cold(view: View) -> list[Advice]:
    """Protection for the coldest forecast night, or preparation when past years say one may come."""
    limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, view.today)
    lift, why_lift = shelter_lift(view.tree, view.garden, view.book)
    colder, why_colder = said_colder(view.site)
    change = lift - colder
    series = view.site.series
    if series is not None and series.end > view.today:
        ahead = series.between(
            view.today + timedelta(days=1), view.today + timedelta(days=DAYS_AHEAD)
        )
        if np.isfinite(ahead.tmin).any():
            return _forecast(
                view, limits, ahead.start, ahead.tmin + change, change, (*why_colder, *why_lift)
            )
    return _odds(view, limits, change, (*why_colder, *why_lift))


def _forecast(
    view: View,
    limits: list[Limit],
    first: date,
    minima: np.ndarray,
    change: float,
    why: tuple[Because, ...],
) -> list[Advice]:
    margin, error = view.constant("margin to warn"), view.constant("forecast error")
    coldest = int(np.nanargmin(minima))
    night, lowest = first + timedelta(days=coldest), float(minima[coldest])
    hurt = [limit for limit in limits if lowest <= limit.temperature + margin.number]
    if not hurt:
        return []
    tenderest = hurt[0]
    chance = NormalDist(lowest, error.number).cdf(tenderest.temperature)
    eve = night - timedelta(days=1)
    links = (
        computed(
            "The forecast for the night to {day} is {low} at the station",
            lowest - change,
            "degC",
            day=night,
            low=amount(lowest - change, "degC"),
        ),
        *why,
        computed("so about {low} at the tree", lowest, "degC", low=amount(lowest, "degC")),
        *tenderest.because,
        from_fact("A forecast this far ahead is good to about {value}", error),
        computed(
            "Chance that {organ} are hurt: about {chance} %",
            chance,
            "1",
            organ=tenderest.organ,
            chance=round(100 * chance),
        ),
    )
    return [
        Advice(
            id=view.advice_id("protect", "night", night),
            tree=view.tree.id,
            kind="protect",
            window=Window(max(view.today, eve - timedelta(days=1)), eve, eve),
            headline=phrase("Protect before the night to {day}", day=night),
            quantity=amount(
                round(lowest, 1),
                "degC",
                round(lowest - error.number, 1),
                round(lowest + error.number, 1),
            ),
            display=phrase(
                "{low} expected at the tree; {organ} hurt from {limit}",
                low=amount(lowest, "degC"),
                organ=tenderest.organ,
                limit=amount(tenderest.temperature, "degC"),
            ),
            steps=_steps(view, hurt),
            cautions=view.cautions("protect", "frost", "heat", *(["pot"] if view.tree.pot else [])),
            minutes=15 if view.tree.pot else 20,
            because=links,
            changes=phrase(
                "The next forecast, and the thermometer at canopy height, which decides"
            ),
            details={
                "night": night.isoformat(),
                "at_tree_c": round(lowest, 1),
                "chance": round(chance, 2),
                "limits": {limit.organ: round(limit.temperature, 1) for limit in limits},
            },
        )
    ]


def _odds(view: View, limits: list[Limit], change: float, why: tuple[Because, ...]) -> list[Advice]:
    """How often the coming two weeks brought a hurtful night in past years."""
    climate = view.site.climate
    if climate is None or len(climate.seasons) < 3:
        return []
    last = view.today + timedelta(days=WEEKS_AHEAD)
    worst = []
    for season in climate.seasons:
        nights = [
            value
            for day, value in zip(
                (season.start + timedelta(days=k) for k in range(len(season.tmin))),
                season.tmin,
                strict=True,
            )
            if _same_days(day, view.today, last) and np.isfinite(value)
        ]
        if nights:
            worst.append(min(nights) + change)
    if not worst:
        return []
    threshold = view.constant("chance to warn")
    hurt = [
        limit
        for limit in limits
        if np.mean([low <= limit.temperature for low in worst]) >= threshold.number
    ]
    if not hurt:
        return []
    tenderest = hurt[0]
    years = sum(low <= tenderest.temperature for low in worst)
    chance = years / len(worst)
    links = (
        computed(
            "In {years} of {count} past winters these two weeks had a night at the tree below what its {organ} "
            "stand",
            chance,
            "1",
            years=years,
            count=len(worst),
            organ=tenderest.organ,
        ),
        *why,
        *tenderest.because,
        from_fact("Preparation is advised from a chance of {value}", threshold),
    )
    return [
        Advice(
            id=view.advice_id("protect", "ready", view.today),
            tree=view.tree.id,
            kind="protect",
            window=Window(view.today, view.today + timedelta(days=2), last),
            headline=phrase("Have its protection ready: no forecast is given"),
            quantity=amount(round(chance, 2), "1"),
            display=phrase(
                "{years} of {count} winters had a hurtful night in these weeks",
                years=years,
                count=len(worst),
            ),
            steps=_steps(view, hurt),
            cautions=view.cautions("protect", "frost", "heat", *(["pot"] if view.tree.pot else [])),
            minutes=10,
            because=links,
            changes=phrase("A forecast: days after today in the weather file"),
            details={
                "chance": round(chance, 3),
                "winters": len(worst),
                "limits": {limit.organ: round(limit.temperature, 1) for limit in limits},
            },
        )
    ]


def _same_days(day: date, first: date, last: date) -> bool:
    """Whether a past day lies between the same days of its year, over New Year too."""
    for year in (first.year - day.year, last.year - day.year):
        try:
            moved = day.replace(year=day.year + year)
        except ValueError:
            moved = day.replace(year=day.year + year, day=28)
        if first <= moved <= last:
            return True
    return False


def _steps(view: View, hurt: list[Limit]) -> tuple[Phrase, ...]:
    organs = ", ".join(limit.organ for limit in hurt)
    steps = [phrase("At risk: {organs}.", organs=organs)]
    tree = view.tree
    if tree.pot is not None:
        steps.append(
            phrase(
                "Carry the pot against a wall, into a porch or cool room; water it first. What cannot "
                "move: group close, wrap the pots, cover."
            )
        )
    elif tree.shelter:
        steps.append(
            phrase(
                "Close the {shelter} before sunset while the soil is still warm; open it next morning.",
                shelter=tree.shelter,
            )
        )
    else:
        steps.append(
            phrase(
                "Cover down to the ground before sunset, off the leaves where you can; uncover next "
                "morning."
            )
        )
    if view.years_here < view.constant("young tree years").number and tree.pot is None:
        steps.append(
            phrase("Bank clean soil round the young trunk; take it away when frost is over.")
        )
    if any(limit.organ == "fruit" for limit in hurt):
        steps.append(phrase("Pick what is ripe before that night."))
    steps.append(
        phrase(
            "Moist bare ground gives off most heat: water dry soil the day before, not in the freeze."
        )
    )
    return tuple(steps)
