"""Cold nights ahead against what each tree stands: this week, or the odds where none is forecast."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from statistics import NormalDist

import numpy as np

from bearwell.garden import Evening
from bearwell.plan.advice import Advice, Window
from bearwell.plan.aftermath import after_a_night, after_recorded_nights
from bearwell.plan.fit import place_lift
from bearwell.plan.measures import Lack, Measure, caution_cases, lack_of, measures_for, young_trunk
from bearwell.plan.nights import SiteNight, credited_lift, nights_of_site
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, Value, amount, computed, from_fact, phrase
from bearwell.said import listed
from bearwell.science.frost import degree_hours_below_sqrt, hours_below_sqrt
from bearwell.season.cold import Limit, cold_limits, said_colder
from bearwell.season.cycle import STANDARD_INTERVAL
from bearwell.season.madewinters import MadeWinters, made_winters
from bearwell.weather.normals import CoolSeason

QUANTILES = 199  # of the forecast's error, where the hours below a limit decide
_Z = tuple(NormalDist().inv_cdf((k + 0.5) / QUANTILES) for k in range(QUANTILES))


@dataclass(frozen=True)
class TreeNight:
    """A night at one tree: the night in the open, and the lift its place has in such a night [K]."""

    site: SiteNight
    lift: float

    @property
    def day(self) -> date:
        """The morning it ends on."""
        return self.site.day

    @property
    def lowest(self) -> float:
        """Its lowest at the tree [degC]."""
        return self.site.lowest + self.lift

    @property
    def evening(self) -> float | None:
        """The air at the tree two hours after sunset [degC]."""
        return None if self.site.evening is None else self.site.evening + self.lift

    def _timed(self) -> bool:
        return self.evening is not None and self.site.length > 0

    def hours_below(self, limit: float, lowest: float | None = None) -> float | None:
        """Hours below a limit, should the night fall to ``lowest``; None where its evening is unknown."""
        low = self.lowest if lowest is None else lowest
        if self.evening is None or not self._timed():
            return None
        return hours_below_sqrt(max(self.evening, low), low, self.site.length, limit)

    def degree_hours_below(self, limit: float) -> float | None:
        """Degrees times hours below a limit; None where its evening is unknown."""
        if self.evening is None or not self._timed():
            return None
        start = max(self.evening, self.lowest)
        return degree_hours_below_sqrt(start, self.lowest, self.site.length, limit)

    def hurts(self, limit: Limit, lowest: float, at: float | None = None) -> bool:
        """Whether an organ would be hurt should the night fall to ``lowest``."""
        temperature = limit.temperature if at is None else at
        if lowest > temperature:
            return False
        hours = self.hours_below(temperature, lowest) if limit.stands else None
        return hours is None or limit.stands is None or hours >= limit.stands.number

    def _chance(self, limit: Limit, error: float, at: float) -> float:
        if limit.stands is None or not self._timed():
            return NormalDist(self.lowest, error).cdf(at)
        # The colder, the longer below a limit: of the nights in order, the first so many hurt.
        hurt = bisect_left(
            _Z, True, key=lambda z: not self.hurts(limit, self.lowest + error * z, at)
        )
        return hurt / QUANTILES

    def chance(self, limit: Limit) -> float:
        """Chance that an organ is hurt: over the error of the forecast and the range of its limit."""
        known = (limit.high - limit.low) / (2 * STANDARD_INTERVAL)
        error = float(np.hypot(self.site.error, max(known, 0.0)))
        return self._chance(limit, error, limit.temperature)

    def chance_range(self, limit: Limit) -> tuple[float, float]:
        """That chance if the hardiest and if the tenderest of the published limits holds."""
        ends = (limit.low, limit.high)
        low, high = (self._chance(limit, self.site.error, at) for at in ends)
        best = self.chance(limit)
        return min(low, best), max(high, best)


@dataclass(frozen=True)
class Harm:
    """What a night may do to an organ: hours and degree hours below its limit, and how likely it is hurt."""

    limit: Limit
    hours: float | None
    degree_hours: float | None
    chance: float
    low: float
    high: float
    share: float | None
    share_range: tuple[float, float] | None


@dataclass(frozen=True)
class Spell:
    """Hurtful nights in a row at one tree, those past among them, and what to do before the coldest."""

    view: View
    limits: tuple[Limit, ...]
    nights: tuple[TreeNight, ...]
    sharing: int

    @property
    def coming(self) -> tuple[TreeNight, ...]:
        """The nights still ahead."""
        return tuple(night for night in self.nights if night.day > self.view.today)

    @property
    def coldest(self) -> TreeNight:
        """The coldest of them."""
        return min(self.coming, key=lambda night: night.lowest)

    @cached_property
    def at_risk(self) -> tuple[Limit, ...]:
        """The organs that any night ahead comes near to hurting."""
        risks = [limit for night in self.coming for limit in at_risk(self.view, self.limits, night)]
        return tuple(limit for limit in self.limits if limit in risks)

    @cached_property
    def lack(self) -> Lack:
        """How much warmer the tree has to be kept in the coldest night."""
        margin = self.view.constant("margin to warn").number
        found = lack_of(list(self.at_risk), self.coldest.lowest, margin)
        return found or Lack(0.0, self.limits[0])

    @cached_property
    def measures(self) -> tuple[Measure, ...]:
        """What to do before it."""
        return measures_for(
            self.view, self.coldest.site, self.lack, list(self.at_risk), self.sharing
        )


def harms(limits: tuple[Limit, ...] | list[Limit], night: TreeNight) -> tuple[Harm, ...]:
    """What a night may do to each organ, likeliest first."""
    found = []
    for limit in limits:
        low, high = night.chance_range(limit)
        buds = limit.buds
        found.append(
            Harm(
                limit,
                night.hours_below(limit.temperature),
                night.degree_hours_below(limit.temperature),
                night.chance(limit),
                low,
                high,
                None if buds is None else buds.expected_share(night.lowest, night.site.error),
                None if buds is None else buds.shares(night.lowest),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.chance, -one.limit.temperature)))


def plan_cold(view: View) -> list[Advice]:
    """Protection for each cold spell forecast, or preparation when past years say one may come."""
    limits, nights, why = tree_nights(view)
    if not any(night.day > view.today for night in nights):
        lift, why_lift = place_lift(view)
        colder, why_colder = said_colder(view.site)
        return _odds(view, limits, lift - colder, (*why_colder, *why_lift))
    return [_protection(spell, why) for spell in _spells(view, limits, nights) if spell.coming]


def plan_after_cold(view: View) -> list[Advice]:
    """What to look at after a night ahead that is likely to hurt, and after one that did by the record."""
    found = [one for spell in spells_of(view) for one in _afterwards(spell)]
    return [*found, *after_recorded_nights(view)]


Nights = tuple[list[Limit], list[TreeNight], tuple[Because, ...]]


def tree_nights(view: View, reading: Evening | None = None) -> Nights:
    """The limits of a tree today, the nights at it, and why its place is as warm as it is.

    ``reading`` stands in for the evening's readings of the garden file.
    """
    if reading is not None:
        return _nights_with(view, reading)
    return view.once("nights", lambda: _nights_with(view, None))


def _nights_with(view: View, reading: Evening | None) -> Nights:
    limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, view.today)
    lift, why_lift = place_lift(view)
    nights = [
        TreeNight(night, credited_lift(lift, night.sort, view.book))
        for night in nights_of_site(view.garden, view.site, view.book, view.today, reading)
    ]
    return limits, nights, why_lift


def spells_of(view: View, reading: Evening | None = None) -> list[Spell]:
    """The cold spells ahead of a tree."""
    limits, nights, _ = tree_nights(view, reading)
    return [spell for spell in _spells(view, limits, nights) if spell.coming]


def _days(view: View, name: str) -> timedelta:
    return timedelta(days=round(view.constant(name).number))


def at_risk(view: View, limits: list[Limit] | tuple[Limit, ...], night: TreeNight) -> list[Limit]:
    """The organs a night comes near to hurting, likeliest first."""
    margin = view.constant("margin to warn").number
    hurt = [limit for limit in limits if night.hurts(limit, night.lowest - margin)]
    return sorted(hurt, key=lambda limit: -night.chance(limit))


def _spells(view: View, limits: list[Limit], nights: list[TreeNight]) -> list[Spell]:
    """Hurtful nights, those with no more than a short lull between them together."""
    lull = _days(view, "lull in a cold spell") + timedelta(days=1)
    runs: list[list[TreeNight]] = []
    for night in nights:
        if not at_risk(view, limits, night):
            continue
        if runs and night.day - runs[-1][-1].day <= lull:
            runs[-1].append(night)
        else:
            runs.append([night])
    under = [one for one in view.garden.trees if one.shelter and one.shelter == view.tree.shelter]
    return [Spell(view, tuple(limits), tuple(run), max(len(under), 1)) for run in runs]


def _protection(spell: Spell, why: tuple[Because, ...]) -> Advice:
    """One advice for a spell: protect by the eve of its first night to come."""
    view, coming, coldest = spell.view, spell.coming, spell.coldest
    tenderest = at_risk(view, spell.limits, coldest)[0]
    error, lowest = coldest.site.error, coldest.lowest
    eve = coming[0].day - timedelta(days=1)
    begun = spell.nights[0].day
    low, high = coldest.chance_range(tenderest)
    return Advice(
        id=f"{view.advice_id('protect', 'night', begun)}-{begun.day:02d}",
        tree=view.tree.id,
        kind="protect",
        window=Window(max(view.today, eve - timedelta(days=1)), eve, eve),
        headline=phrase("Protect before the night to {day}", day=coming[0].day),
        quantity=amount(
            round(lowest, 1), "degC", round(lowest - error, 1), round(lowest + error, 1)
        ),
        display=_display(coming, coldest, tenderest),
        steps=_steps(spell),
        cautions=_cautions(spell),
        minutes=max(sum(one.minutes for one in spell.measures), 1.0),
        because=_night_links(spell, coldest, tenderest, why),
        changes=phrase("The next forecast, and the thermometer at canopy height, which decides"),
        details={
            "night": coldest.day.isoformat(),
            "nights": [night.day.isoformat() for night in coming],
            "at_tree_c": round(lowest, 1),
            "sort": coldest.site.sort,
            "basis": coldest.site.basis,
            "chance": round(coldest.chance(tenderest), 2),
            "chance_low": round(low, 2),
            "chance_high": round(high, 2),
            "lacks_k": round(spell.lack.kelvin, 1),
            "measures": [one.key for one in spell.measures],
            "harms": [_harm_detail(one) for one in harms(spell.limits, coldest)],
            "limits": {limit.organ: round(limit.temperature, 1) for limit in spell.limits},
        },
    )


def _harm_detail(harm: Harm) -> dict[str, object]:
    """An organ of a night, for the details of an advice."""
    told: dict[str, object] = {
        "organ": harm.limit.organ,
        "limit_c": round(harm.limit.temperature, 1),
        "hours_below": None if harm.hours is None else round(harm.hours, 1),
        "degree_hours_below": None if harm.degree_hours is None else round(harm.degree_hours, 1),
        "chance": round(harm.chance, 2),
        "chance_low": round(harm.low, 2),
        "chance_high": round(harm.high, 2),
    }
    if harm.share is not None:
        told["share_killed"] = round(harm.share, 2)
    return told


def _steps(spell: Spell) -> tuple[Phrase, ...]:
    organs = listed(limit.organ for limit in spell.at_risk)
    return (
        phrase("At risk: {organs}.", organs=organs),
        *(measure.text for measure in spell.measures),
        phrase("Read the thermometer at the height of its leaves before you go to bed."),
    )


def _afterwards(spell: Spell) -> list[Advice]:
    """What to look at after the coldest night of a spell, where it is likely to hurt."""
    told = spell.view.constant("hurt night is told")
    likely = [limit for limit in spell.limits if spell.coldest.chance(limit) >= told.number]
    return after_a_night(spell.view, spell.coldest.day, likely, forecast=True) if likely else []


def _display(coming: tuple[TreeNight, ...], coldest: TreeNight, tenderest: Limit) -> Phrase:
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
    spell: Spell, night: TreeNight, tenderest: Limit, why: tuple[Because, ...]
) -> tuple[Because, ...]:
    """The chain behind a protection: the night at the tree, the limit, how long, how likely, what is done."""
    view, site = spell.view, night.site
    links: list[Because] = []
    if site.station is not None:
        links.append(
            computed(
                "The forecast for the night to {day} is {low} at the station",
                site.station,
                "degC",
                day=night.day,
                low=amount(site.station, "degC"),
            )
        )
    links += [
        *site.because,
        *why,
        computed(
            "so about {low} at the tree", night.lowest, "degC", low=amount(night.lowest, "degC")
        ),
        *tenderest.because,
        *_hours_link(view, night, tenderest),
    ]
    if site.basis == "the weather file":
        links.append(
            from_fact(
                "A forecast this far ahead is good to about {value}",
                view.constant("forecast error"),
            )
        )
    low, high = night.chance_range(tenderest)
    chance = night.chance(tenderest)
    links.append(
        computed(
            "Chance that {organ} are hurt: about {chance} % ({low} to {high} % by which of the published "
            "limits holds)",
            round(chance, 3),
            "1",
            organ=tenderest.organ,
            chance=round(100 * chance),
            low=round(100 * low),
            high=round(100 * high),
        )
    )
    if tenderest.buds is not None:
        share = tenderest.buds.expected_share(night.lowest, site.error)
        links.append(
            computed(
                "Share of the {organ} to be killed: about {share} %; enough may be left for a crop",
                round(share, 3),
                "1",
                organ=tenderest.organ,
                share=round(100 * share),
            )
        )
    links += [link for measure in spell.measures for link in measure.because]
    return tuple(links)


def _hours_link(view: View, night: TreeNight, limit: Limit) -> tuple[Because, ...]:
    """How long the night stays below a limit, where the organ stands some hours of it."""
    hours = night.hours_below(limit.temperature)
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


def _cautions(spell: Spell) -> tuple[str, ...]:
    cases = caution_cases((one.key for one in spell.measures), spell.view)
    return spell.view.cautions("protect", "frost", *cases)


def _odds(view: View, limits: list[Limit], change: float, why: tuple[Because, ...]) -> list[Advice]:
    """How often the coming two weeks brought a hurtful night in past years."""
    last = view.today + _days(view, "days of the odds")
    made = made_winters(view.site, view.book)
    worst = [low + change for low in _past_lows(view, last, made)]
    if made is not None:
        why = (*made.because, *why)
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
    ready = "cover" if view.tree.pot is None else "move pot"
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
                "{years} of {count} winters had a hurtful night in these weeks"
                if made is None
                else "{years} of {count} winters made up from the normals had a hurtful night in these weeks",
                years=years,
                count=len(worst),
            ),
            steps=_ready(view, hurt),
            cautions=view.cautions("protect", "frost", *caution_cases([ready], view)),
            minutes=10,
            because=_odds_links(view, tenderest, years, len(worst), why, made),
            changes=phrase(
                "A forecast: days after today in the weather file"
                if made is None
                else "Daily weather of ten years, for odds of this place; a forecast, for the night itself"
            ),
            details={
                "chance": round(chance, 3),
                "winters": len(worst),
                "made_up": made is not None,
                "limits": {limit.organ: round(limit.temperature, 1) for limit in limits},
            },
        )
    ]


def _odds_links(
    view: View,
    tenderest: Limit,
    years: int,
    winters: int,
    why: tuple[Because, ...],
    made: MadeWinters | None,
) -> tuple[Because, ...]:
    """The chain behind a preparation: how often, what the organ stands, from what chance it is told."""
    links = [
        computed(
            "In {years} of {count} past winters these two weeks had a night at the tree below what its {organ} "
            "stand"
            if made is None
            else "In {years} of {count} made-up winters these two weeks had a night at the tree below what its "
            "{organ} stand",
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


def _past_lows(view: View, last: date, made: MadeWinters | None) -> list[float]:
    """The lowest night of the same days in each past winter, or made-up one, at the station [degC]."""
    climate = view.site.climate
    measured = () if climate is None else climate.seasons
    seasons = measured if made is None else made.seasons
    if len(seasons) < view.constant("winters for the odds").number:
        return []
    lows = []
    for season in seasons:
        nights = _same_nights(season, view.today, last)
        if np.isfinite(nights).any():
            lows.append(float(np.nanmin(nights)))
    return lows


def _same_nights(season: CoolSeason, first: date, last: date) -> np.ndarray:
    """The nights of a past season on the same days of its year, over New Year too [degC]."""
    span, parts = (last - first).days + 1, []
    for year in range(season.start.year - 1, season.start.year + 2):
        try:
            begin = first.replace(year=year)
        except ValueError:
            begin = first.replace(year=year, day=28)
        at = (begin - season.start).days
        parts.append(season.tmin[max(at, 0) : max(at + span, 0)])
    return np.concatenate(parts)


def _ready(view: View, hurt: list[Limit]) -> tuple[Phrase, ...]:
    """What to have at hand where no night is forecast."""
    tree = view.tree
    steps = [phrase("At risk: {organs}.", organs=listed(limit.organ for limit in hurt))]
    if tree.pot is not None:
        steps.append(phrase("Make room for the pot in a porch or cool room, or against a wall."))
    elif (shelter := view.garden.shelter(tree.shelter)) is not None and shelter.shape != "wall":
        if view.through is not None:
            text = "The {shelter} cannot be closed over {tree}: cut it back, or have cloth at hand for it."
            steps.append(phrase(text, shelter=shelter.id, tree=view.through.tree.called))
        else:
            steps.append(phrase("See that the {shelter} closes to the ground.", shelter=shelter.id))
    else:
        steps.append(phrase("Have cloth, stakes and weights at hand that reach the ground."))
    if young_trunk(view) and tree.pot is None:
        steps.append(phrase("Have clean soil ready to bank the young trunk with."))
    steps.append(phrase("Hang a thermometer at the height of the leaves."))
    return tuple(steps)
