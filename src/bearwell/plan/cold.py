"""Cold nights ahead against what each tree stands: this week, or the odds where none is forecast."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, Value, amount, computed, from_fact, phrase
from bearwell.science.frost import hours_below_sqrt
from bearwell.science.sun import day_length_spencer
from bearwell.season.cold import Limit, cold_limits, said_colder, shelter_lift

QUANTILES = 199  # of the forecast's error, where the hours below a limit decide


@dataclass(frozen=True)
class _Night:
    """A forecast night at the tree: its morning, its lowest and its evening warmth [degC], its hours."""

    day: date
    lowest: float
    evening: float | None
    length: float

    def hours_below(self, limit: float, lowest: float) -> float | None:
        """Hours below a limit should the night fall to ``lowest``; None where its evening is unknown."""
        if self.evening is None or self.length <= 0:
            return None
        return hours_below_sqrt(max(self.evening, lowest), lowest, self.length, limit)

    def hurts(self, limit: Limit, lowest: float) -> bool:
        """Whether an organ would be hurt should the night fall to ``lowest``."""
        if lowest > limit.temperature:
            return False
        hours = self.hours_below(limit.temperature, lowest) if limit.stands else None
        return hours is None or limit.stands is None or hours >= limit.stands.number

    def chance(self, limit: Limit, error: float) -> float:
        """Chance that an organ is hurt, for a forecast that is good to ``error`` [K]."""
        spread = NormalDist(self.lowest, error)
        if limit.stands is None:
            return spread.cdf(limit.temperature)
        parts = [spread.inv_cdf((k + 0.5) / QUANTILES) for k in range(QUANTILES)]
        return sum(self.hurts(limit, lowest) for lowest in parts) / QUANTILES


def plan_cold(view: View) -> list[Advice]:
    """Protection for each cold spell forecast, or preparation when past years say one may come."""
    limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, view.today)
    lift, why_lift = shelter_lift(view.tree, view.garden, view.book)
    colder, why_colder = said_colder(view.site)
    change, why = lift - colder, (*why_colder, *why_lift)
    nights = _nights(view, change)
    if not any(night.day > view.today for night in nights):
        return _odds(view, limits, change, why)
    return [
        _protection(view, limits, spell, change, why)
        for spell in _spells(view, limits, nights)
        if spell[-1].day > view.today
    ]


def _nights(view: View, change: float) -> list[_Night]:
    """The forecast nights, and those just past, so that a spell already begun keeps its name."""
    series = view.site.series
    if series is None or series.end <= view.today:
        return []
    span = _days(view, "forecast days used")
    first = max(series.start, view.today - span)
    part = series.between(first, min(series.end, view.today + span))
    share = view.constant("evening share of the day").number
    after_sunset = view.constant("start of the night").number
    nights = []
    for index, low in enumerate(part.tmin):
        if not np.isfinite(low):
            continue
        day = part.start + timedelta(days=index)
        light = float(day_length_spencer(view.site.site.latitude, day.timetuple().tm_yday))
        high = float(part.tmax[index - 1]) if index else float("nan")
        evening = float(low) + share * (high - float(low)) + change if np.isfinite(high) else None
        nights.append(_Night(day, float(low) + change, evening, 24 - light - after_sunset))
    return nights


def _days(view: View, name: str) -> timedelta:
    return timedelta(days=round(view.constant(name).number))


def _at_risk(view: View, limits: list[Limit], night: _Night) -> list[Limit]:
    """The organs a night comes near to hurting, likeliest first."""
    margin, error = view.constant("margin to warn").number, view.constant("forecast error").number
    hurt = [limit for limit in limits if night.hurts(limit, night.lowest - margin)]
    return sorted(hurt, key=lambda limit: -night.chance(limit, error))


def _spells(view: View, limits: list[Limit], nights: list[_Night]) -> list[list[_Night]]:
    """Hurtful nights, those with no more than a short lull between them together."""
    lull = _days(view, "lull in a cold spell") + timedelta(days=1)
    spells: list[list[_Night]] = []
    for night in nights:
        if not _at_risk(view, limits, night):
            continue
        if spells and night.day - spells[-1][-1].day <= lull:
            spells[-1].append(night)
        else:
            spells.append([night])
    return spells


def _protection(
    view: View, limits: list[Limit], spell: list[_Night], change: float, why: tuple[Because, ...]
) -> Advice:
    """One advice for a spell: protect by the eve of its first night to come."""
    error = view.constant("forecast error")
    coming = [night for night in spell if night.day > view.today]
    coldest = min(coming, key=lambda night: night.lowest)
    risks = [limit for night in coming for limit in _at_risk(view, limits, night)]
    hurt = [limit for limit in limits if limit in risks]
    tenderest = _at_risk(view, limits, coldest)[0]
    chance, lowest = coldest.chance(tenderest, error.number), coldest.lowest
    eve = coming[0].day - timedelta(days=1)
    begun = spell[0].day
    return Advice(
        id=f"{view.advice_id('protect', 'night', begun)}-{begun.day:02d}",
        tree=view.tree.id,
        kind="protect",
        window=Window(max(view.today, eve - timedelta(days=1)), eve, eve),
        headline=phrase("Protect before the night to {day}", day=coming[0].day),
        quantity=amount(
            round(lowest, 1),
            "degC",
            round(lowest - error.number, 1),
            round(lowest + error.number, 1),
        ),
        display=_display(coming, coldest, tenderest),
        steps=_steps(view, hurt),
        cautions=_cautions(view),
        minutes=15 if view.tree.pot else 20,
        because=_night_links(view, coldest, tenderest, change, chance, why),
        changes=phrase("The next forecast, and the thermometer at canopy height, which decides"),
        details={
            "night": coldest.day.isoformat(),
            "nights": [night.day.isoformat() for night in coming],
            "at_tree_c": round(lowest, 1),
            "chance": round(chance, 2),
            "limits": {limit.organ: round(limit.temperature, 1) for limit in limits},
        },
    )


def _display(coming: list[_Night], coldest: _Night, tenderest: Limit) -> Phrase:
    values: dict[str, Value] = {
        "low": amount(coldest.lowest, "degC"),
        "organ": tenderest.organ,
        "limit": amount(tenderest.temperature, "degC"),
    }
    if len(coming) == 1:
        return phrase("{low} expected at the tree; {organ} hurt from {limit}", **values)
    return phrase(
        "{count} nights up to {last}; the coldest, to {night}, {low} at the tree; {organ} hurt from "
        "{limit}",
        count=len(coming),
        last=coming[-1].day,
        night=coldest.day,
        **values,
    )


def _night_links(
    view: View,
    night: _Night,
    tenderest: Limit,
    change: float,
    chance: float,
    why: tuple[Because, ...],
) -> tuple[Because, ...]:
    """The chain behind a protection: the night at the tree, the limit, how long, how likely."""
    station = night.lowest - change
    return (
        computed(
            "The forecast for the night to {day} is {low} at the station",
            station,
            "degC",
            day=night.day,
            low=amount(station, "degC"),
        ),
        *why,
        computed(
            "so about {low} at the tree", night.lowest, "degC", low=amount(night.lowest, "degC")
        ),
        *tenderest.because,
        *_hours_link(view, night, tenderest),
        from_fact(
            "A forecast this far ahead is good to about {value}", view.constant("forecast error")
        ),
        computed(
            "Chance that {organ} are hurt: about {chance} %",
            chance,
            "1",
            organ=tenderest.organ,
            chance=round(100 * chance),
        ),
    )


def _hours_link(view: View, night: _Night, limit: Limit) -> tuple[Because, ...]:
    """How long the night stays below a limit, where the organ stands some hours of it."""
    hours = night.hours_below(limit.temperature, night.lowest)
    if limit.stands is None or hours is None or night.evening is None:
        return ()
    return (
        from_fact(
            "The evening is taken at {warmth}: {value} of the way up to the day's highest",
            view.constant("evening share of the day"),
            warmth=amount(night.evening, "degC"),
        ),
        from_fact(
            "A clear still night that falls from there is below the limit for about {hours}; {organ} "
            "are hurt after about {value}. Wind or cloud keep it there longer or not at all",
            limit.stands,
            hours=amount(round(hours, 1), "h"),
            organ=limit.organ,
        ),
    )


def _cautions(view: View) -> tuple[str, ...]:
    pot = ["pot"] if view.tree.pot else []
    return view.cautions("protect", "frost", "heat", *pot, *view.species.lineage)


def _odds(view: View, limits: list[Limit], change: float, why: tuple[Because, ...]) -> list[Advice]:
    """How often the coming two weeks brought a hurtful night in past years."""
    last = view.today + _days(view, "days of the odds")
    worst = [low + change for low in _past_lows(view, last)]
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
            cautions=_cautions(view),
            minutes=10,
            because=_odds_links(view, tenderest, years, len(worst), why),
            changes=phrase("A forecast: days after today in the weather file"),
            details={
                "chance": round(chance, 3),
                "winters": len(worst),
                "limits": {limit.organ: round(limit.temperature, 1) for limit in limits},
            },
        )
    ]


def _odds_links(
    view: View, tenderest: Limit, years: int, winters: int, why: tuple[Because, ...]
) -> tuple[Because, ...]:
    """The chain behind a preparation: how often, what the organ stands, from what chance it is told."""
    links = [
        computed(
            "In {years} of {count} past winters these two weeks had a night at the tree below what its {organ} "
            "stand",
            years / winters,
            "1",
            years=years,
            count=winters,
            organ=tenderest.organ,
        ),
        *why,
        *tenderest.because,
        from_fact(
            "Preparation is advised from a chance of {value}", view.constant("chance to warn")
        ),
    ]
    if tenderest.stands is not None:
        links.append(
            from_fact(
                "{organ} are hurt after about {value}; past nights count by their lowest alone, which errs "
                "on the safe side",
                tenderest.stands,
                organ=tenderest.organ.capitalize(),
            )
        )
    return tuple(links)


def _past_lows(view: View, last: date) -> list[float]:
    """The lowest night of the same days in each past winter, at the station [degC]."""
    climate = view.site.climate
    if climate is None or len(climate.seasons) < view.constant("winters for the odds").number:
        return []
    lows = []
    for season in climate.seasons:
        nights = [
            float(value)
            for step, value in enumerate(season.tmin)
            if np.isfinite(value)
            and _same_days(season.start + timedelta(days=step), view.today, last)
        ]
        if nights:
            lows.append(min(nights))
    return lows


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
