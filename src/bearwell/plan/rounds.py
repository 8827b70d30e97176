"""How much nitrogen a year, and in how many rounds: by habit and place, before local rules."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bearwell.knowledge import FeedingRule
from bearwell.plan.advice import Window
from bearwell.plan.view import LOOK_BACK, YEAR_AHEAD, View
from bearwell.reasons import Because, amount, computed, from_fact, from_rule


@dataclass(frozen=True)
class Need:
    """Nitrogen a tree is given in a year [g], with its range and reasons."""

    nitrogen: float
    low: float
    high: float
    rounds: int | None
    because: tuple[Because, ...]


@dataclass(frozen=True)
class Round:
    """One planned feeding: its days and its share of the year."""

    window: Window
    share: float
    number: int
    of: int


def yearly_need(view: View) -> Need:
    """Nitrogen a year by the rule of the kind: by the pot's volume, the trunk, or the years."""
    book, tree = view.book, view.tree
    if tree.pot is not None:
        rule = book.feeding["container-by-volume"]
        step, size = rule.step(0), tree.pot.volume
        by_pot = _need(
            rule,
            size,
            1.0,
            None,
            from_rule(
                "A container is fed by its volume: {rate} of N a litre of medium and year, so {n} for {volume}",
                rule,
                step.value * size,
                rate=amount(step.value, "g"),
                n=amount(step.value * size, "g"),
                volume=amount(size, "L"),
            ),
        )
        ground = _by_ground_rule(view)
        return by_pot if by_pot.nitrogen <= ground.nitrogen else ground
    return _by_ground_rule(view)


def _by_ground_rule(view: View) -> Need:
    book, species = view.book, view.species
    factor = species["feeding_factor"]
    rule = book.feeding[species["feeding_rule"].text]
    diameter = view.size.trunk_diameter
    if rule.basis == "trunk diameter":
        if diameter is None and rule.fallback:
            rule = book.feeding[rule.fallback]
        elif diameter is not None:
            step = rule.step(0)
            link = from_rule(
                "{kind} takes {rate} of N a year for each {per} of trunk diameter; the trunk is {diameter} thick",
                rule,
                step.value * diameter,
                kind=species.name,
                rate=amount(step.value * 0.0254, "g"),
                per=amount(0.0254, "m"),
                diameter=amount(diameter, "m"),
            )
            return _need(rule, diameter, factor.number, None, link)
    years = max(1.0, view.years_here + 1) if rule.basis == "years" else 1.0
    step = rule.step(int(years))
    link = from_rule(
        "{kind} in its year {year} takes {low} to {high} of N a year",
        rule,
        step.value,
        kind=species.name,
        year=int(years),
        low=amount(step.low, "g"),
        high=amount(step.high, "g"),
    )
    need = _need(rule, 1.0, factor.number, step.rounds, link, int(years))
    if factor.number != 1:
        text = "{kind} is given {value} of that rule"
        need = Need(
            need.nitrogen,
            need.low,
            need.high,
            need.rounds,
            (*need.because, from_fact(text, factor, kind=species.name)),
        )
    return need


def _need(
    rule: FeedingRule,
    size: float,
    factor: float,
    rounds: int | None,
    link: Because,
    year: float = 0,
) -> Need:
    step = rule.step(year)
    cap = rule.cap if rule.cap is not None else float("inf")
    values = [min(rate * size, cap) * factor for rate in (step.value, step.low, step.high)]
    return Need(values[0], values[1], values[2], rounds, (link,))


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
        "A pot holds a fraction of what soil holds, so it is fed every month"
        + (", winter like summer" if season == "all year" else " of its season"),
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
                    "{soil} lets nitrogen wash through: {value}", splits, soil=soil.capitalize()
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
    return rounds, tuple(links)


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
    if isinstance(soil, str) and view.book.item("soils", soil)["splits"].number > 4:
        count += 1
    rounds = []
    for year in range(view.site.season - 1, view.site.season + 3):
        known = min(year, view.site.season + 1)
        wakes = _wakes(view, known)
        begin = view.site.offset(wakes, known) - 28 if wakes else 60
        # Six weeks after bloom, or eight weeks before feeding must stop.
        stop = begin + 70.0 if season == "until bloom ends" else max(begin + 42, fact.number - 56)
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
            "{kind} is fed at bud swell and after bloom, not later than day {value}",
            fact,
            kind=view.species.name,
        )
    else:
        why = from_fact(
            "A deciduous tree is fed from late winter; feeding after day {value} of the (northern) "
            "year would push soft growth into autumn",
            fact,
        )
    return rounds, (why,)
