"""The water of one tree, day by day: what it asks for, what falls and is given, what is left.

Millimetres lie on the ground its roots drink from, its *ground*; 1 mm on 1 m2 is 1 L.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.garden.model import MeasuredSoil
from bearwell.garden.water import Drip
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase
from bearwell.said import said
from bearwell.science.cropwater import (
    basal_coefficient_allen_pereira,
    crop_coefficient_on_day_fao56,
    density_coefficient_allen_pereira,
    full_cover_coefficient_allen_pereira,
    highest_crop_coefficient_fao56,
    total_evaporable_water_fao56,
)
from bearwell.science.dualwater import DualDay, Ground, dual_day_fao56
from bearwell.science.soilwater import (
    depletion_share_fao56,
    readily_available_water,
    total_available_water,
)
from bearwell.season.cycle import Cycle
from bearwell.season.rainknown import rain_doubt
from bearwell.season.site import Demand, Floats, SiteSeason
from bearwell.season.size import Size

AHEAD = 14  # days a plan of watering looks ahead
# Wind and humidity of the tabled coefficients: eq. 62 of FAO-56 moves them from there.
TABLED_HUMIDITY = 0.45
_WEEK = 7


@dataclass(frozen=True)
class RootZone:
    """What of a tree's water does not change from day to day.

    ``area`` is its ground [m2], ``total`` the available water [mm], ``tabled_share`` the depletion share of
    its kind, ``texture`` a name for the soil or the medium, ``depth`` of the roots [m], NaN in a pot.
    """

    pot: bool
    area: float
    ground: Ground
    tabled_share: float
    texture: str
    depth: float

    @property
    def total(self) -> float:
        """Total available water [mm]."""
        return self.ground.total


@dataclass(frozen=True, eq=False)
class WaterDays:
    """Past and coming days of a root zone, arrays of one length; the coming ones without any watering.

    Millimetres on the tree's ground. ``share`` is the depletion share of each day. ``supposed`` is water a
    pot must have had although nobody wrote it down: one that stands there alive was watered when short.
    """

    start: date
    rain: Floats
    given: Floats
    et0: Floats
    basal: Floats
    highest: Floats
    cover: Floats
    share: Floats
    depletion: Floats
    drainage: Floats
    stress: Floats
    used: Floats
    supposed: Floats

    @cached_property
    def inputs(self) -> list[tuple[float, ...]]:
        """Rain, reference, basal and highest coefficient, cover and share of each day, as plain numbers."""
        columns = (self.rain, self.et0, self.basal, self.highest, self.cover, self.share)
        return list(zip(*(one.tolist() for one in columns), strict=True))

    def index(self, day: date) -> int:
        """Where a date stands."""
        return (day - self.start).days

    def day(self, index: int) -> date:
        """The date of an index."""
        return self.start + timedelta(days=index)


@dataclass(frozen=True)
class WaterState:
    """What a tree's root zone holds this morning and loses a day [L], with its limits and its days.

    ``rain_doubt`` says why the account is no ground for a dose: rain is unknown in a season that may be wet.
    """

    zone: RootZone
    days: WaterDays
    morning: tuple[float, float, float]
    today: int
    daily_use: float
    deficit: float
    ready: float
    total: float
    days_counted: int
    unknown_rain: int
    usual_days: int
    rain_doubt: Phrase | None
    because: tuple[Because, ...]

    def step(self, index: int, state: tuple[float, float, float], gift: float = 0.0) -> DualDay:
        """One day from a state of (depletion, skin, wetted share), with a gift on its ground [mm]."""
        rain, *rest = self.days.inputs[index]
        return dual_day_fao56(self.zone.ground, *state, rain, gift, *rest)

    def short_at(self, index: int) -> float:
        """Depletion from which the tree is short on a day [mm]."""
        return float(self.days.share[index]) * self.zone.total

    def asked(self, index: int) -> float:
        """What the tree asks for on a day, without the soil's own evaporation [mm]."""
        return float(self.days.et0[index] * self.days.basal[index])


