"""The long view of cold at a garden: its winters, its zone, its shelters, and how its trees fit the place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.garden import Garden, Shelter
from bearwell.knowledge import Fact, Knowledge
from bearwell.plan.fit import Through
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, computed, from_fact, phrase
from bearwell.said import said
from bearwell.science.risk import hardiness_half_zone_usda
from bearwell.season.buds import buds_on
from bearwell.season.cold import cold_shift, fruit_on, root_alarm, said_colder
from bearwell.season.cycle import STANDARD_INTERVAL
from bearwell.season.hardiness import HardeningSeason, hardening_season
from bearwell.season.madewinters import made_winters
from bearwell.season.site import Floats, SiteSeason
from bearwell.season.winters import (
    Chance,
    FrostDate,
    Level,
    Winter,
    WinterRecord,
    every_day,
    on_days,
)

PERIODS = (2, 5, 10, 20, 50)
STEPS = (0.0, -2.0, -4.0, -6.0, -8.0)  # degC, steps at which nights are counted
_YEAR_AHEAD = 366


@dataclass(frozen=True)
class Zone:
    """Zone by the mean of each winter's lowest [degC]; ``low`` to ``high`` as few winters allow."""

    name: str
    low: str
    high: str
    mean: float
    winters: int
    because: Because


@dataclass(frozen=True)
class Count:
    """Nights a winter at or below a temperature: mean, least and most, and winters with any."""

    temperature: float
    mean: float
    least: int
    most: int
    winters: int


@dataclass(frozen=True)
class Hazard:
    """One way in which cold hurts a tree: the organ, its limit [degC], and the yearly chance of it here.

    ``open`` is the same without the shelter, where it stands in one.
    """

    organ: str
    what: str
    limit: float
    chance: Chance
    open: Chance | None
    because: tuple[Because, ...]

    @property
    def yearly(self) -> float:
        """The chance that is ranked by: worked out, else counted."""
        best = self.chance.best
        return self.chance.counted / self.chance.winters if best is None else best


@dataclass(frozen=True)
class TreeOutlook:
    """A tree's yearly odds of being lost and of being hurt, and whether it belongs here."""

    view: View
    lost: Hazard | None
    hurt: tuple[Hazard, ...]
    standing: str
    verdict: Phrase
    because: tuple[Because, ...]


@dataclass(frozen=True)
class ShelterOutlook:
    """What a shelter changes: its lift, and the one night in ten years inside it [degC].

    ``through`` is the tree that stands through it, so that it cannot be closed and changes nothing.
    """

    shelter: Shelter
    lift: Fact
    inside: tuple[float, float, float] | None
    trees: tuple[str, ...]
    through: Through | None = None


@dataclass(frozen=True)
class Outlook:
    """The long view. What cannot be worked out from the record is empty or None, and ``lacking`` says why.

    ``made`` counts the winters made up from normals that stand in where none is measured; 0 where one is.
    """

    winters: tuple[Winter, ...]
    levels: tuple[Level, ...]
    location: float | None
    scale: float | None
    zone: Zone | None
    counts: tuple[Count, ...]
    first: FrostDate | None
    last: FrostDate | None
    trees: tuple[TreeOutlook, ...]
    shelters: tuple[ShelterOutlook, ...]
    hardening: HardeningSeason | None
    colder: float
    lacking: Phrase | None
    made: int = 0


def plan_outlook(
    views: Sequence[View], site: SiteSeason, garden: Garden, book: Knowledge
) -> Outlook:
    """The long view of cold for a garden."""
    colder, _ = said_colder(site)
    least = round(book.constant("winters for a fit").number)
    record = WinterRecord(site, colder, least, made_winters(site, book))
    season = site.today.year + (1 if not site.southern and site.today.month >= 7 else 0)
    first, last = record.frost_dates(0.0, season)
    levels = record.levels(PERIODS)
    fit = record.fit
    trees = [one for view in views if (one := _tree(view, record)) is not None]
    trees.sort(key=lambda one: (-_rank(one.lost), -max((h.yearly for h in one.hurt), default=0.0)))
    return Outlook(
        record.winters if record.made is None else (),
        levels,
        None if fit is None else fit.location,
        None if fit is None else fit.scale,
        _zone(record, book),
        _counts(record),
        first,
        last,
        tuple(trees),
        tuple(_shelter(one, garden, levels, book, views) for one in garden.shelters),
        hardening_season(site, site.today, book),
        colder,
        _lacking(record, least),
        0 if record.made is None else len(record.seasons),
    )


def _rank(hazard: Hazard | None) -> float:
    return 0.0 if hazard is None else hazard.yearly


def _lacking(record: WinterRecord, least: int) -> Phrase | None:
    count = len(record.seasons)
    if record.made is not None:
        return phrase(
            "There is no measured winter: what stands here is of {count} winters made up about the monthly "
            "normals, a wide guess. Give daily weather of ten years or more under [weather] for the odds of this "
            "place.",
            count=count,
        )
    if count == 0:
        return phrase(
            "There is no measured winter: give daily weather of ten years or more under [weather], and the odds "
            "of this place stand here."
        )
    if count < least:
        return phrase(
            "{count} measured winters are too few to work out rare nights: what was counted is told, with a wide "
            "range. {least} are the fewest, thirty are good.",
            count=count,
            least=least,
        )
    return None


