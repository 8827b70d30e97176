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
    """An organ and the air temperature outside at which it begins to be hurt [degC].

    ``stands`` tells the hours below it that do no harm yet, where that is known.
    """

    organ: str
    temperature: float
    because: tuple[Because, ...]
    stands: Fact | None = None


def hardening(site: SiteSeason, day: date, book: Knowledge) -> tuple[float, Because]:
    """How hardened an evergreen is on a day, 0 to 1, from the weeks before it.

    Cool days below the base build it, warm days undo it faster. Without weather it is taken as half.
    """
    days = int(book.constant("hardening days").number)
    base = book.constant("hardening base")
    loss = book.constant("hardening loss").number
    full = book.constant("coolness that hardens fully").number
    unknown = book.constant("hardening unknown")
    if site.series is None:
        return unknown.number, from_fact("No daily weather: hardening is taken as {value}", unknown)
    first = max(site.series.start, day - _days(book, "hardening look back"))
    if first >= min(day, site.series.end):
        return unknown.number, from_fact(
            "No recent weather: hardening is taken as {value}", unknown
        )
    recent = site.series.between(first, min(day, site.series.end))
    state = 0.0
    for mean in (recent.tmin + recent.tmax) / 2:
        if not np.isfinite(mean):
            continue
        step = (base.number - mean) / base.number / days / full
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
    """Every organ the tree carries on this day with its limit outside the shelter, tenderest first.

    A tree told to keep no fruit yet has no flowers or fruit to protect.
    """
    shift, why_shift = _shift(tree, species, book, day)
    limits: list[Limit] = []

    def add(organ: str, fact: Fact, stands: Fact | None = None) -> None:
        text = "{organ} of {kind} begin to be hurt at about {value}"
        why = from_fact(text, fact, organ=organ.capitalize(), kind=species.name)
        limits.append(_limit(organ, fact.number + shift, (why, *why_shift), stands))

    if species.keeps_leaves:
        at, why_leaves = _leaves(species, site, book, day)
        limits.append(_limit("leaves", at + shift, (*why_leaves, *why_shift)))
    if tree.years_here(day) >= species["fruitless_years"].number:
        if _holds(cycle, "bloom start", "bloom end", day):
            add("flowers", species["cold_flower"])
        fruit = _fruit(species, cycle, book, day)
        if fruit is not None:
            add(fruit, species["cold_fruit"], species.get("cold_fruit_hours"))
    if _flushes(species, cycle, book, day):
        add("new growth", species["cold_flush"])
    add("wood", species["cold_wood"])
    if tree.pot is not None:
        alarm = book.constant(
            "pot root alarm" if species.keeps_leaves else "pot root alarm of a dormant tree"
        )
        why = from_fact(
            "Roots in a pot harden little; {value} is a precaution, no measured limit was found",
            alarm,
        )
        limits.append(_limit("roots in the pot", alarm.number, (why,)))
    return sorted(limits, key=lambda limit: -limit.temperature)


def _limit(
    organ: str, at: float, because: tuple[Because, ...], stands: Fact | None = None
) -> Limit:
    """A limit whose chain ends in the figure that is used."""
    used = computed(
        "so {limit} for this tree today", round(at, 1), "degC", limit=amount(at, "degC")
    )
    return Limit(organ, at, (*because, used), stands)


def _leaves(
    species: Species, site: SiteSeason, book: Knowledge, day: date
) -> tuple[float, tuple[Because, ...]]:
    """What leaves stand today, between their tender and their hardened limit [degC]."""
    state, why = hardening(site, day, book)
    tender, hard = species["cold_leaf_tender"], species["cold_leaf_hardened"]
    at = tender.number + state * (hard.number - tender.number)
    return at, (
        from_fact(
            "Leaves of {kind} begin to be hurt at about {value} when soft",
            tender,
            kind=species.name,
        ),
        from_fact("and at about {value} when fully hardened", hard),
        why,
        computed(
            "{share} % of the way from one to the other is {limit}",
            round(at, 1),
            "degC",
            share=round(100 * state),
            limit=amount(at, "degC"),
        ),
    )


def _fruit(species: Species, cycle: Cycle, book: Knowledge, day: date) -> str | None:
    """What its fruit is called on this day, or None while it carries none."""
    if species.keeps_leaves and _crop_hangs(cycle, day, _days(book, "fruit hangs after bloom")):
        return "fruit"
    if not _crop_hangs(cycle, day, _days(book, "young fruit after bloom")):
        return None
    dropped = cycle.last_before("natural drop end", day)
    begun = cycle.last_before("full bloom", day)
    grown = dropped is not None and begun is not None and dropped.date > begun.date
    return "fruit" if grown else "young fruit"


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


def _days(book: Knowledge, name: str) -> timedelta:
    return timedelta(days=round(book.constant(name).number))


def _flushes(species: Species, cycle: Cycle, book: Knowledge, day: date) -> bool:
    """Whether soft spring growth is on the tree: for weeks from leaf out, or round an evergreen's bloom."""
    soft, before = _days(book, "soft growth lasts"), _days(book, "soft growth before bloom")
    if species.keeps_leaves:
        return any(
            bloom.date - before <= day <= bloom.date + soft for bloom in cycle.every("bloom start")
        )
    return any(leaf.date <= day <= leaf.date + soft for leaf in cycle.every("leaf out"))


def _holds(cycle: Cycle, first: str, last: str, day: date) -> bool:
    """Whether a day lies between the first event and the last event that follows it."""
    begun = cycle.last_before(first, day)
    if begun is None:
        return False
    ended = cycle.next_after(last, begun.date)
    return ended is None or day <= ended.date


def _crop_hangs(cycle: Cycle, day: date, after: timedelta) -> bool:
    """Whether a crop is on the tree, counted from some days after full bloom to the end of picking."""
    return any(
        bloom.date + after <= day <= end.date
        for bloom in cycle.every("full bloom")
        if (end := cycle.of("harvest end", bloom.season, bloom.wave)) is not None
    )


def said_colder(site: SiteSeason) -> tuple[float, tuple[Because, ...]]:
    """How much colder the spot runs than the station on clear nights [K]."""
    return site.colder.value, site.colder.because