def coefficient_curve(
    species: Species, cycle: Cycle, site: SiteSeason, first: date, days: int, book: Knowledge
) -> Floats:
    """The tabled single crop coefficient of each day from ``first`` on, shape (days,) [1].

    Evergreens go through four stages from midwinter on; deciduous trees rise from leaf out to the full
    canopy and fall before leaf fall. Without leaves the coefficient is the first one.
    """
    start, middle, end = (species[name].number for name in ("kc_ini", "kc_mid", "kc_end"))

    def length(name: str) -> float:
        return book.constant(name).number

    if species.keeps_leaves:
        stages = [
            length(f"evergreen {name} days") for name in ("winter", "spring", "summer", "autumn")
        ]
        number = site.northern_day(first) + np.arange(days)
        row = crop_coefficient_on_day_fao56((number - 1) % 365 + 1, start, middle, end, *stages)
        return np.asarray(row)
    row = np.full(days, start)
    at = np.arange(days)
    opening, growing, fading = (
        length(f"days of {name} leaves") for name in ("opening", "growing", "fading")
    )
    for leaf, fall in _leafy_spells(cycle):
        a, c = (leaf - first).days, (fall - first).days
        if c < 0 or a >= days:
            continue
        rise = a + opening
        turns = [
            a,
            rise,
            max(min(rise + growing, c - fading), rise + 1),
            max(c - fading, rise + 2),
            max(c, rise + 3),
        ]
        inside = (at >= a) & (at < c)
        row[inside] = np.interp(at[inside], turns, [start, start, middle, middle, end])
    return row


def crop_coefficients(
    species: Species, cycle: Cycle, site: SiteSeason, first: date, days: int
) -> Floats:
    """The crop coefficient of each day in steps, as the nitrogen account counts months, shape (days,) [1].

    Evergreens go by quarters of their season; deciduous trees by leaf out, full canopy and fading leaves.
    """
    start, middle, end = (species[name].number for name in ("kc_ini", "kc_mid", "kc_end"))
    if species.keeps_leaves:
        quarters = [
            (site.northern_day(first + timedelta(days=n)) - 1) % 366 // 92 for n in range(days)
        ]
        return np.array([start, middle, middle, end])[quarters]
    row = np.full(days, start)
    fading = timedelta(days=35)
    for leaf in cycle.leafing:
        fall = cycle.fall_after(leaf)
        a, b, c = ((day - first).days for day in (leaf, fall - fading, fall))
        row[max(a, 0) : max(b, 0)] = middle
        row[max(b, 0) : max(c, 0)] = end
    return row


def _leafy_spells(cycle: Cycle) -> list[tuple[date, date]]:
    """The days of leaf out, each with its leaf fall."""
    return [(leaf, cycle.fall_after(leaf)) for leaf in cycle.leafing]


def in_leaf(species: Species, cycle: Cycle, first: date, days: int) -> Floats:
    """Whether the tree carries leaves on each day from ``first`` on, 1 or 0, shape (days,)."""
    if species.keeps_leaves:
        return np.ones(days)
    row = np.zeros(days)
    for leaf, fall in _leafy_spells(cycle):
        row[max((leaf - first).days, 0) : max((fall - first).days, 0)] = 1.0
    return row


def water_state(
    tree: Tree,
    species: Species,
    cycle: Cycle,
    size: Size,
    site: SiteSeason,
    garden: Garden,
    book: Knowledge,
    today: date,
) -> WaterState | None:
    """The account up to today and the days ahead; None where even the usual weather is unknown."""
    span = _span(tree, book, today)
    longest = int(book.constant("water balance days").number)
    demand = site.demand(
        today - timedelta(days=longest), today + timedelta(days=AHEAD), garden.watering.wind_height
    )
    begin = longest - span
    if not np.isfinite(demand.et0[begin:]).all():
        return None
    zone, links = root_zone(tree, species, size, garden, book, today)
    days = days_of(tree, species, cycle, size, site, book, zone, demand, begin)
    now = span
    state = 0.0, 0.0, 1.0
    given = days.given.tolist()
    for index in range(len(days.et0)):
        if index == now:
            morning = state
        rain, *rest = days.inputs[index]
        day = dual_day_fao56(zone.ground, *state, rain, given[index], *rest)
        days.depletion[index], days.drainage[index], days.stress[index] = (
            day.depletion,
            day.drainage,
            day.stress,
        )
        days.used[index] = day.transpiration + day.evaporation
        state = day[:3]
        short = float(days.share[index]) * zone.total
        if zone.pot and index < now and state[0] > short:
            days.supposed[index] = state[0] - short
            days.depletion[index] = short
            state = short, day.surface, day.wet
    recent = slice(max(now - _WEEK, 0), now)
    use = float(np.mean((days.et0 * days.basal)[recent])) * zone.area
    use += (
        max(float(np.mean((days.used - days.stress * days.et0 * days.basal)[recent])), 0.0)
        * zone.area
    )
    past = slice(begin, begin + span)
    links += _why_use(species, size, zone, demand, days, slice(begin, begin + now), recent, use)
    return WaterState(
        zone,
        days,
        morning,
        now,
        use,
        morning[0] * zone.area,
        float(readily_available_water(zone.total, float(days.share[now]))) * zone.area,
        zone.total * zone.area,
        span,
        int((np.isnan(demand.rain) & demand.measured)[past].sum()),
        int((~demand.measured[past]).sum()),
        rain_doubt(site, demand, today, book),
        tuple(links),
    )


