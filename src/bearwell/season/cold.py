"""How much cold a tree stands today: its hardening, its organs, what is on it, and its shelter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from bearwell.garden import Garden, Tree
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.said import said
from bearwell.science.hardening import hardened_limit
from bearwell.season.buds import Buds, buds_on
from bearwell.season.cycle import Cycle
from bearwell.season.hardiness import Hardness, hardness, wood_hardness
from bearwell.season.site import SiteSeason


@dataclass(frozen=True)
class Limit:
    """An organ and the air temperature at the tree at which it begins to be hurt [degC].

    ``low`` to ``high`` is what the sources and the dates leave open. ``stands`` tells the hours below it
    that do no harm yet, where that is known; ``buds`` the share killed, where stages were measured.
    """

    organ: str
    temperature: float
    because: tuple[Because, ...]
    low: float
    high: float
    stands: Fact | None = None
    buds: Buds | None = None


def hardening(site: SiteSeason, day: date, book: Knowledge) -> Hardness:
    """How hardened a tree is on a day, 0 to 1, from the weather since late summer."""
    return hardness(site, day, book)


_Adder = Callable[..., None]


@dataclass(frozen=True)
class _Standing:
    """One tree on one day, as its limits are worked out."""

    tree: Tree
    species: Species
    cycle: Cycle
    site: SiteSeason
    book: Knowledge
    day: date
    hard: Hardness

    def days(self, name: str) -> timedelta:
        return timedelta(days=round(self.book.constant(name).number))


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
    one = _Standing(tree, species, cycle, site, book, day, hardness(site, day, book))
    shift, why_shift = cold_shift(tree, species, book, day)
    limits: list[Limit] = []

    def add(organ: str, fact: Fact, stands: Fact | None = None) -> None:
        text = "{organ} of {kind}: hurt begins at about {value}"
        why = from_fact(text, fact, organ=said(organ).capitalize(), kind=species.name)
        ends = (fact.number + shift, fact.least + shift, fact.most + shift)
        limits.append(_limit(organ, ends, (why, *why_shift), stands))

    if species.keeps_leaves:
        limits.append(_between_ends(said("leaves"), one, one.hard, shift, why_shift))
    if tree.years_here(day) >= species["fruitless_years"].number:
        limits += _crop(one, add)
    if _flushes(one):
        add("new growth", species["cold_flush"])
    limits.append(_wood(one, shift, why_shift))
    if tree.pot is not None:
        limits.append(_roots(one))
    return sorted(limits, key=lambda limit: -limit.temperature)


def _limit(
    organ: str,
    ends: tuple[float, float, float],
    because: tuple[Because, ...],
    stands: Fact | None = None,
    buds: Buds | None = None,
) -> Limit:
    """A limit whose chain ends in the figure that is used; ``ends`` are value, low and high [degC]."""
    at, low, high = ends
    used = computed(
        "so {limit} for this tree today", round(at, 1), "degC", limit=amount(at, "degC")
    )
    return Limit(said(organ), at, (*because, used), low, high, stands, buds)


def _crop(one: _Standing, add: _Adder) -> list[Limit]:
    """Buds, flowers and fruit: by measured stages where there are any, else by bloom and crop alone."""
    species = one.species
    buds = None if species.keeps_leaves else buds_on(species, one.cycle, one.book, one.day)
    found = []
    if buds is not None:
        found.append(_limit(buds.organ, (buds.t10, buds.low, buds.high), buds.because, buds=buds))
    elif _holds(one.cycle, "bloom start", "bloom end", one.day):
        add(said("flowers"), species["cold_flower"])
    fruit = fruit_on(one.cycle, species, one.book, one.day)
    if fruit is not None and (buds is None or fruit == "fruit"):
        add(fruit, species["cold_fruit"], species.get("cold_fruit_hours"))
    return found


def _between_ends(
    organ: str, one: _Standing, hard: Hardness, shift: float, why_shift: tuple[Because, ...]
) -> Limit:
    """What leaves stand today, between their tender and their hardened limit."""
    species = one.species
    tender, hardened = species["cold_leaf_tender"], species["cold_leaf_hardened"]
    at, low, high = (
        float(hardened_limit(max(a, b), b, hard.state)) + shift
        for a, b in (
            (tender.number, hardened.number),
            (tender.least, hardened.least),
            (tender.most, hardened.most),
        )
    )
    because = (
        from_fact(
            "Leaves of {kind}: hurt begins at about {value} when soft",
            tender,
            kind=species.name,
        ),
        from_fact("and at about {value} when fully hardened", hardened),
        *hard.because,
        computed(
            "{share} % of the way from one to the other is {limit}",
            round(at - shift, 1),
            "degC",
            share=round(100 * hard.state),
            limit=amount(at - shift, "degC"),
        ),
        *why_shift,
    )
    return _limit(organ, (at, low, high), because)


def _wood(one: _Standing, shift: float, why_shift: tuple[Because, ...]) -> Limit:
    """What wood stands: an evergreen's in its range, a deciduous tree's from soft growth to full rest."""
    fact = one.species["cold_wood"]
    why = from_fact(
        "{organ} of {kind}: hurt begins at about {value}",
        fact,
        organ=said("wood").capitalize(),
        kind=one.species.name,
    )
    if one.species.keeps_leaves:
        at = float(hardened_limit(fact.most, fact.number, one.hard.state)) + shift
        ends = (at, fact.least + shift, fact.most + shift)
        soft_end = computed(
            "Not hardened it counts as at the tender end of that range, {tender}; it stands at {share} %",
            round(fact.most, 1),
            "degC",
            tender=amount(fact.most, "degC"),
            share=round(100 * one.hard.state),
        )
        return _limit(said("wood"), ends, (why, soft_end, *why_shift))
    soft = one.species["cold_flush"]
    hard = wood_hardness(one.hard, _ripened(one), one.book)
    at, low, high = (
        float(hardened_limit(soft.number, end, hard.state)) + shift
        for end in (fact.number, fact.least, fact.most)
    )
    because = (
        why,
        from_fact("when it rests; soft, it stands no more than new growth does, {value}", soft),
        *hard.because,
        *why_shift,
    )
    return _limit(said("wood"), (at, low, high), because)


def _ripened(one: _Standing) -> float:
    """How far the wood of a deciduous tree has ripened, from the end of its soft growth to leaf fall."""
    leafing = [day for day in one.cycle.leafing if day <= one.day]
    if not leafing:
        return 1.0
    grown = max(leafing) + one.days("soft growth lasts")
    fall = one.cycle.fall_after(max(leafing))
    return min(max((one.day - grown).days / max((fall - grown).days, 1), 0.0), 1.0)


def root_alarm(species: Species, book: Knowledge) -> Fact:
    """The air from which roots in a pot are in danger [degC]."""
    return book.constant(
        "pot root alarm" if species.keeps_leaves else "pot root alarm of a dormant tree"
    )


def _roots(one: _Standing) -> Limit:
    alarm = root_alarm(one.species, one.book)
    why = from_fact(
        "Roots in a pot harden little; {value} is a precaution, no measured limit was found",
        alarm,
    )
    return _limit("roots in the pot", (alarm.number, alarm.least, alarm.most), (why,))


def fruit_on(cycle: Cycle, species: Species, book: Knowledge, day: date) -> str | None:
    """What the fruit on the tree is called on a day, ripe or not; None while it carries none."""
    hangs, young = (
        timedelta(days=round(book.constant(name).number))
        for name in ("fruit hangs after bloom", "young fruit after bloom")
    )
    if species.keeps_leaves and _crop_hangs(cycle, day, hangs):
        return "fruit"
    if not _crop_hangs(cycle, day, young):
        return None
    dropped = cycle.last_before("natural drop end", day)
    begun = cycle.last_before("full bloom", day)
    grown = dropped is not None and begun is not None and dropped.date > begun.date
    return "fruit" if grown else "young fruit"


def cold_shift(
    tree: Tree, species: Species, book: Knowledge, day: date
) -> tuple[float, tuple[Because, ...]]:
    """How much less cold a tree stands for its youth and its stock [K], and why."""
    shift, links = 0.0, []
    if tree.years_here(day) < book.constant("young tree years").number:
        young = species["cold_young"]
        shift += young.number
        links.append(from_fact("A young tree stands about {value} less cold", young))
    if tree.rootstock and tree.rootstock in book.table("rootstocks"):
        stock = book.item("rootstocks", tree.rootstock)["cold"]
        if stock.number:
            shift -= stock.number
            links.append(
                from_fact(
                    "{stock} makes its top about {size} hardier"
                    if stock.number > 0
                    else "{stock} makes its top about {size} more tender",
                    stock,
                    stock=said(tree.rootstock).capitalize(),
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
            cover=said(shelter.cover),
        ),
    )


def _flushes(one: _Standing) -> bool:
    """Whether soft spring growth is on the tree: for weeks from leaf out, or round an evergreen's bloom."""
    soft, before = one.days("soft growth lasts"), one.days("soft growth before bloom")
    if one.species.keeps_leaves:
        return any(
            bloom.date - before <= one.day <= bloom.date + soft
            for bloom in one.cycle.every("bloom start")
        )
    return any(leaf.date <= one.day <= leaf.date + soft for leaf in one.cycle.every("leaf out"))


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