def zone_name(half: int) -> str:
    """A half-zone as people write it: 9b."""
    return f"{half // 2 + 1}{'ab'[half % 2]}"


def _zone(record: WinterRecord, book: Knowledge) -> Zone | None:
    if not len(record.coldest):
        return None
    mean, count = float(np.mean(record.coldest)), len(record.coldest)
    spread = float(np.std(record.coldest, ddof=1)) if count > 1 else 2.0
    error = 0.0 if record.made is None else record.made.error
    reach = STANDARD_INTERVAL * float(np.hypot(spread / count**0.5, error))
    names = [zone_name(hardiness_half_zone_usda(t)) for t in (mean, mean - reach, mean + reach)]
    why = from_fact(
        "Zones rest on the lowest temperatures of {value} winters; yours has {count}. Two winters in five fall "
        "below the mean"
        if record.made is None
        else "Zones rest on the lowest temperatures of {value} winters; yours has none, {count} were made up. Two "
        "winters in five fall below the mean",
        book.constant("winters for a zone"),
        count=count,
    )
    return Zone(names[0], names[1], names[2], mean, count, why)


def _counts(record: WinterRecord) -> tuple[Count, ...]:
    found = []
    for step in STEPS:
        nights = record.nights(every_day(step), 0.0)
        if nights:
            found.append(
                Count(
                    step,
                    float(np.mean(nights)),
                    min(nights),
                    max(nights),
                    sum(n > 0 for n in nights),
                )
            )
    return tuple(found)


def _shelter(
    shelter: Shelter,
    garden: Garden,
    levels: tuple[Level, ...],
    book: Knowledge,
    views: Sequence[View],
) -> ShelterOutlook:
    through = next((one.through for one in views if one.tree.shelter == shelter.id), None)
    lift = book.item("covers", shelter.cover)["lift"]
    ten = next((one for one in levels if one.years == 10), None)
    inside = (
        None
        if ten is None or through is not None
        else (ten.temperature + lift.number, ten.low + lift.least, ten.high + lift.most)
    )
    trees = tuple(tree.id for tree in garden.trees if tree.shelter == shelter.id)
    return ShelterOutlook(shelter, lift, inside, trees, through)


# ---------------------------------------------------------------------------- one tree


def _tree(view: View, record: WinterRecord) -> TreeOutlook | None:
    species = view.species
    shift, _ = cold_shift(view.tree, species, view.book, view.today)
    lost = _hazard(
        view, record, said("wood"), "the tree or its top is lost", species["cold_wood"], shift, None
    )
    hurt = []
    if species.keeps_leaves:
        hurt.append(
            _hazard(
                view,
                record,
                said("leaves"),
                "hardened leaves are hurt",
                species["cold_leaf_hardened"],
                shift,
                None,
            )
        )
    if view.bears:
        hurt += _crop(view, record, shift)
    if view.tree.pot is not None:
        alarm = root_alarm(species, view.book)
        what = "roots in the pot are in danger"
        hurt.append(_hazard(view, record, "roots in the pot", what, alarm, 0.0, None))
    kept = tuple(one for one in hurt if one is not None)
    if lost is None and not kept:
        return None
    standing, verdict, why = _verdict(view, lost, kept)
    return TreeOutlook(view, lost, kept, standing, verdict, why)


def _lift(view: View) -> Fact | None:
    shelter = view.garden.shelter(view.tree.shelter)
    return (
        None if shelter is None or view.through else view.book.item("covers", shelter.cover)["lift"]
    )


def _hazard(
    view: View,
    record: WinterRecord,
    organ: str,
    what: str,
    fact: Fact,
    shift: float,
    days: Floats | None,
) -> Hazard | None:
    """A hazard by a fact of the kind, on every day or on those whose limits are given."""
    limits = every_day(fact.number + shift) if days is None else days
    reach = (fact.most - fact.least) / (2 * STANDARD_INTERVAL)
    why = from_fact("{organ}: hurt begins at about {value}", fact, organ=said(organ).capitalize())
    return _weighed(view, record, organ, what, limits, reach, (why,))


def _weighed(
    view: View,
    record: WinterRecord,
    organ: str,
    what: str,
    limits: Floats,
    reach: float,
    why: tuple[Because, ...],
) -> Hazard | None:
    if view.through is not None:
        why = (*why, view.through.because)
    if record.made is not None:
        why = (*why, *record.made.because)
    lift = _lift(view)
    spread = reach if lift is None else float(np.hypot(reach, (lift.most - lift.least) / 2.56))
    here = record.chance(limits, 0.0 if lift is None else lift.number, spread)
    if here is None:
        return None
    bare = None if lift is None else record.chance(limits, 0.0, reach)
    return Hazard(organ, what, float(np.nanmax(limits)), here, bare, why)