def _span(tree: Tree, book: Knowledge, today: date) -> int:
    """Days the account looks back."""
    if tree.pot is None:
        longest = int(book.constant("water balance days").number)
        return max(min(longest, (today - tree.planted).days), 1)
    span = int(book.constant("water balance days of a pot").number)
    given = tree.last_done("water", today)
    reach = int(book.constant("reach of a watering written down").number)
    if given is not None and 0 < (today - given.date).days <= reach:
        return (today - given.date).days
    return span


def days_of(
    tree: Tree,
    species: Species,
    cycle: Cycle,
    size: Size,
    site: SiteSeason,
    book: Knowledge,
    zone: RootZone,
    demand: Demand,
    begin: int,
) -> WaterDays:
    """The inputs of every day; what happens on them is filled in by the account."""
    first = demand.day(begin)
    count = len(demand) - begin
    et0, rain = demand.et0[begin:], demand.rain[begin:].copy()
    rain[np.isnan(rain)] = 0.0
    # Beyond what is measured or forecast no rain is counted: the usual rain falls on no day in particular.
    ahead = np.arange(count) + begin >= demand.index(site.today)
    rain[ahead & ~demand.measured[begin:]] = 0.0
    rain[rain < book.constant("rain that counts").number * et0] = 0.0
    basal = basal_coefficients(
        species, cycle, size, site, book, first, count, zone.area, pot=zone.pot
    )
    if zone.pot:
        share, cover, highest = np.full(count, zone.tabled_share), np.ones(count), basal
    else:
        cover = in_leaf(species, cycle, first, count) * min(size.area / zone.area, 1.0)
        driest = np.where(np.isfinite(demand.driest), demand.driest, TABLED_HUMIDITY)[begin:]
        highest = highest_crop_coefficient_fao56(basal, demand.wind[begin:], driest, size.height)
        share = depletion_share_fao56(zone.tabled_share, et0 * basal)
    given = _irrigation(tree, first, count) / zone.area
    empty = [np.zeros(count) for _ in range(5)]
    return WaterDays(
        first, rain, given, et0, basal, np.asarray(highest), cover, np.asarray(share), *empty
    )


def basal_coefficients(
    species: Species,
    cycle: Cycle,
    size: Size,
    site: SiteSeason,
    book: Knowledge,
    first: date,
    days: int,
    area: float,
    *,
    pot: bool,
) -> Floats:
    """What the leaves ask for of the reference, on the ground of ``area`` [m2] they drink from [1]."""
    leaves = in_leaf(species, cycle, first, days)
    if pot:
        leaf = leaf_area(size, book)
        return np.asarray(leaves * leaf / book.constant("leaf area of the reference").number / area)
    kc = coefficient_curve(species, cycle, site, first, days, book)
    least = book.constant("least crop coefficient").number
    return np.where(leaves > 0, isolated_basal(species, size, area, kc, book), least)


