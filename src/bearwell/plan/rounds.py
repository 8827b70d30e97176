"""When a tree is fed in a year and in how many rounds: by habit and place, before local rules."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Window
from bearwell.plan.need import Need
from bearwell.plan.view import LOOK_BACK, YEAR_AHEAD, View
from bearwell.reasons import Because, computed, from_fact
from bearwell.said import said


@dataclass(frozen=True)
class Round:
    """One planned feeding: its days and its share of the year."""

    window: Window
    share: float
    number: int
    of: int
    part: int = 1
    parts: int = 1

    @property
    def key(self) -> str:
        """What tells it from the other rounds of its year."""
        return f"round-{self.number}" + (f"-{self.part}" if self.parts > 1 else "")


def feeding_rounds(view: View, need: Need) -> tuple[list[Round], tuple[Because, ...]]:
    """The rounds from a little before today to a year ahead, before local rules, and why so many."""
    first, last = view.today - timedelta(days=LOOK_BACK), view.today + timedelta(days=YEAR_AHEAD)
    season = view.species["feeding_season"].text
    if view.tree.pot is not None:
        return _monthly(view, season, first, last)
    if season == "all year":
        return _around_the_year(view, need, first, last)
    return _growing_season(view, season, first, last)


def _monthly(
    view: View, season: str, first: date, last: date
) -> tuple[list[Round], tuple[Because, ...]]:
    fact = view.constant("rounds in a pot")
    rounds = []
    for year in range(first.year, last.year + 1):
        starts = [date(year, month, 1) for month in range(1, 13)]
        if season != "all year":
            starts = [day for day in starts if _in_deciduous_season(view, day + timedelta(days=9))]
        for number, begin in enumerate(starts, start=1):
            end = (begin + timedelta(days=32)).replace(day=1) - timedelta(days=1)
            if end >= first and begin <= last:
                window = Window(begin, begin + timedelta(days=9), end)
                rounds.append(Round(window, 1 / len(starts), number, len(starts)))
    why = from_fact(
        "A pot holds a fraction of what soil holds, so it is fed every month, winter like summer"
        if season == "all year"
        else "A pot holds a fraction of what soil holds, so it is fed every month of its season",
        fact,
    )
    return rounds, (why,)


def _around_the_year(
    view: View, need: Need, first: date, last: date
) -> tuple[list[Round], tuple[Because, ...]]:
    least = view.constant("least rounds evergreen ground")
    count, links = (
        int(least.number),
        [
            from_fact(
                "{kind} is fed {value}", view.species["feeding_season"], kind=view.species.name
            ),
            from_fact(
                "It never goes dormant: in winter it still ripens fruit and grows, so it is fed at least "
                "{value}, evenly through the year",
                least,
            ),
        ],
    )
    if need.rounds and need.rounds > count:
        count = need.rounds
        links.append(
            computed("Its feeding rule asks for {count} rounds at this age", count, count=count)
        )
    soil = view.garden.site.soil
    if isinstance(soil, str):
        splits = view.book.item("soils", soil)["splits"]
        if splits.number > count:
            count = int(splits.number)
            links.append(
                from_fact(
                    "{soil} lets nitrogen wash through: {value}",
                    splits,
                    soil=said(soil).capitalize(),
                )
            )
    bloom = view.cycle.of("full bloom", view.site.season)
    anchor = (bloom.date if bloom else view.site.day(105, view.site.season)) - timedelta(days=45)
    gap = 365.25 / count
    rounds = []
    for index in range(-2 * count, 2 * count + 1):
        best = anchor + timedelta(days=round(index * gap))
        window = Window(best - timedelta(days=14), best, best + timedelta(days=21))
        if window.latest >= first and window.earliest <= last:
            rounds.append(Round(window, 1 / count, index % count + 1, count))
    return _before_frost(view, rounds, links)


def _before_frost(
    view: View, rounds: list[Round], links: list[Because]
) -> tuple[list[Round], tuple[Because, ...]]:
    """The late-season question, both sides told: even rounds, or none from some weeks before frost."""
    ahead = view.constant("late rounds before frost")
    if view.garden.feeding.late_rounds == "even":
        why = from_fact(
            "Late rounds are kept, even with the others, as your garden file or its default says. The other side "
            "stops {value} before frost, for fear of soft growth: late_rounds = 'stop before frost'",
            ahead,
        )
        return rounds, (*links, why)
    first, last = _frost_day(view, "first"), _frost_day(view, "last")
    if first is None or last is None:
        none = computed("No frost that hurts new growth is on record, so no round is left out")
        return rounds, (*links, none)
    stop = first - ahead.number
    kept = []
    for one in rounds:
        day = view.site.northern_day(one.window.best)
        if last < day < stop:
            kept.append(one)
    share = len(rounds) / len(kept) if kept else 1.0
    why = from_fact(
        "Your garden file stops feeding {value} before the first usual frost until frost is past; the other "
        "rounds carry the share. The other side feeds on, as the tree spends all winter",
        ahead,
    )
    return [Round(one.window, one.share * share, one.number, one.of) for one in kept], (*links, why)


def _frost_day(view: View, which: str) -> float | None:
    """The usual first or last day of the season with a night that hurts new growth; None without one.

    A first night after New Year counts on from the old year's days, a last one before it back from the new.
    """
    climate = view.site.climate
    if climate is None or climate.from_normals:
        return None
    limit = view.species["cold_flush"].number + view.site.site.colder_than_station
    days = []
    for spell in climate.cold_spells(limit):
        night = spell.first if which == "first" else spell.last
        if night is None:
            continue
        day = float(view.site.northern_day(night))
        if which == "first" and day < 183:
            day += 366
        if which == "last" and day > 183:
            day -= 366
        days.append(day)
    return float(np.quantile(days, 0.2 if which == "first" else 0.8)) if days else None


def _in_deciduous_season(view: View, day: date) -> bool:
    end = view.constant("last deciduous feeding").number
    begin = _first_deciduous_day(view)
    return begin <= view.site.northern_day(day) <= end


def _first_deciduous_day(view: View) -> int:
    wakes = _wakes(view, view.site.season)
    return view.site.northern_day(wakes) - 28 if wakes else 60


def _wakes(view: View, season: int) -> date | None:
    """Full bloom or leaf out, whichever comes first."""
    stages = [view.cycle.of(event, season) for event in ("full bloom", "leaf out")]
    return min((stage.date for stage in stages if stage), default=None)


def _growing_season(
    view: View, season: str, first: date, last: date
) -> tuple[list[Round], tuple[Because, ...]]:
    fact = view.constant("last deciduous feeding")
    count = int(view.constant("rounds deciduous").number)
    soil = view.garden.site.soil
    links: list[Because] = []
    if isinstance(soil, str):
        splits = view.book.item("soils", soil)["splits"]
        if splits.number > view.constant("least rounds evergreen ground").number:
            count += 1
            text = "{soil} lets nitrogen wash through ({value} for an evergreen): one round more"
            links.append(from_fact(text, splits, soil=said(soil).capitalize()))
    rounds = []
    for year in range(view.site.season - 1, view.site.season + 3):
        known = min(year, view.site.season + 1)
        wakes = _wakes(view, known)
        begin = view.site.offset(wakes, known) - 28 if wakes else 60
        # Four weeks after bloom, when fruit has set; else eight weeks before feeding must stop.
        stop = max(begin + 42, fact.number - 56)
        bloom = view.cycle.of("full bloom", known)
        if season == "until bloom ends" and bloom is not None:
            stop = max(begin + 42.0, view.site.offset(bloom.date, known) + 28)
        for index in range(count):
            best = view.site.day(begin + (stop - begin) * index / max(count - 1, 1), year)
            limit = view.site.day(fact.number, year)
            if best > limit:
                continue
            window = Window(best - timedelta(days=14), best, min(best + timedelta(days=28), limit))
            if window.latest >= first and window.earliest <= last:
                rounds.append(Round(window, 1 / count, index + 1, count))
    if season == "until bloom ends":
        why = from_fact(
            "{kind} is fed at bud swell and after fruit has set, not later than {when}",
            fact,
            kind=view.species.name,
            when=view.site.day(fact.number - 1, view.site.season),
        )
    else:
        why = from_fact(
            "A deciduous tree is fed from late winter; feeding after {when} would push soft growth into "
            "autumn",
            fact,
            when=view.site.day(fact.number - 1, view.site.season),
        )
    return rounds, (*links, why)