def _crop(view: View, record: WinterRecord, shift: float) -> list[Hazard | None]:
    """What is on the tree for part of the year only: fruit that hangs into winter, flowers, new growth."""
    species = view.species
    found: list[Hazard | None] = []
    if species.keeps_leaves:
        fruit, flower = species["cold_fruit"], species["cold_flower"]
        for organ, what, fact, days in (
            ("fruit", "hanging fruit is hurt", fruit, _hanging(view, fruit.number + shift)),
            (
                "flowers",
                "flowers are hurt",
                flower,
                _days_between(view, "bloom start", "bloom end", flower.number + shift),
            ),
        ):
            if np.isfinite(days).any():
                found.append(_hazard(view, record, organ, what, fact, shift, days))
        return found
    buds = _bud_limits(view)
    if buds is not None:
        found.append(buds_hazard(view, record, buds))
        return found
    fact = species["cold_flush"]
    soft = round(view.constant("soft growth lasts").number)
    days = on_days(
        {
            leaf + timedelta(days=step): fact.number + shift
            for leaf in view.cycle.leafing
            if leaf >= view.today - timedelta(days=_YEAR_AHEAD)
            for step in range(soft)
        }
    )
    if np.isfinite(days).any():
        found.append(_hazard(view, record, "new growth", "new growth is hurt", fact, shift, days))
    return found


def _hanging(view: View, limit: float) -> Floats:
    """A limit on the days on which fruit hangs, ripe or not, in the seasons the cycle tells."""
    blooms = [one.date for one in view.cycle.every("full bloom")]
    ends = [one.date for one in view.cycle.every("harvest end")]
    if not blooms or not ends:
        return on_days({})
    count = (max(ends) - min(blooms)).days + 1
    days = (min(blooms) + timedelta(days=step) for step in range(count))
    return on_days(
        {
            day: limit
            for day in days
            if fruit_on(view.cycle, view.species, view.book, day) == "fruit"
        }
    )


def _days_between(view: View, first: str, last: str, limit: float) -> Floats:
    """A limit on the days from one event to the next, in the seasons the cycle tells."""
    found: dict[date, float] = {}
    for begin in view.cycle.every(first):
        end = view.cycle.of(last, begin.season, begin.wave)
        if end is None:
            continue
        day = begin.date
        while day <= end.date:
            found[day] = limit
            day += timedelta(days=1)
    return on_days(found)


def _bud_limits(view: View) -> tuple[Floats, float] | None:
    """Cold that kills half of the flower buds by day of the year, and how honest it is [K]."""
    limits: dict[date, float] = {}
    reaches = []
    bloom = view.cycle.next_after("full bloom", view.today) or view.cycle.last_before(
        "full bloom", view.today
    )
    if bloom is None:
        return None
    for step in range(-45, 31):
        day = bloom.date + timedelta(days=step)
        buds = buds_on(view.species, view.cycle, view.book, day)
        if buds is None or not buds.possible:
            continue
        half = [(t10 + t90) / 2 for t10, t90 in buds.possible]
        limits[day] = sum(half) / len(half)
        reaches.append((max(half) - min(half)) / 2)
    if not limits:
        return None
    return on_days(limits), max(float(np.mean(reaches)), 0.5)


def buds_hazard(view: View, record: WinterRecord, buds: tuple[Floats, float]) -> Hazard | None:
    """Half of the flower buds killed in spring, by the stages of the usual dates."""
    limits, reach = buds
    why = computed(
        "Half of the buds are killed halfway between the cold that kills a tenth and nine tenths at each stage; "
        "stages stand on this year's forecast of bloom"
    )
    return _weighed(
        view, record, "flower buds", "half of the flower buds are killed", limits, reach, (why,)
    )


def _verdict(
    view: View, lost: Hazard | None, hurt: tuple[Hazard, ...]
) -> tuple[str, Phrase, tuple[Because, ...]]:
    """Whether a tree belongs here, in plain words."""
    home, out = view.constant("loss at home"), view.constant("loss out of place")
    often = view.constant("damage out of place")
    loss = _rank(lost)
    worst = max(hurt, key=lambda one: one.yearly, default=None)
    links = (
        from_fact("Below a yearly chance of loss of {value} a tree is at home", home),
        from_fact("from {value} it is out of place in the open", out),
        from_fact("and from {value} a year of hurt it wants protection most winters", often),
    )
    where = said("where it stands" if view.tree.shelter else "in the open")
    if loss >= out.number:
        pot = view.tree.pot is not None
        text = (
            "Out of place outdoors all winter; its pot has to come in"
            if pot
            else "Out of place {where}: it belongs in a pot that comes in, or under a warmer cover"
        )
        return "out of place", phrase(text, where=where), links
    if loss >= home.number:
        return (
            "at its edge",
            phrase(
                "At its edge {where}: a hard winter can take it; protect it in each", where=where
            ),
            links,
        )
    if worst is not None and worst.yearly >= often.number:
        return (
            "hurt often",
            phrase(
                "Lives here, but {what} often: protect it in those nights", what=said(worst.what)
            ),
            links,
        )
    return "at home", phrase("At home here"), links