def isolated_basal(
    species: Species, size: Size, area: float, kc: Floats, book: Knowledge
) -> Floats:
    """Basal coefficient of a tree alone on its ground, from the tabled single one of an orchard [1].

    The table's evaporation is taken off, then its cover is exchanged for that of the tree on its ground.
    """
    least = book.constant("least crop coefficient").number
    multiplier = book.constant("cover multiplier").number
    start, middle = species["kc_ini"].number, species["kc_mid"].number
    early = book.constant("bare ground in the first coefficient").number
    late = book.constant("bare ground in the coefficient").number
    # A first coefficient below the middle one stands on more bare, wet ground.
    rise = middle - start
    part = late + (early - late) * np.clip((middle - kc) / rise, 0, 1) if rise > 0 else late
    tabled = np.maximum(kc - part, least)
    cover = _fact(species, "kc_cover", book.constant("cover of a tabled orchard").number)
    height = _fact(species, "kc_height", book.constant("height of a tabled orchard").number)
    density = density_coefficient_allen_pereira(cover, height, multiplier)
    closed = full_cover_coefficient_allen_pereira(tabled, density, least)
    own = density_coefficient_allen_pereira(min(size.area / area, 1.0), size.height, multiplier)
    return np.asarray(basal_coefficient_allen_pereira(closed, own, least))


def _fact(species: Species, name: str, otherwise: float) -> float:
    fact = species.get(name)
    return otherwise if fact is None else fact.number


def leaf_area(size: Size, book: Knowledge) -> float:
    """Leaves of a tree in full leaf [m2], from its shadow."""
    return size.area * book.constant("leaf area over its shadow").number


def root_zone(
    tree: Tree, species: Species, size: Size, garden: Garden, book: Knowledge, today: date
) -> tuple[RootZone, list[Because]]:
    """What the roots hold on to, and why."""
    area = rooted_area(tree, size, book)
    if tree.pot is not None:
        medium = book.item("containers", tree.pot.medium)
        available, allowed = medium["available_water"], medium["allowed_depletion"]
        total = available.number * tree.pot.volume / area
        why = from_fact(
            "A {volume} pot of {medium} holds {value} of its volume as water a tree can take",
            available,
            volume=amount(tree.pot.volume, "L"),
            medium=said(tree.pot.medium),
        )
        why_share = from_fact("and {value} of that may go before it is watered", allowed)
        # A pot's surface lies under leaves: its evaporation is counted with them.
        ground = Ground(total, 1.0, 0.0, 1.0)
        zone = RootZone(True, area, ground, allowed.number, tree.pot.medium, float("nan"))
        return zone, [why, why_share]
    contents, why_soil = soil_contents(garden, book)
    texture = garden.site.soil if isinstance(garden.site.soil, str) else "loam"
    depth, why_depth = root_depth(tree, species, book, today)
    limit = species["depletion"]
    drying = book.constant("depth that dries").number
    evaporable = float(total_evaporable_water_fao56(*contents, drying))
    ready = min(book.item("soils", texture)["evaporable"].number, 0.9 * evaporable)
    wetted = book.constant("ground drippers wet" if drip_of(tree, garden) else "ground a can wets")
    total = float(total_available_water(*contents, depth))
    ground = Ground(total, evaporable, ready, wetted.number)
    name = "your soil" if isinstance(garden.site.soil, MeasuredSoil) else texture
    zone = RootZone(False, area, ground, limit.number, name, depth)
    return zone, [
        why_soil,
        *why_depth,
        from_fact(
            "and can use {value} of the soil's water before it is short, more on a cool day and less on a hot one",
            limit,
        ),
        from_fact(
            "They drink from {ground}, {value} times its shadow",
            book.constant("rooted area"),
            ground=amount(area, "m2"),
        ),
    ]


def root_depth(
    tree: Tree, species: Species, book: Knowledge, today: date
) -> tuple[float, list[Because]]:
    """How deep the roots of this tree reach by now [m], and why."""
    deep = species["root_depth"]
    links = [from_fact("{kind} roots to about {value}", deep, kind=species.name)]
    years = book.constant("years to full depth of roots")
    young = min(book.constant("roots of a young plant").number, deep.number)
    grown = min(max((today - tree.planted).days / years.number, 0.0), 1.0)
    if grown >= 1:
        return deep.number, links
    depth = young + grown * (deep.number - young)
    links.append(
        from_fact(
            "Planted {years} ago it has not yet come so deep: {depth} is taken, the whole after {full}",
            years,
            full=amount(round(years.number / 365.25), "yr"),
            years=amount(round((today - tree.planted).days / 365.25, 1), "yr"),
            depth=amount(depth, "m"),
        )
    )
    return depth, links


