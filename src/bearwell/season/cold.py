"""How much cold a tree stands today: its hardening, its organs, what is on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.season.cycle import Cycle
from bearwell.season.site import SiteSeason


@dataclass(frozen=True)
class Limit:
    """An organ and the air temperature outside at which it begins to be hurt [degC]."""

    organ: str
    temperature: float
    hours: float
    because: tuple[Because, ...]


def hardening(site: SiteSeason, day: date, book: Knowledge) -> tuple[float, Because]:
    """How hardened an evergreen is on a day, 0 to 1, from the weeks before it.

    Cool days below 12.8 degC build it, warm days undo it faster. Without weather it is taken as half.
    """
    days = int(book.constant("hardening days").number)
    base = book.constant("hardening base")
    loss = book.constant("hardening loss").number
    if site.series is None:
        return 0.5, from_fact("No daily weather: hardening is taken as half", base)
    first = max(site.series.start, day - timedelta(days=60))
    if first >= min(day, site.series.end):
        return 0.5, from_fact("No recent weather: hardening is taken as half", base)
    recent = site.series.between(first, min(day, site.series.end))
    state = 0.0
    for mean in (recent.tmin + recent.tmax) / 2:
        if not np.isfinite(mean):
            continue
        step = (base.number - mean) / base.number / days * 3
        state = min(max(state + (step if step > 0 else loss * step), 0.0), 1.0)
    why = from_fact(
        "Weeks below {value} harden an evergreen and warm days undo it quickly; it stands at {share} %",
        base,
        share=round(100 * state),
    )
    return state, why


def cold_limits(
    tree: Tree,
    species: Species,
    cycle: Cycle,
    site: SiteSeason,
    book: Knowledge,
    day: date,
) -> list[Limit]:
    """Every organ the tree carries on this day with its limit outside the shelter, tenderest first."""
    shift, why_shift = _shift(tree, species, book, day)
    limits: list[Limit] = []

    def add(
        organ: str, fact: Fact, hours: float, temperature: float | None = None, *more: Because
    ) -> None:
        limit = (fact.number if temperature is None else temperature) + shift
        text = "{organ} of {kind} begin to be hurt at about {value}"
        limits.append(
            Limit(
                organ,
                limit,
                hours,
                (
                    from_fact(text, fact, organ=organ.capitalize(), kind=species.name),
                    *more,
                    *why_shift,
                ),
            )
        )

    if species.keeps_leaves:
        state, why = hardening(site, day, book)
        tender, hard = species["cold_leaf_tender"], species["cold_leaf_hardened"]
        at = tender.number + state * (hard.number - tender.number)
        add("leaves", hard if state > 0.5 else tender, 0.5, at, why)
    if _holds(cycle, "bloom start", "bloom end", day):
        add("flowers", species["cold_flower"], 0.5)
    if species.keeps_leaves and _fruit_hangs(cycle, day):
        add("fruit", species["cold_fruit"], species["cold_fruit_hours"].number)
    elif _young_fruit(cycle, day):
        add("young fruit", species["cold_fruit"], 0.5)
    if _flushes(species, cycle, day):
        add("new growth", species["cold_flush"], 0.5)
    add("wood", species["cold_wood"], 2.0)
    if tree.pot is not None:
        alarm = book.constant("pot root alarm")
        limits.append(
            Limit(
                "roots in the pot",
                alarm.number,
                3.0,
                (
                    from_fact(
                        "Roots in a pot harden little; {value} is a precaution, no measured limit was found",
                        alarm,
                    ),
                ),
            )
        )
    return sorted(limits, key=lambda limit: -limit.temperature)


def _shift(
    tree: Tree, species: Species, book: Knowledge, day: date
) -> tuple[float, tuple[Because, ...]]:
    shift, links = 0.0, []
    if tree.years_here(day) < book.constant("young tree years").number:
        young = species["cold_young"]
        shift += young.number
        links.append(from_fact("A young tree stands about {value} less cold", young))
    if tree.rootstock and tree.rootstock in book.table("rootstocks"):
        stock = book.item("rootstocks", tree.rootstock)["cold"]
        if stock.number:
            shift -= stock.number
            way = "hardier" if stock.number > 0 else "more tender"
            links.append(
                from_fact(
                    "{stock} makes its top about {size} " + way,
                    stock,
                    stock=tree.rootstock.capitalize(),
                    size=amount(abs(stock.number), "K"),
                )
            )
    return shift, tuple(links)


def shelter_lift(tree: Tree, garden: Garden, book: Knowledge) -> tuple[float, tuple[Because, ...]]:
    """How much warmer the tree's place is than outside on a still clear night [K]."""
    shelter = garden.shelter(tree.shelter)
    if shelter is None:
        return 0.0, ()
    fact = book.item("covers", shelter.cover)["lift"]
    return fact.number, (
        from_fact(
            "Under {cover} it is about {value} warmer than outside on a still clear night; the range "
            "matters more than the number",
            fact,
            cover=shelter.cover,
        ),
    )


def _flushes(species: Species, cycle: Cycle, day: date) -> bool:
    """Whether soft spring growth is on the tree: two months from leaf out, or round an evergreen's bloom."""
    soft = timedelta(days=60)
    if species.keeps_leaves:
        return any(
            bloom.date - timedelta(days=20) <= day <= bloom.date + soft
            for bloom in cycle.every("bloom start")
        )
    return any(leaf.date <= day <= leaf.date + soft for leaf in cycle.every("leaf out"))


def _holds(cycle: Cycle, first: str, last: str, day: date) -> bool:
    """Whether a day lies between the first event and the last event that follows it."""
    begun = cycle.last_before(first, day)
    if begun is None:
        return False
    ended = cycle.next_after(last, begun.date)
    return ended is None or day <= ended.date


def _fruit_hangs(cycle: Cycle, day: date) -> bool:
    """Whether any crop past natural drop is still on the tree."""
    return any(
        bloom.date + timedelta(days=30) <= day <= end.date
        for bloom in cycle.every("full bloom")
        if (end := cycle.of("harvest end", bloom.season, bloom.wave)) is not None
    )


def _young_fruit(cycle: Cycle, day: date) -> bool:
    return any(
        bloom.date + timedelta(days=7) <= day <= end.date
        for bloom in cycle.every("full bloom")
        if (end := cycle.of("harvest end", bloom.season, bloom.wave)) is not None
    )


def said_colder(site: SiteSeason) -> tuple[float, tuple[Because, ...]]:
    """How much colder the spot runs than the station on clear nights [K]."""
    colder = site.site.colder_than_station
    if not colder:
        return 0.0, ()
    return colder, (
        computed(
            "Your spot runs {colder} colder than the station on clear nights",
            colder,
            "K",
            colder=amount(colder, "K"),
        ),
    )