def _why_use(
    species: Species,
    size: Size,
    zone: RootZone,
    demand: Demand,
    days: WaterDays,
    past: slice,
    recent: slice,
    use: float,
) -> list[Because]:
    """How the use of the last week came about."""
    fine = int((demand.known[past] >= 2).sum())
    counted = past.stop - past.start
    text = "Reference evapotranspiration of the last week is {et0}, by Hargreaves, as only temperatures are known"
    if fine == counted:
        text = (
            "Reference evapotranspiration of the last week is {et0}, by Penman-Monteith, as humidity, wind or sun "
            "are known"
        )
    elif fine:
        text = (
            "Reference evapotranspiration of the last week is {et0}, by Penman-Monteith on {fine} of {counted} days "
            "and by Hargreaves on the others"
        )
    et0 = float(np.mean(days.et0[recent]))
    links = [
        Because(
            phrase(text, et0=amount(et0, "mm d-1"), fine=fine, counted=counted),
            round(et0, 2),
            "mm d-1",
            "allen-1998",
            "equation 6" if fine else "equation 52",
            "read",
        )
    ]
    if zone.pot:
        links.append(
            computed(
                "Leaves over {shadow} of shadow give it off at the rate of the reference for each square metre of "
                "leaf: about {use}",
                use,
                "L d-1",
                shadow=amount(size.area, "m2"),
                use=amount(use, "L d-1"),
            )
        )
        return links
    middle = species["kc_mid"]
    links += [
        from_fact(
            "The coefficient of an orchard of {kind} at full canopy is {value}; it is moved to the season, and from "
            "the orchard's cover to that of this tree on its ground (density coefficient)",
            middle,
            kind=species.name,
        ),
        computed(
            "So the leaves ask for {share} of the reference on {ground}, and with the wet soil it uses about {use}",
            use,
            "L d-1",
            share=said("{share:.2f}", share=float(np.mean(days.basal[recent]))),
            ground=amount(zone.area, "m2"),
            use=amount(use, "L d-1"),
        ),
    ]
    return links


def drip_of(tree: Tree, garden: Garden) -> Drip | None:
    """The drippers of a tree: its own, or in the ground those of the garden."""
    return tree.drip or (None if tree.pot is not None else garden.watering.drip)


def rooted_area(tree: Tree, size: Size, book: Knowledge) -> float:
    """Ground the roots drink from [m2]: the pot's mouth, or somewhat beyond the canopy."""
    if tree.pot is not None:
        # A pot about as deep as wide: V = pi d^3 / 4.
        diameter = (4 * tree.pot.volume / 1000 / np.pi) ** (1 / 3)
        return float(np.pi * diameter**2 / 4)
    return size.area * book.constant("rooted area").number


def soil_contents(garden: Garden, book: Knowledge) -> tuple[tuple[float, float], Because]:
    """Water contents of the soil at field capacity and wilting point [m3/m3], and where they come from."""
    soil = garden.site.soil
    if isinstance(soil, MeasuredSoil):
        why = Because(
            computed("Soil water measured by you").statement,
            None,
            "",
            "garden file",
            "site",
            "read",
        )
        return (soil.field_capacity, soil.wilting_point), why
    texture = soil or "loam"
    row = book.item("soils", texture)
    text = "{soil} holds {value} of water at field capacity"
    if soil is None:
        text = "No soil is given, so loam is supposed; it holds {value} of water at field capacity"
    return (row["field_capacity"].number, row["wilting_point"].number), from_fact(
        text, row["field_capacity"], soil=said(texture).capitalize()
    )


def _irrigation(tree: Tree, first: date, days: int) -> Floats:
    """Litres given by day, from records of watering (amounts are masses of water, 1 kg a litre)."""
    given = np.zeros(days)
    for work in tree.done:
        if work.job == "water" and work.amount is not None and 0 <= (work.date - first).days < days:
            given[(work.date - first).days] += work.amount / 1000
    return given
